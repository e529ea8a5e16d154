"""What templates show is declared: one frozen dataclass each, documented, complete, and nothing besides."""

import dataclasses
import inspect
import re
from types import ModuleType

import pytest
from jinja2 import Environment, FileSystemLoader, nodes

from app import shipped
from app.web import gone
from app.web.fields import showing
from app.web.views import (
    about,
    add,
    adjust,
    appliance,
    appliances,
    ask,
    begin,
    cautions,
    chart,
    checklist,
    closeup,
    day,
    editing,
    energy,
    growth,
    head,
    history,
    households,
    laundry,
    laundry_found,
    leaving,
    limits,
    links,
    moment,
    partner,
    plan,
    plan_head,
    questions,
    rows,
    side_by_side,
    site,
    stages,
    steps,
    supply,
    switch_on,
    switch_rows,
    transfer,
    verdict,
    ways,
    weather,
    whatif,
    workshop,
    workshop_look,
)

# Each template's own name for what it is given, and what that is.
TEMPLATES: dict[str, dict[str, type]] = {
    "day/page.html": {"page": day.DayPage, "rows": rows.RowsView},
    "day/_head.html": {"head": head.HeadView, "plan": head.PlanLink, "begin": head.Beginning},
    "day/_plan.html": {"plan": plan.PlanView, "field": plan.FieldView, "choice": plan.Choice, "line": plan.Line},
    "day/_verdict.html": {"verdict": verdict.VerdictView},
    "day/_ways.html": {"ways": ways.WaysView, "way": ways.WayView, "add": add.AddView},
    "day/_moment.html": {
        "moment": moment.MomentView,
        "maker": moment.Maker,
        "then": moment.Then,
        "could": moment.CouldStart,
    },
    "day/_limits.html": {"limits": limits.LimitsView, "ruler": limits.Ruler, "line": limits.Line},
    "day/_chart.html": {
        "chart": chart.ChartView,
        "energy": energy.EnergyView,
        "close": closeup.CloseUpView,
        "ribbon": chart.RibbonView,
    },
    "day/_tables.html": {
        "chart": chart.ChartView,
        "energy": energy.EnergyView,
        "table": chart.ChartTable,
        "hour": chart.Hour,
        "kick": chart.Kick,
    },
    "day/_energy.html": {"energy": energy.EnergyView},
    "day/_energy_more.html": {"energy": energy.EnergyView, "hour": energy.EnergyHour},
    "day/_rows.html": {"rows": rows.RowsView, "row": rows.RowView, "run": rows.RunView, "strip": rows.Strip},
    "day/_adjust.html": {"adjust": adjust.AdjustView, "step": adjust.Step, "length": adjust.Length},
    "day/_add.html": {"add": add.AddView, "item": add.AddItem},
    "day/_cautions.html": {"cautions": cautions.CautionsView},
    "day/_steps.html": {"steps": steps.StepsView, "one": steps.StepView},
    "households/list.html": {
        "households": households.HouseholdsView,
        "household": households.HouseholdItem,
        "plan": households.PlanItem,
        "field": households.Entry,
        "gone": households.RemovedItem,
        "begin": households.BeginView,
    },
    "households/_unreadable.html": {"broken": households.UnreadableItem},
    "households/unreadable.html": {"broken": households.UnreadableItem},
    "households/import.html": {"incoming": households.ImportView, "way": transfer.WayView, "one": transfer.WayItem},
    "households/preview.html": {
        "preview": transfer.PreviewView,
        "stand": transfer.StandView,
        "group": transfer.ChangedGroup,
        "item": transfer.ChangedItem,
    },
    "layouts/edit.html": {
        "edit": editing.EditView,
        "whose": editing.WhoseView,
        "one": editing.EffectView,
        "step": editing.BackView,
    },
    "whatif/page.html": {
        "edit": editing.EditView,
        "whatif": whatif.WhatIfView,
        "row": whatif.DifferingView,
        "way": whatif.WayOn,
        "one": whatif.StandsView,
    },
    "whatif/real.html": {
        "edit": editing.EditView,
        "real": whatif.RealView,
        "stand": transfer.StandView,
        "group": transfer.ChangedGroup,
        "item": transfer.ChangedItem,
    },
    "layouts/_guess.html": {},
    "layouts/_meanwhile.html": {},
    "layouts/_tabs.html": {"tab": editing.Tab},
    "edit/_fields.html": {
        "edit": editing.EditView,
        "field": showing.FieldView,
        "cell": showing.CellView,
        "option": showing.OptionView,
        "fold": stages.Fold,
    },
    "appliances/list.html": {
        "edit": editing.EditView,
        "appliances": appliances.AppliancesView,
        "item": appliances.ApplianceItem,
        "one": appliances.GroupLink,
        "entry": appliances.TypicalItem,
    },
    "appliances/page.html": {
        "edit": editing.EditView,
        "appliance": appliance.ApplianceView,
        "stage": stages.StageView,
        "help": stages.StartHelp,
        "line": appliance.PastFigure,
    },
    "appliances/questions.html": {
        "edit": editing.EditView,
        "asked": questions.QuestionsView,
        "question": questions.Question,
    },
    "weather/list.html": {"edit": editing.EditView, "weather": weather.WeatherListView, "one": weather.RecordItem},
    "weather/record.html": {"edit": editing.EditView, "record": weather.RecordView, "one": plan.Choice},
    "weather/_taken.html": {"edit": editing.EditView, "taken": weather.TakenView},
    "begin/page.html": {
        "edit": editing.EditView,
        "begin": begin.BeginView,
        "item": begin.UsualItem,
        "kind": begin.MainsItem,
    },
    "supply/page.html": {
        "edit": editing.EditView,
        "supply": supply.SupplyView,
        "group": supply.GroupView,
        "section": supply.SectionView,
        "one": supply.Finding,
        "known": checklist.ChecklistView,
        "line": checklist.AssumedItem,
    },
    "site/page.html": {"edit": editing.EditView, "site": site.SiteView, "form": site.PlaceForm},
    "layouts/_plan_head.html": {"top": plan_head.PlanHead, "plan": head.PlanLink},
    "switch_on/page.html": {
        "page": switch_on.SwitchOnView,
        "top": plan_head.PlanHead,
        "left": switch_on.LeftOnRow,
        "one": switch_on.Figure,
        "group": switch_rows.Group,
    },
    "switch_on/_rows.html": {"page": switch_on.SwitchOnView, "stands": switch_rows.OnRow, "may": switch_rows.MayRow},
    "switch_on/_ask.html": {
        "page": switch_on.SwitchOnView,
        "ask": ask.AskView,
        "one": ask.Choice,
        "answered": ask.Answered,
    },
    "laundry/page.html": {"page": laundry.LaundryView},
    "laundry/_field.html": {
        "field": laundry.FieldView,
        "choice": laundry.Choice,
        "one": laundry.MachineView,
        "load": laundry.LoadView,
    },
    "laundry/_found.html": {
        "found": laundry_found.FoundView,
        "standing": laundry_found.Standing,
        "verdict": verdict.VerdictView,
        "figure": laundry_found.BothDays,
        "easing": laundry_found.EasingView,
        "row": laundry_found.RowView,
        "taking": laundry_found.Taking,
    },
    "side_by_side/page.html": {
        "page": side_by_side.SideView,
        "one": side_by_side.PlanColumn,
        "group": side_by_side.RowGroup,
        "hour": side_by_side.HourRow,
        "choice": side_by_side.Choice,
    },
    "side_by_side/_row.html": {"page": side_by_side.SideView, "row": side_by_side.Row, "cell": side_by_side.Cell},
    "growth/page.html": {
        "page": growth.GrowthView,
        "top": plan_head.PlanHead,
        "row": growth.HourRow,
        "machine": growth.MachineRow,
    },
    "workshop/page.html": {"page": workshop.WorkshopView, "look": workshop_look.LookView},
    "workshop/_field.html": {
        "field": workshop.FieldView,
        "choice": workshop.Choice,
        "one": workshop.MachineView,
        "given": workshop.OfferView,
    },
    "workshop/_look.html": {
        "look": workshop_look.LookView,
        "verdict": verdict.VerdictView,
        "row": workshop_look.DeciderView,
        "size": workshop_look.SizeView,
        "making": workshop_look.MakingView,
    },
    "households/leave.html": {"page": leaving.LeaveView},
    "households/purge.html": {"page": leaving.PurgeView, "gone": households.RemovedItem},
    "history/page.html": {
        "page": history.HistoryView,
        "way": history.Way,
        "day": history.HistoryDay,
        "row": history.HistoryRow,
    },
    "history/then.html": {
        "page": history.ThenView,
        "group": transfer.ChangedGroup,
        "item": transfer.ChangedItem,
    },
    "links/page.html": {
        "page": links.LinksView,
        "made": links.MadeView,
        "link": links.LinkItem,
        "gone": links.EndedItem,
        "field": links.Choice,
        "one": links.Option,
    },
    "partner/page.html": {"page": partner.PartnerView, "row": partner.FineRow, "run": partner.DayRow},
    "partner/gone.html": {"gone": partner.GoneView},
    "message.html": {"message": households.MessageView, "again": households.AgainView},
    "gone.html": {"page": gone.GonePage},
}
VIEWS = sorted({view for names in TEMPLATES.values() for view in names.values()}, key=lambda view: view.__name__)
MODULES = (
    energy,
    add,
    adjust,
    appliance,
    appliances,
    ask,
    begin,
    cautions,
    chart,
    checklist,
    closeup,
    day,
    editing,
    growth,
    head,
    history,
    households,
    laundry,
    laundry_found,
    leaving,
    limits,
    links,
    moment,
    partner,
    plan,
    plan_head,
    questions,
    rows,
    side_by_side,
    site,
    stages,
    steps,
    supply,
    switch_on,
    switch_rows,
    transfer,
    verdict,
    ways,
    whatif,
    workshop,
    workshop_look,
)


# What a change that failed leaves behind, and what views are made of.
BEHIND = {
    about.Adding,
    about.Attempt,
    day.Around,
    day.Changing,
    editing.Around,
    history.HistoryAround,
    links.LinksAround,
    partner.PartnerAround,
    households.ListAttempt,
    plan.PlanAttempt,
    growth.Look,
    switch_on.Around,
    switch_rows.Wrong,
    ways.Sought,
}


def rendered(template: str, name: str) -> set[str]:
    """The attributes of a name that a template asks for."""
    environment = Environment(loader=FileSystemLoader(shipped.templates()), trim_blocks=True)
    source, _, _ = environment.loader.get_source(environment, template)  # type: ignore[union-attr]
    return {
        found.attr
        for found in environment.parse(source).find_all(nodes.Getattr)
        if isinstance(found.node, nodes.Name) and found.node.name == name
    }


def test_every_template_is_declared() -> None:
    """There is no template without its views, and none declared that is not there."""
    environment = Environment(loader=FileSystemLoader(shipped.templates()))
    there = set(environment.list_templates()) - {"layouts/page.html"}

    assert there == set(TEMPLATES)


@pytest.mark.parametrize("view", VIEWS, ids=lambda view: view.__name__)
def test_what_a_view_declares_is_what_its_templates_show(view: type) -> None:
    """Nothing is made that nobody shows, and nothing shown that nobody makes."""
    declared = {field.name for field in dataclasses.fields(view)}
    declared |= {name for name, one in vars(view).items() if isinstance(one, property)}
    shown: set[str] = set()
    for template, names in TEMPLATES.items():
        for name, given in names.items():
            if given is view:
                shown |= rendered(template, name)

    assert shown == declared


@pytest.mark.parametrize("view", VIEWS, ids=lambda view: view.__name__)
def test_every_field_of_a_view_says_what_it_is(view: type) -> None:
    """A view is frozen, has a docstring, and each field has its words beside it."""
    source = inspect.getsource(view)

    assert view.__dataclass_params__.frozen  # type: ignore[attr-defined]
    assert view.__doc__
    for field in dataclasses.fields(view):
        assert re.search(rf"^    {field.name}: .+  # .+", source, re.MULTILINE), f"{field.name} says nothing"


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__.rpartition(".")[2])
def test_every_view_is_used_by_a_template(module: ModuleType) -> None:
    """A dataclass in the views is given to a template, or is what a change that failed leaves behind."""
    there = {
        one
        for one in vars(module).values()
        if inspect.isclass(one) and dataclasses.is_dataclass(one) and one.__module__ == module.__name__
    }

    assert there - set(VIEWS) <= BEHIND


def test_templates_reckon_nothing() -> None:
    """No template adds, multiplies or compares figures; what it shows comes ready."""
    environment = Environment(loader=FileSystemLoader(shipped.templates()))
    for template in environment.list_templates():
        source, _, _ = environment.loader.get_source(environment, template)  # type: ignore[union-attr]
        tree = environment.parse(source)
        for kind in (nodes.Add, nodes.Sub, nodes.Mul, nodes.Div, nodes.Mod, nodes.Pow):
            assert not list(tree.find_all(kind)), f"{template} reckons"
