"""Ribbons of the any-time loads: when each may be on, over the whole day."""

from dataclasses import dataclass
from html import escape

from app.charts.shapes import percent
from app.engine.results import Assessment
from app.household.resolve import Resolved

HIGH = 12  # pixels
LEAST_PERCENT = 0.3  # a stretch refused is never too short to be seen


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of a ribbon.

    from_share, to_share: of the day's axis, 0 to 1. refused_by: the limit that says no; empty where it may be on.
    """

    from_ms: int
    to_ms: int
    from_share: float
    to_share: float
    refused_by: str


@dataclass(frozen=True, slots=True)
class Ribbon:
    """One any-time load. spans: from midnight to the horizon without a gap."""

    appliance: str
    name: str
    spans: tuple[Span, ...]


def ribbon(resolved: Resolved, assessment: Assessment) -> tuple[Ribbon, ...]:
    """A ribbon for each any-time load, in the household's order."""
    horizon_ms = assessment.horizon_ms
    ribbons = []
    for load in assessment.any_time:
        appliance = resolved.appliance(load.appliance)
        bounds = []
        free_from_ms = 0
        for one in load.not_then:
            bounds += [(free_from_ms, one.from_ms, ""), (one.from_ms, one.to_ms, one.limit)]
            free_from_ms = one.to_ms
        bounds.append((free_from_ms, horizon_ms, ""))
        spans = tuple(
            Span(from_ms, to_ms, from_ms / horizon_ms, to_ms / horizon_ms, limit)
            for from_ms, to_ms, limit in bounds
            if to_ms > from_ms
        )
        ribbons.append(Ribbon(load.appliance, appliance.name if appliance else load.appliance, spans))
    return tuple(ribbons)


def ribbon_svg(one: Ribbon, label: str) -> str:
    """A ribbon on the day's axis: a thin open line where the load may be on, a barred dark block where not.

    label: what a screen reader says of it.
    """
    shapes = []
    for span in one.spans:
        wide = (span.to_share - span.from_share) * 100
        if span.refused_by:
            wide = max(wide, LEAST_PERCENT)
            left = min(span.from_share * 100, 100 - wide)
            shapes.append(
                f'<rect class="refused" x="{left:.2f}%" y="0" width="{wide:.2f}%" height="{HIGH}"'
                ' fill="url(#bars-refused)"/>'
            )
        else:
            x, y = percent(span.from_share), HIGH // 2 - 1
            shapes.append(f'<rect class="free" x="{x}" y="{y}" width="{wide:.2f}%" height="3"/>')
    return (
        f'<svg class="plot ribbon" width="100%" height="{HIGH}" role="img" aria-label="{escape(label)}">'
        f"{''.join(shapes)}</svg>"
    )
