"""Every limit over the whole day: what the readings take their smallest margin from."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np

from app.engine.cables import feed_path
from app.engine.circuits import Wired, has_cable
from app.engine.curve import Line
from app.engine.day import PlannedDay
from app.engine.draw import HAIR, Draws
from app.engine.everything import coming_back
from app.engine.inverter import VOLT_AMPERES, WATTS, steady_line, top_line
from app.engine.readings import View
from app.engine.results import Floats

Direction = Literal["ceiling", "floor"]
Unit = Literal["W", "VA", "A", "V", "%"]


class LimitThen(NamedTuple):
    """One limit at one instant, in the worst case; fields as in `LimitReading`.

    beyond: strictly past the limit, by more than rounding; what may be passed for a time is not broken by that.
    """

    id: str
    direction: Direction
    limit: float
    unit: Unit
    use: float
    margin: float
    beyond: bool


@dataclass(frozen=True, slots=True, eq=False)
class Trace:
    """One limit over the day, in the worst case.

    t_ms: shape (n + 1,), edges of the stretches, to the horizon, from 0 or from where it is known.
    use: shape (n,), constant in each stretch.
    limit: shape (2, n), at the beginning and at the end of each stretch, linear between.
    """

    id: str
    direction: Direction
    unit: Unit
    t_ms: Floats
    use: Floats
    limit: Floats

    def at(self, at_ms: float) -> LimitThen:
        """The limit at an instant before the horizon."""
        stretch = max(int(self.t_ms.searchsorted(at_ms, side="right")) - 1, 0)
        begin, end = self.limit[:, stretch].tolist()
        begin_ms, end_ms = self.t_ms[stretch : stretch + 2].tolist()
        limit = begin if begin == end else begin + (end - begin) * (at_ms - begin_ms) / (end_ms - begin_ms)
        use = float(self.use[stretch])
        margin = limit - use if self.direction == "ceiling" else use - limit
        return LimitThen(self.id, self.direction, limit, self.unit, use, margin, margin < -HAIR * max(abs(limit), HAIR))


def traces_of(day: PlannedDay) -> Iterator[Trace]:
    """Every limit of a plan over its day, as the assessment lists them; each one's smallest margin is its reading's."""
    house, bank, supply = day.house, day.bank, day.resolved.household.supply
    scope = house.scope
    yield from inverter_traces(day)
    for leg, view in day.legs.items():
        yield _moving(view, f"leg:{leg}", "VA", view.scope.worst.use_va, steady_line(day.leg_rule, VOLT_AMPERES))
    running_a = bank.current_a(scope.worst)
    yield _moving(house, "battery_continuous", "A", running_a, bank.continuous_a)
    yield _moving(house, "battery_peak", "A", with_starts(house, bank.current_a, np.maximum), bank.peak_a)
    lowest_v = with_starts(house, bank.terminal_v, np.minimum)
    yield _still("battery_voltage", "V", scope.t_ms, lowest_v, supply.inverter.cut_off_v, "floor")
    if supply.battery.dc_fuse_a is not None:
        yield _still("dc_fuse", "A", scope.t_ms, running_a, supply.battery.dc_fuse_a)
    for wired in day.wired.values():
        if wired.circuit.breaker_a is not None:
            yield _breaker_trace(wired, wired.circuit.breaker_a)
    for wired in day.wired.values():
        if has_cable(wired.circuit):
            yield _drop_trace(day, wired)
    yield _moving(house, "cold_restart", "VA", coming_back(scope).va, top_line(day.rule))


def inverter_traces(day: PlannedDay) -> Iterator[Trace]:
    """The first of them, the inverter's own: for hours in W and in VA, and its top with starts."""
    house, worst = day.house, day.house.scope.worst
    watts, volt_amperes = (steady_line(day.rule, quantity) for quantity in (WATTS, VOLT_AMPERES))
    yield _moving(house, "inverter_continuous", "W", worst.use_w, watts)
    yield _moving(house, "inverter_apparent", "VA", worst.use_va, volt_amperes)
    starting_va = with_starts(house, lambda draws: draws.use_va, np.maximum)
    yield _moving(house, "inverter_overload", "VA", starting_va, top_line(day.rule))


def with_starts(view: View, quantity: Callable[[Draws], Floats], worse: np.ufunc) -> Floats:
    """A quantity in each stretch with its starts: those whose instant is known, and the worst that may come there.

    worse: np.maximum, or np.minimum where less is worse. Shape (n,).
    """
    use = quantity(view.scope.worst_started).copy()
    for start in view.unscheduled:
        use[start.stretch] = worse(use[start.stretch], quantity(start.total))
    return use


def _moving(view: View, limit_id: str, unit: Unit, use: Floats, line: Line) -> Trace:
    """A ceiling that may follow the temperature; the view's stretches end at its corners."""
    limit = line.at(view.scope.t_ms)
    return Trace(limit_id, "ceiling", unit, view.scope.t_ms, use, np.stack([limit[:-1], limit[1:]]))


def _still(
    limit_id: str, unit: Unit, t_ms: Floats, use: Floats, limit: float, direction: Direction = "ceiling"
) -> Trace:
    return Trace(limit_id, direction, unit, t_ms, use, np.full((2, len(use)), float(limit)))


def _breaker_trace(wired: Wired, breaker_a: float) -> Trace:
    """A breaker sees the larger of its conductors."""
    scopes = [conductor.view.scope for conductor in wired.conductors]
    t_ms = scopes[0].t_ms if len(scopes) == 1 else np.unique(np.concatenate([scope.t_ms for scope in scopes]))
    currents = [
        conductor.current_a(conductor.view.scope.worst)[conductor.view.scope.stretch_at(t_ms[:-1])]
        for conductor in wired.conductors
    ]
    return _still(f"circuit:{wired.circuit.id}", "A", t_ms, np.max(currents, axis=0), breaker_a)


def _drop_trace(day: PlannedDay, wired: Wired) -> Trace:
    """The voltage lost on the way, running or with starts, whichever leaves fewer points."""
    rules = day.resolved.household.supply.rules
    path = feed_path(wired, day.wired)
    begin_ms = path.t_ms[:-1]
    running = starting = path.percent()
    if any(len(conductor.view.scheduled) for conductor in wired.conductors):
        starting = path.percent(extra=path.starts_behind(begin_ms))
    for _, there, extra in path.unscheduled(begin_ms):
        starting = np.where(there, np.maximum(starting, path.percent(extra=extra)), starting)
    limits = (100 * rules.drop_running, 100 * rules.drop_starting)
    runs = limits[0] - running <= limits[1] - starting
    limit = np.where(runs, *limits)
    return Trace(
        f"voltage_drop:{wired.circuit.id}", "ceiling", "%", path.t_ms,
        np.where(runs, running, starting), np.stack([limit, limit]),
    )  # fmt: skip
