"""The close-up over the day's chart."""

from dataclasses import dataclass

from markupsafe import Markup

from app.charts.closeup import CloseUp
from app.charts.closeup_svg import CloseUpWords, closeup_axis_svg, closeup_svg, leader_svg
from app.engine.results import Floats, LimitReading, Verdict
from app.household.resolve import Resolved
from app.web import words
from app.web.figures import clock, duration, face, quantity


@dataclass(frozen=True, slots=True)
class CloseUpView:
    """The close-up's part of day/_chart.html."""

    between: str  # from when to when
    mark: str  # what decides, for a screen too narrow to have it in the drawing
    verdict: Verdict  # its colour
    from_ms: int  # its left end, in milliseconds since midnight
    to_ms: int  # its right end
    drawing: Markup  # the stack, drawn
    axis: Markup  # the times under it
    leader: Markup  # down to where it lies in the day


def closeup_view(resolved: Resolved, part: CloseUp, decisive: LimitReading) -> CloseUpView:
    """Draw a close-up and say what stands in it."""
    between = f"{clock(resolved.frame, part.from_ms)} to {clock(resolved.frame, part.to_ms)}"
    mark = words.mark_words(decisive)
    level = (
        f"{quantity(float(part.level.va.max()), 'VA')} for {duration(part.level.allowed_s)}"
        if part.level is not None
        else ""
    )
    start_limit = f"for a start {_lowest(part.start_limit_va, 'VA')}" if part.start_limit_va is not None else ""
    texts = CloseUpWords(
        label=f"Close-up from {between}: {mark}.",
        mark=mark,
        limit=f"for hours {_lowest(part.limit_w, 'W')}",
        level=level,
        start_limit=start_limit,
        quantity=quantity,
    )
    return CloseUpView(
        between=between,
        mark=mark,
        verdict=decisive.verdict,
        from_ms=part.from_ms,
        to_ms=part.to_ms,
        drawing=Markup(closeup_svg(part, texts)),
        axis=Markup(closeup_axis_svg(part, lambda ms: face(resolved.frame, ms))),
        leader=Markup(leader_svg(part)),
    )


def _lowest(line: Floats, unit: str) -> str:
    return quantity(float(line.min()), unit)
