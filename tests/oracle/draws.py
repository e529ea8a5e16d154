"""Everything that draws power on the day, one entry for each uninterrupted stage of each machine."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from typing import Any

from tests.oracle.reading import Json, Reading, given, ms

Cycle = tuple[int, int, int]  # on, period, longest on (ms)


@dataclass
class Draw:
    """One stage in progress from begin_ms to end_ms: running P, Q, D, its cycle and the start it may have."""

    appliance: str
    run: str | None
    stage: str
    begin_ms: int
    end_ms: int
    p: float
    q: float
    d: float
    u: float
    circuit: str | None
    cycle: Cycle | None
    start: tuple[float, float] | None
    start_va: float
    start_ms: int
    always_on: bool
    restarts: bool
    basis: str
    group: int
    scheduled: bool = False  # has its start at its beginning

    @property
    def has_start(self) -> bool:
        return self.start is not None and self.start_ms >= 20

    @property
    def start_end_ms(self) -> int:
        return min(self.begin_ms + self.start_ms, self.end_ms)


@dataclass
class Interval:
    """A stage before overlaps of one machine are settled; the end may lie beyond the horizon."""

    appliance: str
    run: str | None
    stage: Json
    begin_ms: int
    end_ms: int
    cycle: Cycle | None
    group: int
    shared: bool = False  # its cycle is its parent's
    set_off: bool = False
    of_pump: bool = False


def cycle_of(stage: Json) -> Cycle | None:
    cycle = stage.get("cycle")
    if cycle is None:
        return None
    return ms(cycle["on_s"]), ms(cycle["period_s"]), ms(given(cycle, "longest_on_s", cycle["on_s"]))


class Expansion:
    """Runs, always-on loads, follow-ons and the pump turned into draws."""

    def __init__(self, reading: Reading) -> None:
        self.reading = reading
        self.intervals: list[Interval] = []
        self.groups = 0
        self.one_group: dict[int, int] = {}
        for name, appliance in reading.appliances.items():
            if given(appliance, "always_on", False):
                self.place(name, None, 0, reading.horizon_ms)
        for run in reading.runs:
            length = run.get("duration_s")
            begin = reading.clock_ms(run["start"])
            self.place(run["appliance"], run["id"], begin, None if length is None else ms(length))
        self.water()
        self.draws = [replace(d, group=self.one_group.get(d.group, d.group)) for d in self.settled()]
        self.part_after_breaks()
        self.draws.sort(key=lambda d: (list(reading.appliances).index(d.appliance), d.begin_ms))

    def new_group(self) -> int:
        self.groups += 1
        return self.groups

    def place(self, name: str, run: str | None, begin: int, length: int | None, parent: Interval | None = None) -> None:
        """One run of an appliance, stage after stage, with all it sets off."""
        appliance = self.reading.appliances.get(name)
        if appliance is None:
            return
        for stage in appliance["stages"]:
            own = stage.get("duration_s")
            if parent is not None:
                span = ms(own) if own is not None else parent.end_ms - parent.begin_ms
            else:
                assert length is not None or own is not None
                span = length if length is not None else ms(own)
            shared = parent is not None and parent.cycle is not None
            entry = Interval(
                name, run, stage, begin, begin + span,
                parent.cycle if shared and parent else cycle_of(stage),
                parent.group if shared and parent else self.new_group(),
                shared, parent is not None,
            )  # fmt: skip
            self.intervals.append(entry)
            for child in given(stage, "sets_off", []):
                self.place(child["appliance"], None, begin + ms(given(child, "after_s", 0)), None, entry)
            begin += span

    def water(self) -> None:
        """The pump behind the taps, and behind every stage that fills."""
        water = self.reading.supply.get("water")
        if not water or water["pump"] not in self.reading.appliances:
            return
        stage = self.reading.appliances[water["pump"]]["stages"][0]
        vessel, flow = water["vessel_l"], water["pump_l_per_min"] / 60
        one_run = vessel / flow

        def pump(begin: int, end: int, cycle: Cycle | None) -> None:
            entry = Interval(water["pump"], None, stage, begin, end, cycle, self.new_group(), of_pump=True)
            self.intervals.append(entry)

        fills = [i for i in self.intervals if given(i.stage, "water_l", 0) > 0]
        if given(water, "taps_l_per_day", 0) > 0:
            begin, end = (self.reading.clock_ms(t) for t in water["taps_between"])
            period = ms((end - begin) / 1000 * vessel / water["taps_l_per_day"])
            pump(begin, end, (ms(one_run), period, ms(one_run)))
        for fill in fills:
            draws = fill.stage["water_l"] / ((fill.end_ms - fill.begin_ms) / 1000)
            end = fill.end_ms + ms(one_run)
            if draws >= flow * (1 - 1e-12):
                pump(fill.begin_ms, end, None)
            else:
                on = ms(vessel / (flow - draws))
                pump(fill.begin_ms, end, (on, on + ms(vessel / draws), on))

    def settled(self) -> list[Draw]:
        """One machine does one thing at a time: overlapping follow-ons and pump runs are settled."""
        draws: list[Draw] = []
        for name in self.reading.appliances:
            mine = [i for i in self.intervals if i.appliance == name and i.begin_ms < self.reading.horizon_ms]
            one_machine = any(i.of_pump or (i.set_off and len(self.stages(i)) == 1) for i in mine)
            if not one_machine:
                draws += [self.draw(i, i.begin_ms, i.end_ms, i.group, i.cycle is None) for i in mine]
                continue
            self.unite(mine)
            edges = sorted({e for i in mine for e in (i.begin_ms, i.end_ms)})
            pieces: list[tuple[int, int, Interval]] = []
            for left, right in itertools.pairwise(edges):
                here = [i for i in mine if i.begin_ms <= left and right <= i.end_ms]
                if not here:
                    continue
                winner = next((i for i in here if i.cycle is None), None) or max(
                    here, key=lambda i: (i.cycle[0], i.cycle[2], -i.cycle[1], -i.begin_ms, i.end_ms) if i.cycle else ()
                )
                if pieces and pieces[-1][1] == left and self.goes_on(pieces[-1][2], winner):
                    pieces[-1] = (pieces[-1][0], right, pieces[-1][2])
                else:
                    pieces.append((left, right, winner))
            for left, right, winner in pieces:
                draws.append(self.draw(winner, left, right, winner.group, winner.cycle is None))
        return draws

    def part_after_breaks(self) -> None:
        """What has not come and gone for a while is another load afterwards."""
        for group in {d.group for d in self.draws}:
            until = None
            now = group
            for d in sorted((d for d in self.draws if d.group == group), key=lambda d: d.begin_ms):
                if until is not None and d.begin_ms > until:
                    now = self.new_group()
                until = max(until or 0, d.end_ms)
                d.group = now

    def unite(self, mine: list[Interval]) -> None:
        """What comes and goes by itself, and alike, without a break is one load, however often it was wanted."""
        for cycle in {i.cycle for i in mine}:
            alike = sorted((i for i in mine if i.cycle == cycle and not i.shared), key=lambda i: i.begin_ms)
            for number, later in enumerate(alike[1:], 1):
                until = max(i.end_ms for i in alike[:number])
                if later.begin_ms <= until:
                    before = alike[number - 1].group
                    self.one_group[later.group] = self.one_group.get(before, before)

    def goes_on(self, before: Interval, after: Interval) -> bool:
        group = [self.one_group.get(i.group, i.group) for i in (before, after)]
        return before.cycle == after.cycle and (before.cycle is None or group[0] == group[1])

    def stages(self, interval: Interval) -> list[Any]:
        stages: list[Any] = self.reading.appliances[interval.appliance]["stages"]
        return stages

    def draw(self, interval: Interval, begin: int, end: int, group: int, certain: bool) -> Draw:
        made = stage_draw(self.reading, interval.appliance, interval.stage)
        scheduled = certain and made.has_start and not made.always_on
        return replace(
            made, run=interval.run, begin_ms=begin, end_ms=min(end, self.reading.horizon_ms),
            cycle=interval.cycle, group=group, scheduled=scheduled,
        )  # fmt: skip


def stage_draw(reading: Reading, name: str, stage: Json) -> Draw:
    """The draw of one stage of an appliance, not yet placed in time."""
    appliance = reading.appliances[name]
    watts, pf = stage["watts"], given(stage, "power_factor", 1.0)
    side = watts * math.tan(math.acos(pf))
    kind = given(stage, "power_factor_kind", "lagging")
    start = stage.get("start")
    one_stage = len(appliance["stages"]) == 1
    always_on = given(appliance, "always_on", False)
    after_cut = given(appliance, "after_cut", "starts" if always_on or one_stage else "waits")
    kick = None
    if start is not None:
        pf_start = start["power_factor"]
        kick = start["va"] * pf_start, start["va"] * math.sin(math.acos(pf_start))
    return Draw(
        appliance=name, run=None, stage=given(stage, "name", ""), begin_ms=0, end_ms=0,
        p=watts, q={"lagging": side, "leading": -side, "distortion": 0.0}[kind],
        d=side if kind == "distortion" else 0.0,
        u=given(appliance, "uncertainty", 0.0), circuit=appliance.get("circuit"), cycle=cycle_of(stage),
        start=kick, start_va=start["va"] if start else 0.0, start_ms=ms(start["duration_s"]) if start else 0,
        always_on=always_on, restarts=after_cut == "starts", group=0,
        basis=given(appliance, "basis", "typical"),
    )  # fmt: skip
