"""Ways out of a plan that does not fit."""

from dataclasses import dataclass

from app.engine.results import Assessment, Verdict
from app.planner.ways import RED, Way
from app.web import words
from app.web.views.about import About


@dataclass(frozen=True, slots=True)
class Sought:
    """What was found for a plan that does not fit.

    ways: None where they have not been looked for. by_itself: where there are none, the plan with every run left off.
    """

    ways: tuple[Way, ...] | None = None
    by_itself: Assessment | None = None


NOT_SOUGHT = Sought()


@dataclass(frozen=True, slots=True)
class WayView:
    """One change that makes the plan fit."""

    dom_id: str  # its button's id on the page
    sentence: str  # what to do
    outcome: str  # how the plan would stand then
    verdict: Verdict  # for the outcome's colour
    action: str  # where the command goes
    field: str  # which field of the run changes
    value: str  # to what
    button: str  # what the button says


@dataclass(frozen=True, slots=True)
class WaysView:
    """day/_ways.html."""

    red: bool  # the plan does not fit, so there is something to look for
    sought: bool  # they have been looked for
    href: str  # the page with them
    first: WayView | None  # the best; None where no single change helps
    others: tuple[WayView, ...]  # the rest, the better before the worse
    others_label: str  # how many those are
    none: str  # said strong where there is none
    none_why: str  # and what there is to do then
    tab: str  # a name for this page, for commands without a script
    revision: int  # the household's count of changes
    open_run: str  # key of the run that is being moved, or empty


def ways_view(about: About, verdict: Verdict, found: Sought) -> WaysView:
    """Lay out the ways."""
    shown = tuple(_way(about, way) for way in found.ways or ())
    rest = shown[1:]
    none = words.no_way(about.resolved, found.by_itself) if found.by_itself is not None else ("", "")
    return WaysView(
        red=verdict in RED and not about.locked,
        sought=found.ways is not None,
        href=about.part("ways"),
        first=shown[0] if shown else None,
        others=rest,
        others_label=f"{len(rest)} other way{'' if len(rest) == 1 else 's'}",
        none=none[0],
        none_why=none[1],
        tab=about.tab,
        revision=about.stored.revision,
        open_run=about.open_run,
    )


def _way(about: About, way: Way) -> WayView:
    key = about.key_of(way.run_id)
    return WayView(
        dom_id=f"way-{key}",
        sentence=words.way_sentence(way, about.resolved),
        outcome=words.way_outcome(way, about.resolved),
        verdict=way.assessment.verdict,
        action=about.action(key),
        field="on" if way.start is None else "start",
        value="off" if way.start is None else way.start,
        button=words.way_button(way),
    )
