"""Plans over one time axis: each one's highest draw, what its inverter carries, and its hardest starts.

The axis is the clock's face, midnight to noon of the next day, so that days of 23 and 25 hours lie under one another.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.charts.day import Start, starts_of
from app.engine.results import Assessment, Floats
from app.household.day import DayFrame
from app.household.resolve import Resolved

HOURS = 36
LETTERS = "ABCD"
STARTS_SHOWN = 4


@dataclass(frozen=True, slots=True, eq=False)
class PlanLine:
    """One plan.

    edges_h: shape (n + 1,), edges of its stretches as hours on the clock's face. worst_w: shape (n,). limit_w,
    start_limit_va: shape (n + 1,), at the edges.
    starts: its hardest, each with its hour; only_here: no other plan has a start of that appliance.
    """

    letter: str
    name: str
    edges_h: Floats
    worst_w: Floats
    limit_w: Floats
    start_limit_va: Floats
    starts: tuple[tuple[float, Start, bool], ...]

    @property
    def edges_ms(self) -> Floats:
        """The edges by the name under which stretches are put on columns."""
        return self.edges_h


def plan_lines(plans: Sequence[tuple[str, Resolved, Assessment]]) -> tuple[PlanLine, ...]:
    """Describe plans for one drawing. plans: a name, the day and what was found about it, of each."""
    owners = [{surge.appliance for surge in assessment.surges} for _, _, assessment in plans]
    return tuple(
        _line(LETTERS[place], *plan, set().union(*owners[:place], *owners[place + 1 :]))
        for place, plan in enumerate(plans)
    )


def hours_of(frame: DayFrame, at_ms: Floats) -> Floats:
    """Instants of a day as hours on the clock's face since its midnight; an hour that comes twice takes one's room."""
    hours = np.arange(HOURS + 1, dtype=float)
    # An hour that does not exist has no room: two of them begin at one instant, and the later one counts from there.
    return np.asarray(np.interp(at_ms, np.array(frame.hours_ms(HOURS), dtype=float), hours))


def _line(letter: str, name: str, resolved: Resolved, assessment: Assessment, elsewhere: set[str]) -> PlanLine:
    curves, frame = assessment.curves, resolved.frame
    best: dict[str, tuple[float, Start, bool]] = {}
    for surge, start in zip(assessment.surges, starts_of(resolved, assessment.surges), strict=True):
        known = best.get(surge.appliance)
        if known is None or start.total_va > known[1].total_va:
            hour = float(hours_of(frame, np.array([float(start.at_ms)]))[0])
            best[surge.appliance] = (hour, start, surge.appliance not in elsewhere)
    hardest = sorted(best.values(), key=lambda one: -one[1].total_va)
    return PlanLine(
        letter=letter,
        name=name,
        edges_h=hours_of(frame, curves.t_ms),
        worst_w=curves.worst_w,
        limit_w=curves.limit_w,
        start_limit_va=curves.start_limit_va,
        starts=tuple(hardest[:STARTS_SHOWN]),
    )
