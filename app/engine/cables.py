"""Cables: the voltage lost on the way to a circuit, running and with the worst start behind it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import reduce

import numpy as np

from app.engine.circuits import Conductor, Wired, has_cable
from app.engine.draw import HAIR, Draws
from app.engine.results import DropReading, Flags, Floats, LimitReading, Verdict, worst_of
from app.engine.starts import Unscheduled
from app.household.resolve import Resolved

# IEC 60364-5-52 Annex G: copper at working temperature, 1.25 times its 20 degC value; reactance per metre.
COPPER_OHM_MM2_PER_M = 0.0225
REACTANCE_OHM_PER_M = 0.08e-3

DROP_TIGHT_POINTS = 0.5


def cable_limits(resolved: Resolved, wired: dict[str, Wired]) -> Iterator[LimitReading]:
    """The readings `voltage_drop:ID`, of circuits with a cable."""
    for one in wired.values():
        if has_cable(one.circuit):
            yield _drop_reading(resolved, one, wired)


def drop_v(current_a: Floats | float, cable_m: float, conductor_mm2: float, cos_phi: Floats | float) -> Floats:
    """Volts lost in a single-phase cable, there and back: 2 I (rho L/A cos phi + lambda L sin phi).

    Source: IEC 60364-5-52 Annex G, with b = 2, copper. Never a gain: sin phi counts as inductive.
    """
    sin_phi = np.sqrt(np.maximum(1 - np.square(cos_phi), 0.0))
    resistance_ohm = COPPER_OHM_MM2_PER_M * cable_m / conductor_mm2
    along_ohm = resistance_ohm * np.asarray(cos_phi) + REACTANCE_OHM_PER_M * cable_m * sin_phi
    return np.asarray(2 * np.asarray(current_a) * along_ohm)


@dataclass(frozen=True, slots=True, eq=False)
class FeedPath:
    """A circuit's feed path on one grid: per cabled circuit of it, per conductor, its running draws.

    own: the conductors of the circuit itself, as they carry. parts: those of each on the circuit's own legs, as they
    lose voltage.
    """

    t_ms: Floats
    own: tuple[Conductor, ...]
    parts: tuple[tuple[Wired, Conductor], ...]

    def percent(
        self, at_ms: Floats | None = None, *, certain: bool = False, extra: tuple[Draws, ...] | None = None
    ) -> Floats:
        """Drop along the path, on the leg that loses more.

        at_ms: instants; the beginnings of its own stretches if not given. extra: draws per part, on top.
        """
        begin_ms, each_percent = self.t_ms[:-1] if at_ms is None else at_ms, list[Floats]()
        for place, (wired, conductor) in enumerate(self.parts):
            scope = conductor.view.scope
            draws = scope.certain if certain else scope.worst
            if at_ms is not None or len(self.parts) > 1:  # else the stretches are those of the draws
                draws = draws.take(scope.stretch_at(begin_ms))
            if extra is not None:
                draws = draws + extra[place]
            each_percent.append(_percent(wired, conductor, draws) - back_percent(wired, conductor, begin_ms))
        return self.on_the_worse_leg(each_percent)

    def on_the_worse_leg(self, each_percent: Sequence[Floats]) -> Floats:
        """What is lost in each part, added up along the path: of the leg on which that is more; a gain is none."""
        legs: dict[str, Floats] = {}
        for (_, conductor), percent in zip(self.parts, each_percent, strict=True):
            legs[conductor.leg] = legs.get(conductor.leg, np.zeros(1)) + np.maximum(percent, 0.0)
        return np.asarray(reduce(np.maximum, legs.values()))  # one may be the same for all rows, another not

    def starts_behind(self, at_ms: Floats, *, certain: bool = False) -> tuple[Draws, ...]:
        """What is added to every part while a scheduled start behind the circuit is in progress.

        What starts just then elsewhere on the path counts as well: it is known to come at the same time.
        """
        under_way = np.any([conductor.view.scheduled.under_way(at_ms) for conductor in self.own], axis=0)
        kicks = []
        for _, conductor in self.parts:
            scope = conductor.view.scope
            kick = scope.certain_started - scope.certain if certain else scope.worst_started - scope.worst
            kicks.append(kick.take(scope.stretch_at(at_ms)).times(under_way.astype(float)))
        return tuple(kicks)

    def unscheduled(self, at_ms: Floats) -> Iterator[tuple[Unscheduled, Flags, tuple[Draws, ...]]]:
        """Each unscheduled start behind the circuit: where it may be, and what it adds there to every part.

        Every part takes the start as it sees it itself: what an interlock keeps off for it may draw on a feeder alone.
        Where it is not seen, what starts together with it may be.
        """
        behind = {
            start.piece: start for conductor in self.own for start in conductor.view.unscheduled if len(start.stretch)
        }
        nothing = Draws(*(np.zeros(len(at_ms)) for _ in range(4)))
        seen = [
            (conductor.view.scope, {start.piece: start for start in conductor.view.unscheduled if len(start.stretch)})
            for _, conductor in self.parts
        ]
        stretches = [scope.stretch_at(at_ms) for scope, _ in seen] if behind else []
        for piece, starter in behind.items():
            kicks = []
            there = np.zeros(len(at_ms), dtype=bool)
            for (scope, starts), stretch in zip(seen, stretches, strict=True):
                along = starts[piece] if piece in starts else self._under_way(starter, list(starts.values()))
                if along is None:
                    kicks.append(nothing)
                    continue
                stands, place = along.place_in(stretch)
                kick = along.total.take(place) - scope.worst.take(stretch)
                kicks.append(kick.times(stands.astype(float)))
                there = stands if along.piece == piece else there
            yield starter, there, tuple(kicks)

    def _under_way(self, starter: Unscheduled, starts: Sequence[Unscheduled]) -> Unscheduled | None:
        """The last start of the same load that is under way as one begins."""
        pieces = self.own[0].view.laid.pieces
        load, now_ms = pieces.load[starter.piece], pieces.begin_ms[starter.piece]

        def counts(start: Unscheduled) -> bool:
            since_ms = now_ms - pieces.begin_ms[start.piece]
            return bool(pieces.load[start.piece] == load) and 0 <= since_ms < 1000 * start.duration_s

        return max(filter(counts, starts), key=lambda start: int(pieces.begin_ms[start.piece]), default=None)


def feed_path(wired: Wired, all_wired: dict[str, Wired]) -> FeedPath:
    """The feed path of a circuit with a cable."""
    cabled = [all_wired[one] for one in wired.path if has_cable(all_wired[one].circuit)]
    legs = {conductor.leg for conductor in wired.conductors}
    parts = tuple((one, conductor) for one in cabled for conductor in one.losing if conductor.leg in legs)
    grids = [conductor.view.scope.t_ms for _, conductor in parts]
    grids += [conductor.back.t_ms for _, conductor in parts if conductor.back is not None]
    t_ms = grids[0] if len(grids) == 1 else np.unique(np.concatenate(grids))
    return FeedPath(t_ms, wired.conductors, parts)


def _percent(wired: Wired, conductor: Conductor, draws: Draws) -> Floats:
    circuit = wired.circuit
    assert circuit.cable_m is not None  # only cabled circuits lose voltage
    assert circuit.conductor_mm2 is not None
    cos_phi = np.minimum(np.maximum(draws.p_w / np.maximum(draws.va, HAIR), 0), 1)
    volts = drop_v(conductor.current_a(draws), circuit.cable_m, circuit.conductor_mm2, cos_phi)
    return 100 * volts / conductor.of_v


def back_percent(wired: Wired, conductor: Conductor, at_ms: Floats) -> Floats | float:
    """What a conductor loses less at instants, for the other leg's current comes back by the same neutral.

    Of what surely is there, the least: R P + X Q, with the watts at their lower end; what leads counts against it.
    """
    if conductor.back is None:
        return 0.0
    circuit = wired.circuit
    assert circuit.cable_m is not None  # only cabled circuits lose voltage
    assert circuit.conductor_mm2 is not None
    sure = conductor.back.certain.take(conductor.back.stretch_at(at_ms))
    least = np.maximum(1 - np.sqrt(np.maximum(sure.spread_w2, 0.0)) / np.maximum(sure.p_w, HAIR), 0.0)
    resistance_ohm = COPPER_OHM_MM2_PER_M * circuit.cable_m / circuit.conductor_mm2
    along = resistance_ohm * sure.p_w + REACTANCE_OHM_PER_M * circuit.cable_m * sure.q_var
    return np.asarray(100 * least * along / (conductor.volts * conductor.of_v))


def _drop_reading(resolved: Resolved, wired: Wired, all_wired: dict[str, Wired]) -> LimitReading:
    rules = resolved.household.supply.rules
    path = feed_path(wired, all_wired)
    begin_ms = path.t_ms[:-1]
    running = path.percent()
    steady = all(conductor.view.scope.certain is conductor.view.scope.worst for _, conductor in path.parts)
    running_certain = running if steady else path.percent(certain=True)
    starting, starting_certain = running, running_certain
    if any(len(conductor.view.scheduled) for conductor in wired.conductors):
        starting = path.percent(extra=path.starts_behind(begin_ms))
        starting_certain = path.percent(certain=True, extra=path.starts_behind(begin_ms, certain=True))
    start_percent, start_at_ms = _first_largest(starting, begin_ms)
    starter = None
    for start, there, extra in path.unscheduled(begin_ms):
        percent = np.where(there, path.percent(extra=extra), 0.0)
        largest, at_ms = _first_largest(percent, begin_ms)
        if (largest, -at_ms) > (start_percent, -start_at_ms):
            start_percent, start_at_ms, starter = largest, at_ms, start
    running_percent, running_at_ms = _first_largest(running, begin_ms)
    limits = (100 * rules.drop_running, 100 * rules.drop_starting)
    margins = (limits[0] - running_percent, limits[1] - start_percent)
    certain = (float(running_certain.max()), float(starting_certain.max()))
    chosen = 0 if margins[0] <= margins[1] else 1
    use = (running_percent, start_percent)[chosen]
    at_ms = (running_at_ms, start_at_ms)[chosen]
    certain_chosen = 0 if limits[0] - certain[0] <= limits[1] - certain[1] else 1
    verdict = worst_of(*map(_drop_verdict, margins, limits))
    return LimitReading(
        id=f"voltage_drop:{wired.circuit.id}", direction="ceiling", limit=limits[chosen], unit="%", use=use,
        margin=margins[chosen], at_ms=at_ms, verdict=verdict,
        verdict_certain=worst_of(*(_drop_verdict(b - a, b) for a, b in zip(certain, limits, strict=True))),
        use_certain=certain[certain_chosen],
        contributors=_most_loaded(path, at_ms, starter if chosen else None, starting=bool(chosen)).view.contributors(
            at_ms, starter if chosen else None, starts=bool(chosen) and starter is None
        ),
        drop=DropReading(running_percent, start_percent), broken_at_ms=at_ms if verdict == "over" else None,
    )  # fmt: skip


def _most_loaded(path: FeedPath, at_ms: int, starter: Unscheduled | None, *, starting: bool) -> Conductor:
    """The circuit's own conductor that carries most at an instant, of those that a start is seen on."""
    if len(path.own) == 1:
        return path.own[0]

    def va(conductor: Conductor) -> tuple[bool, float]:
        scope = conductor.view.scope
        stretch = int(scope.stretch_at(at_ms))
        for start in conductor.view.unscheduled:
            if starter is not None and start.piece == starter.piece:
                return True, float(start.total_at(stretch).use_va)
        return False, float((scope.worst_started if starting else scope.worst).take(stretch).use_va)

    return max(path.own, key=va)


def _first_largest(percent: Floats, at_ms: Floats) -> tuple[float, int]:
    largest = float(percent.max())
    return largest, int(at_ms[(percent >= largest * (1 - HAIR)).argmax()])


def _drop_verdict(margin: float, limit: float) -> Verdict:
    if margin < -HAIR * limit:
        return "over"
    return "tight" if margin < DROP_TIGHT_POINTS * (1 - HAIR) else "fits"
