"""The day page: its head, and its parts put together."""

from dataclasses import dataclass

from markupsafe import Markup

from app.charts.day import day_chart
from app.charts.svg import hatch_svg
from app.engine.results import Assessment
from app.planner.ways import Way
from app.web import words
from app.web.figures import date
from app.web.views.about import About
from app.web.views.adjust import Attempt
from app.web.views.cautions import cautions_view
from app.web.views.chart import chart_view
from app.web.views.limits import limits_view
from app.web.views.makers import makers_view
from app.web.views.rows import rows_view
from app.web.views.verdict import verdict_view
from app.web.views.ways import ways_view


@dataclass(frozen=True, slots=True)
class PlanLink:
    """A plan one can go to."""

    name: str  # its name
    date: str  # its day
    href: str  # its page
    current: bool  # it is the one shown


@dataclass(frozen=True, slots=True)
class DayPage:
    """day/page.html, beside its parts."""

    title: str  # the window's title, the verdict in it
    household: str  # the household's name
    plan: str  # the plan's name
    date: str  # the plan's day
    plans: tuple[PlanLink, ...]  # every plan of the household
    hatches: Markup  # the patterns the chart's hatching refers to


@dataclass(frozen=True, slots=True)
class StepsView:
    """day/_steps.html."""

    revision: int  # the household's count of changes, by which an answer that comes late is known
    notice: str  # one line of news; may be empty


def day_context(
    about: About,
    assessment: Assessment,
    plans: tuple[PlanLink, ...],
    attempt: Attempt | None = None,
    ways: tuple[Way, ...] | None = None,
) -> dict[str, object]:
    """Everything the day's templates ask for, by the names they ask for it."""
    resolved = about.resolved
    decisive = words.decisive(assessment, resolved.day.wanted_margin)
    chart = day_chart(resolved, assessment, decisive)
    verdict = words.verdict_word(assessment.verdict)
    return {
        "page": DayPage(
            title=f"{resolved.day.name}: {verdict}. {resolved.household.name}",
            household=resolved.household.name,
            plan=resolved.day.name,
            date=date(resolved.frame),
            plans=plans,
            hatches=Markup(hatch_svg()),
        ),
        "verdict": verdict_view(resolved, assessment),
        "ways": ways_view(about, assessment.verdict, ways),
        "makers": makers_view(resolved, assessment, decisive),
        "limits": limits_view(about, assessment),
        "chart": chart_view(about, assessment, chart, decisive),
        "rows": rows_view(about, assessment, chart, attempt),
        "cautions": cautions_view(resolved, assessment),
        "steps": StepsView(revision=about.stored.revision, notice=about.notice),
    }
