"""The bank's limits at the reserve: currents with their peak time, the voltage at the inverter, the fuse."""

from collections.abc import Iterator
from dataclasses import replace
from functools import cached_property
from typing import NamedTuple
from weakref import WeakKeyDictionary

import numpy as np

from app.engine.curve import Line, by_temperature
from app.engine.dc import bank_current_a, bank_resistance_ohm, cannot_deliver, input_w, open_circuit_v
from app.engine.draw import HAIR, Draws
from app.engine.heat import Check, Rule
from app.engine.margins import Tightest, tightest_floor
from app.engine.readings import Ruled, View, put_under
from app.engine.results import Flags, Floats, LimitReading, Verdict
from app.engine.timed import peak_reading, steady_reading
from app.household.losses import inverter_losses
from app.household.resolve import Resolved

VOLTAGE_MARGIN = 0.02


class Loaded(NamedTuple):
    """The bank under AC draws.

    current_a: where it cannot deliver, the most it ever could. terminal_v: at the inverter. collapses: it cannot
    deliver.
    """

    current_a: Floats
    terminal_v: Floats
    collapses: Flags


class Bank:
    """The bank and the inverter before it, as the AC side sees them."""

    def __init__(self, resolved: Resolved) -> None:
        supply = resolved.household.supply
        battery = supply.battery
        self.losses = inverter_losses(supply.inverter)
        self.rest_v = open_circuit_v(battery)
        self.resistance_ohm = bank_resistance_ohm(battery)
        self.dc_load_w = battery.dc_load_w
        self.factor = by_temperature(
            battery.discharge_factor, resolved.day.ambient_c, battery.room_offset_k, resolved.frame
        )
        # The hardest-worked module sets the limit; a single one shares with nobody.
        self.modules = battery.modules / (battery.sharing if battery.modules > 1 else 1)
        self.continuous_a = self.factor.times(self.modules * battery.continuous_discharge_a)
        self.peak_a = self.factor.times(self.modules * battery.peak_discharge_a)
        self.peak_s = battery.peak_s
        self._under: WeakKeyDictionary[Draws, Loaded] = WeakKeyDictionary()

    def dc_w(self, draws: Draws) -> Floats:
        """What the bank must give for AC draws, in watts."""
        return input_w(self.losses, draws.use_w) + self.dc_load_w

    def under(self, draws: Draws) -> "Loaded":
        """The bank under AC draws; kept as long as they are, for its rule, voltage and fuse ask for the same."""
        found = self._under.get(draws)
        if found is None:
            dc_w = self.dc_w(draws)
            current_a = bank_current_a(self.rest_v, self.resistance_ohm, dc_w)
            collapses = np.asarray(cannot_deliver(self.rest_v, self.resistance_ohm, dc_w), dtype=bool)
            found = Loaded(current_a, self.rest_v - current_a * self.resistance_ohm, collapses)
            self._under[draws] = found
        return found

    def current_a(self, draws: Draws) -> Floats:
        """Its current; where it cannot deliver, the most it ever could."""
        return self.under(draws).current_a

    def collapses(self, draws: Draws) -> Flags:
        """Where it cannot deliver."""
        return self.under(draws).collapses

    def terminal_v(self, draws: Draws) -> Floats:
        """Volts at the inverter."""
        return self.under(draws).terminal_v

    def quantities(self, draws: Draws) -> list[Floats]:
        """What its rule compares: the current; endless where it cannot deliver, which breaks any peak."""
        loaded = self.under(draws)
        return [np.where(loaded.collapses, np.inf, loaded.current_a)]

    @cached_property
    def rule(self) -> Rule:
        """Continuous current for hours, peak current for its seconds, never more."""
        steady, peak = Check(0, self.continuous_a, 0), Check(0, self.peak_a, None)
        return Rule((steady, peak), (self.peak_s,), (self.peak_s,), (float(self.continuous_a.value.max()),), ("A",))


def bank_limits(house: View, bank: Bank) -> Iterator[LimitReading]:
    """The readings `battery_continuous`, `battery_peak`, `battery_voltage` and `dc_fuse`."""
    ruled = put_under(house, bank.rule, bank.quantities)
    # Figures shown are those the bank can really give; what breaks was found with endless ones.
    shown = _finite(ruled, bank)
    yield _with_v(steady_reading(shown, "battery_continuous", "A", 0, bank.continuous_a), bank)
    yield _with_v(peak_reading(shown, "battery_peak", "A", 0, bank.peak_a), bank)
    yield _voltage_reading(house, bank)
    fuse_a = house.resolved.household.supply.battery.dc_fuse_a
    if fuse_a is not None:
        yield _fuse_reading(shown, fuse_a)


def _finite(ruled: Ruled, bank: Bank) -> Ruled:
    most_a = bank.rest_v / (2 * bank.resistance_ohm) if bank.resistance_ohm else np.inf

    def cap(use: list[Floats]) -> list[Floats]:
        return [np.minimum(one, most_a) for one in use]

    return Ruled(
        ruled.view, ruled.rule, ruled.certain, ruled.worst, cap(ruled.certain_use), cap(ruled.worst_use),
        cap(ruled.certain_total), cap(ruled.worst_total), [cap(use) for use in ruled.unscheduled_use],
        ruled.certain_starts_broken, ruled.worst_starts_broken, ruled.unscheduled_broken_ms,
    )  # fmt: skip


def _with_v(reading: LimitReading, bank: Bank) -> LimitReading:
    return replace(reading, open_circuit_v=bank.rest_v)


def _voltage_reading(house: View, bank: Bank) -> LimitReading:
    scope, inverter = house.scope, house.resolved.household.supply.inverter
    floor_v = inverter.cut_off_v
    worst, certain = bank.under(scope.worst_started), bank.under(scope.certain_started)
    at = tightest_floor(scope.t_ms, worst.terminal_v, floor_v)
    certain_at = tightest_floor(scope.t_ms, certain.terminal_v, floor_v)
    lowest_start = None
    broken_at = _dip_ms(house, worst)
    for start in house.unscheduled:
        loaded = bank.under(start.total)
        volts = loaded.terminal_v
        place = int(np.argmin(volts)) if len(volts) else -1
        if place >= 0 and (float(volts[place]), scope.t_ms[start.stretch[place]]) < (at.use, at.at_ms):
            stretch = int(start.stretch[place])
            lowest_start = start
            at = Tightest(
                int(scope.t_ms[stretch]), stretch, floor_v, float(volts[place]), float(volts[place]) - floor_v
            )
        below = (volts < floor_v * (1 - HAIR)) & (start.duration_s >= inverter.cut_off_delay_s)
        below |= loaded.collapses
        if below.any():
            broken_at = min(broken_at, float(scope.t_ms[start.stretch[below][0]]))
    certain_verdict = _voltage_verdict(_dip_ms(house, certain), certain_at)
    return LimitReading(
        id="battery_voltage", direction="floor", limit=floor_v, unit="V", use=at.use, margin=at.margin,
        at_ms=at.at_ms, verdict=_voltage_verdict(broken_at, at), verdict_certain=certain_verdict,
        use_certain=certain_at.use, open_circuit_v=bank.rest_v,
        contributors=house.contributors(at.at_ms, lowest_start, starts=lowest_start is None),
        broken_at_ms=int(broken_at) if np.isfinite(broken_at) else None,
    )  # fmt: skip


def _dip_ms(house: View, loaded: Loaded) -> float:
    """Where the first dip below the cut-off begins that lasts as long as the inverter waits; infinite for none."""
    inverter = house.resolved.household.supply.inverter
    t_ms = house.scope.t_ms
    below, collapsed = loaded.terminal_v < inverter.cut_off_v * (1 - HAIR), loaded.collapses
    if not below.any() and not collapsed.any():
        return float(np.inf)
    found = [float(t_ms[:-1][collapsed][0])] if collapsed.any() else []
    edge = np.diff(np.concatenate(([0], below.astype(np.int8), [0])))
    begins, ends = t_ms[np.flatnonzero(edge == 1)], t_ms[np.flatnonzero(edge == -1)]
    long_enough = (ends - begins) / 1000 >= inverter.cut_off_delay_s * (1 - HAIR)
    found += begins[long_enough].tolist()[:1]
    return min(found, default=np.inf)


def _voltage_verdict(broken_at_ms: float, at: Tightest) -> Verdict:
    if np.isfinite(broken_at_ms):
        return "over"
    return "tight" if at.margin < VOLTAGE_MARGIN * at.limit * (1 - HAIR) else "fits"


def _fuse_reading(ruled: Ruled, fuse_a: float) -> LimitReading:
    t_ms = ruled.view.scope.t_ms
    line = Line(t_ms[[0, -1]], np.array([fuse_a, fuse_a]))
    wanted = ruled.view.resolved.day.wanted_margin

    def verdict(at: Tightest) -> Verdict:
        if at.exceeded:
            return "over"
        return "tight" if at.less_than(wanted) else "fits"

    at, certain_at = ruled.running(0, line), ruled.running(0, line, certain=True)
    return LimitReading(
        id="dc_fuse", direction="ceiling", limit=fuse_a, unit="A", use=at.use, margin=at.margin, at_ms=at.at_ms,
        verdict=verdict(at), verdict_certain=verdict(certain_at), use_certain=certain_at.use,
        contributors=ruled.view.contributors(at.at_ms), broken_at_ms=at.at_ms if at.exceeded else None,
    )  # fmt: skip
