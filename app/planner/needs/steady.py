"""The least of what is there for hours, and the least for starts, that carry what a view draws.

A view draws its quantities; `per_unit` says over the day what one unit of the figure asked for lets it draw, so that
most figures are a use over a line. Stores, which follow the worst patterns, have the last word.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from app.engine.curve import Line
from app.engine.draw import Draws
from app.engine.heat import Check, Rule, exceeds
from app.engine.margins import tightest
from app.engine.patterns import Quantities, stores_of, worst_stores
from app.engine.readings import View
from app.engine.results import Contributor, Floats
from app.engine.starts import Unscheduled, lowest
from app.engine.worst import with_cyclers

AMPLE = 1e12
CLOSE = 1e-3  # a figure that has to be searched is no more than this part above the least
EVEN = 1e-9  # of a figure: so much more and no comparison is undone by rounding


@dataclass(frozen=True, slots=True, eq=False)
class Side:
    """One limit that a figure must carry: what its view draws, of that one quantity, and what one unit lets it draw."""

    limit: str
    view: View
    quantities: Quantities
    quantity: int
    per_unit: Line

    def one(self, draws: Draws) -> Sequence[Floats]:
        """The one quantity of some draws."""
        return [self.quantities(draws)[self.quantity]]

    def units(self, use: Floats, stretch: np.ndarray | slice = slice(None)) -> Floats:
        """How much of the figure a use on stretches needs; endless where no figure lets it be drawn."""
        line = lowest(self.per_unit.at(self.view.scope.t_ms))[stretch]
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.where(use > 0, use / line, 0.0)


class Least(NamedTuple):
    """The least of a figure, endless where none would do; the side that needs it, when, and by whose start if it is.

    impossible: the use itself is endless, whatever is allowed.
    """

    units: float
    side: Side
    at_ms: int
    start: Unscheduled | None = None
    impossible: bool = False

    @property
    def appliance(self) -> str | None:
        """Whose start it is, else who draws most then."""
        drawing = self.side.view.contributors(self.at_ms, self.start, starts=self.start is None)
        return next((one.appliance for one in drawing if one.starting), _first(drawing))

    @property
    def running_appliance(self) -> str | None:
        """Who draws most then, starts aside."""
        return _first(self.side.view.contributors(self.at_ms))


def _first(drawing: Sequence[Contributor]) -> str | None:
    return drawing[0].appliance if drawing else None


def for_hours(sides: Sequence[Side]) -> Least:
    """The least with which nothing that runs ever passes a limit for hours, in the worst case and every pattern."""
    return max((_of_running(side) for side in sides), key=lambda one: one.units)


def _of_running(side: Side) -> Least:
    scope = side.view.scope
    uses = [side.one(draws)[0] for draws in (scope.worst, scope.certain)]
    found = max((_at_most(side, use) for use in uses), key=lambda one: one.units)
    if scope.interlocked and 0 < found.units < np.inf and not _carries(side, found.units):
        # What an interlock keeps off for being smaller in VA may be larger in watts.
        standing = (scope.cyclers.begin_ms[:, None] <= scope.begin_ms) & (
            scope.cyclers.end_ms[:, None] > scope.begin_ms
        )
        high = _at_most(side, side.one(with_cyclers(scope.certain, scope.cyclers.draws, standing))[0]).units
        low = found.units
        while high > low * (1 + CLOSE):
            middle = (low + high) / 2
            low, high = (low, middle) if _carries(side, middle) else (middle, high)
        found = found._replace(units=high)
    return found


def _at_most(side: Side, use: Floats) -> Least:
    """The largest that a use on the scope's stretches needs, and when first."""
    units = side.units(use)
    place = int(units.argmax())
    most, t_ms = float(units[place]), side.view.scope.t_ms
    if not 0 < most < np.inf:
        return Least(most, side, int(np.ceil(t_ms[place])), impossible=bool(np.isinf(use[place])))
    return Least(most, side, tightest(t_ms, use, side.per_unit.times(most)).at_ms)


def _carries(side: Side, units: float) -> bool:
    """No store of the engine holds anything, whatever comes on when."""
    scope, line = side.view.scope, side.per_unit.times(units)
    rule = hours_rule(line)
    certain = stores_of(scope, rule, side.one(scope.certain))
    return certain.empty and worst_stores(scope, rule, side.one, certain, side.one(scope.worst)).empty


def hours_rule(line: Line) -> Rule:
    """What is there for hours, with everything above it for as long as wanted."""
    never = Line(line.t_ms[[0, -1]], np.array([AMPLE, AMPLE]))
    return Rule((Check(0, line, 0), Check(0, never, None)), (AMPLE,), (AMPLE,), (float(line.value.max()),), ("A",))


def for_starts(sides: Sequence[Side]) -> Least:
    """The least top with which no start, and nothing that runs, passes it."""
    return max((one for side in sides for one in _of_starts(side)), key=lambda one: one.units)


def _of_starts(side: Side) -> list[Least]:
    scope = side.view.scope
    found = [_at_most(side, side.one(draws)[0]) for draws in (scope.worst_started, scope.certain_started)]
    for start in side.view.unscheduled:
        if not len(start.stretch):
            continue
        use = side.one(start.total)[0]
        units = side.units(use, start.stretch)
        place = int(units.argmax())
        at_ms = int(np.ceil(scope.t_ms[start.stretch[place]]))
        found.append(Least(float(units[place]), side, at_ms, start, bool(np.isinf(use[place]))))
    return found


def lasting_s(view: View, rule: Rule, quantities: Quantities) -> float:
    """For how long any start of a view passes what a rule has for hours, at most; each quantity by itself."""
    scope, longest_s = view.scope, 0.0
    scheduled = [quantities(draws) for draws in (scope.worst_started, scope.certain_started)]
    for check in rule.of_store(0):
        line = lowest(check.line.at(scope.t_ms))
        for use in scheduled if len(view.scheduled) else ():
            above = exceeds(use[check.quantity], line)
            longest_s = max(longest_s, float(view.scheduled.seconds(scope, above).max()))
        for start in view.unscheduled:
            if start.duration_s > longest_s and len(start.stretch):
                above = exceeds(quantities(start.total)[check.quantity], line[start.stretch])
                longest_s = start.duration_s if above.any() else longest_s
    return longest_s


def starts_pass(view: View, rule: Rule, quantities: Quantities) -> bool:
    """The engine lets every start of a view pass under a rule."""
    scope = view.scope
    for draws in (scope.worst_started, scope.certain_started):
        if view.scheduled.broken(scope, list(quantities(draws)), rule).any():
            return False
    return not any(
        np.isfinite(start.broken_ms(scope, list(quantities(start.total)), rule)) for start in view.unscheduled
    )
