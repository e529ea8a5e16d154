"""The day page: its head, and its parts put together."""

from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from app.charts.day import day_chart
from app.charts.svg import hatch_svg
from app.engine.moment import Inspection
from app.store.steps import Steps
from app.web import words
from app.web.views.about import About, Adding, Attempt
from app.web.views.add import add_view
from app.web.views.cautions import cautions_view
from app.web.views.chart import chart_view
from app.web.views.editing import Tab
from app.web.views.energy import energy_view
from app.web.views.head import PlanLink, head_view
from app.web.views.limits import limits_view
from app.web.views.moment import moment_view
from app.web.views.plan import PlanAttempt, plan_view
from app.web.views.rows import rows_view
from app.web.views.steps import steps_view
from app.web.views.verdict import verdict_view
from app.web.views.ways import NOT_SOUGHT, Sought, ways_view


@dataclass(frozen=True, slots=True)
class DayPage:
    """day/page.html, beside its parts."""

    title: str  # the window's title, the verdict in it
    figure: str  # where the chart's figure comes from
    hatches: Markup  # the patterns the chart's hatching refers to
    tabs: tuple[Tab, ...]  # the screens


@dataclass(frozen=True, slots=True)
class Around:
    """Where one can go from here: every plan of the household, and this plan's other screens."""

    plans: tuple[PlanLink, ...]
    tabs: tuple[Tab, ...]


@dataclass(frozen=True, slots=True)
class Changing:
    """What there is to say of changes to the plan itself, and of steps back.

    touched: the plan's field the answer is about, or empty. steps: what can be undone and done again.
    why_not: why the last step could not be.
    """

    touched: str
    steps: Steps
    why_not: tuple[str, ...]


def day_context(
    about: About,
    inspection: Inspection,
    around: Around,
    changing: Changing,
    attempt: Attempt | Adding | PlanAttempt | None = None,
    sought: Sought = NOT_SOUGHT,
) -> dict[str, Any]:
    """Everything the day's templates ask for, by the names they ask for it."""
    resolved, assessment = about.resolved, inspection.assessment
    decisive = words.decisive(assessment, resolved.day.wanted_margin)
    chart = day_chart(resolved, assessment, decisive)
    verdict = words.verdict_word(assessment.verdict)
    if assessment.battery is None:
        verdict += ", sun and bank not counted yet"
    tried = attempt if isinstance(attempt, PlanAttempt) else None
    return {
        "page": DayPage(
            title=f"{resolved.day.name}: {verdict}. {resolved.household.name}",
            figure=f"{about.page}/figure",
            hatches=Markup(hatch_svg()),
            tabs=around.tabs,
        ),
        "verdict": verdict_view(resolved, assessment),
        "ways": ways_view(about, assessment.verdict, sought),
        "moment": moment_view(about, inspection, decisive),
        "limits": limits_view(about, assessment),
        "chart": chart_view(about, assessment, chart, decisive),
        "energy": energy_view(about, assessment),
        "rows": rows_view(about, assessment, chart, attempt if isinstance(attempt, Attempt) else None),
        "add": add_view(about, attempt if isinstance(attempt, Adding) else None),
        "cautions": cautions_view(resolved, assessment),
        "head": head_view(about, around.plans, tried),
        "plan": plan_view(about, tried, changing.touched),
        "steps": steps_view(about, changing.steps, changing.why_not),
    }
