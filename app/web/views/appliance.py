"""One appliance in its editor: its own figures, each stage of its programme, and what its figures were before."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any
from zoneinfo import ZoneInfo

from markupsafe import Markup

from app.household.appliance import Appliance, Stage
from app.household.household import Household
from app.store.history import Change
from app.web import words
from app.web.customs import customs_of
from app.web.fields.appliance import APPLIANCE, CYCLE, STAGE, START
from app.web.fields.entry import Column, Entry, Field, Points
from app.web.fields.measures import SECONDS
from app.web.fields.reading import Typed
from app.web.fields.showing import FieldView, show_choice, show_fields
from app.web.views.appliances import draws_of
from app.web.views.drawings import programme_drawing

WHOLE = "appliance"


@dataclass(frozen=True, slots=True)
class StageView:
    """One stage of appliance/page.html."""

    id: str  # of its form
    number: int  # counted from 1
    place: int  # counted from 0
    title: str  # what it does
    draws: str  # what it draws, in a line
    fields: tuple[FieldView, ...]  # what every stage has
    cycle: tuple[FieldView, ...]  # that it comes and goes
    has_cycle: bool  # it does
    start: tuple[FieldView, ...]  # its start
    has_start: bool  # it has one
    follows: tuple[FieldView, ...]  # what it sets off
    has_follows: bool  # it sets something off


@dataclass(frozen=True, slots=True)
class PastFigure:
    """One line of what figures were before."""

    when: str  # the day and the time
    text: str  # what was changed, from what to what


@dataclass(frozen=True, slots=True)
class ApplianceView:
    """appliances/page.html."""

    name: str  # the appliance's name
    draws: str  # what it comes to, in a line
    action: str  # where figures go
    stages_action: str  # where stages come, go and move
    delete_action: str  # where it is deleted
    back: str  # the list of appliances
    fields: tuple[FieldView, ...]  # what it has as a whole
    any_time: FieldView | None  # whether it may be used unplanned; None for what is always on
    any_time_action: str  # where that goes
    stages: tuple[StageView, ...]  # its programme
    many: bool  # it has more than one stage
    may_grow: bool  # it may have one more: what is always on has one
    past: tuple[PastFigure, ...]  # its figures' history, the newest first
    drawing: Markup  # its programme, drawn
    cautions: tuple[str, ...]  # what may hurt


def whole_fields(household: Household, appliance: Appliance) -> tuple[Field, ...]:
    """The fields of an appliance as a whole."""
    circuits = tuple((one.id, one.name or one.id) for one in household.supply.circuits)
    on = Entry("circuit", "On circuit", "Which breaker takes it away?", choices=((None, "none named"), *circuits))
    kinds: tuple[tuple[Any, str], ...] = ((False, "when it is switched on"), (True, "always"))
    always = Entry("always_on", "It runs", "A fridge, a router: always.", choices=kinds)
    name, *rest = APPLIANCE
    own = [name, *([on] if circuits else []), *([always] if len(appliance.stages) == 1 else []), *rest]
    return tuple(own)


ANY_TIME = "any_time"


_ANY_TIME = Entry(
    ANY_TIME,
    "It may be used",
    "A kettle: nobody plans it. The day then says when it must not be on.",
    choices=(("", "as planned"), ("yes", "at any time")),
)


def stage_fields(household: Household, appliance: Appliance) -> tuple[Field, ...]:
    """The fields of one stage."""
    return (*_stage_fields(appliance), *CYCLE, *START, _follows(household, appliance))


def _stage_fields(appliance: Appliance) -> tuple[Field, ...]:
    if appliance.always_on:
        return tuple(one for one in STAGE if one.path not in ("duration_s", "water_l"))
    # A programme of one stage may be as long as each run says; of several, each has its length.
    open_ended = len(appliance.stages) == 1
    blank = "as long as the run says" if open_ended else ""
    return tuple(
        replace(one, blank=blank, needed=not open_ended) if isinstance(one, Entry) and one.path == "duration_s" else one
        for one in STAGE
    )


def _follows(household: Household, appliance: Appliance) -> Points:
    others = tuple((one.id, one.name) for one in household.appliances if one.id != appliance.id and not one.always_on)
    which = Column("sets off", choices=(("", "nothing"), *others))
    after = Column("after", SECONDS, optional=True)
    return Points(
        "sets_off", "It sets off", (which, after), "An extractor that starts with the saw, a fan with the hob.",
        keys=("appliance", "after_s"), rises=False,
    )  # fmt: skip


def appliance_view(
    household: Household,
    appliance: Appliance,
    past: list[Change],
    addresses: Mapping[str, str],
    *,
    wrong: str = "",
    typed: Typed | None = None,
    messages: Mapping[str, tuple[str, ...]] | None = None,
) -> ApplianceView:
    """Lay out the editor. wrong: id of the form that was refused, with what was typed in it and what is wrong."""
    customs = customs_of(household)
    document = appliance.document()

    def shown(fields: tuple[Field, ...], part: Any, model: Any, form: str) -> tuple[FieldView, ...]:
        refused = form == wrong
        return show_fields(
            fields, part, model, customs, form, typed if refused else None, messages if refused else None
        )

    stages = []
    for place, stage in enumerate(appliance.stages):
        part, form = document["stages"][place], f"stage-{place}"
        is_wrong = {name.partition(".")[0] for name in messages or ()} if form == wrong else set()
        stages.append(
            StageView(
                id=form,
                number=place + 1,
                place=place,
                title=stage.name or f"Stage {place + 1}",
                draws=draws_of(appliance.model_copy(update={"stages": (stage,)})),
                fields=shown(_stage_fields(appliance), part, Stage, form),
                cycle=shown(CYCLE, part, Stage, form),
                has_cycle=stage.cycle is not None or "cycle" in is_wrong,
                start=shown(START, part, Stage, form),
                has_start=stage.start is not None or "start" in is_wrong,
                follows=shown((_follows(household, appliance),), part, Stage, form),
                has_follows=bool(stage.sets_off) or "sets_off" in is_wrong,
            )
        )
    return ApplianceView(
        name=appliance.name,
        draws=draws_of(appliance),
        action=addresses["action"],
        stages_action=addresses["stages"],
        delete_action=addresses["delete"],
        back=addresses["back"],
        fields=shown(whole_fields(household, appliance), document, Appliance, WHOLE),
        any_time=None if appliance.always_on else _any_time(household, appliance),
        any_time_action=addresses["any_time"],
        stages=tuple(stages),
        many=len(stages) > 1,
        may_grow=not appliance.always_on,
        past=tuple(_past(household, change) for change in past),
        drawing=programme_drawing(appliance, household),
        cautions=tuple(_cautions(appliance)),
    )


def _any_time(household: Household, appliance: Appliance) -> FieldView:
    present = "yes" if appliance.id in household.any_time else ""
    return show_choice(_ANY_TIME, "any-time", present, present)


def _past(household: Household, change: Change) -> PastFigure:
    zone = household.site.timezone
    local = change.at_utc.astimezone(ZoneInfo(zone))
    when = f"{words.day_name(local.date().isoformat(), zone)}, {local:%H:%M}"
    return PastFigure(when, words.figures_of(change.command, customs_of(household)))


def _cautions(appliance: Appliance) -> list[str]:
    """What may hurt, from what the figures alone can tell."""
    has_motor = any(stage.start is not None for stage in appliance.stages)
    found = []
    if has_motor and appliance.restarts == "starts" and not appliance.always_on:
        found.append(words.hazard("no_volt_release"))
    return found
