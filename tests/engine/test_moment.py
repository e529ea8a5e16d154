"""One instant of a plan: who draws then, what every limit has left, what may be switched on."""

import json
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given

from app.engine.assess import assess
from app.engine.day import lay_day
from app.engine.draw import HAIR
from app.engine.moment import Inspection, Moment, events, next_event, previous_event
from app.household.demo import demo_text
from app.household.file import household_from
from app.household.resolve import resolve
from tests.engine.home import Document, house, load, steady
from tests.oracle.home import Home, bits
from tests.oracle.profiles import examples
from tests.oracle.starts import starting_with
from tests.oracle.strategies import households
from tests.stories.golden import demo_plans, stories

MINUTE_MS, HOUR_MS = 60_000, 3_600_000
MOTOR = {"start": {"va": 3000, "power_factor": 0.5, "duration_s": 0.6}, "power_factor": 0.8}
COMPRESSOR = steady("fridge", 150, cycle={"on_s": 600, "period_s": 1800}, **MOTOR)
SPLIT = {"ac_voltage": 240, "legs": 2}
TREE = [
    {"id": "main", "breaker_a": 60, "leg": "AB", "cable_m": 20, "conductor_mm2": 10},
    {"id": "left", "breaker_a": 20, "leg": "A", "fed_from": "main", "cable_m": 30, "conductor_mm2": 2.5},
    {"id": "right", "breaker_a": 20, "leg": "B", "fed_from": "main"},
]


def inspected(document: Document, scenario: str | None = None) -> Inspection:
    """A plan laid open."""
    household = household_from(document)
    return Inspection(lay_day(resolve(household, scenario)), assess(household, scenario))


def split_house() -> Document:
    """Two legs, a tree of circuits with cables, and a motor on each level of it."""
    return house(
        load("saw", 900, circuit="left", **MOTOR), load("heater", 1200, circuit="right"), COMPRESSOR,
        load("pump", 700, circuit="main", **MOTOR), runs={"saw": "10:00", "heater": "10:20", "pump": "10:00"},
        inverter={**SPLIT, "overload": [[9000, 1800], [12000, 5]]}, supply={"circuits": TREE},
        day={"ambient_c": [[0, 20], [9, 25], [15, 38], [21, 22]]},
    )  # fmt: skip


PLANS: dict[str, tuple[Document, str | None]] = {
    **demo_plans(),
    **{name: (document, None) for name, document in stories().items()},
    "two legs and a tree of circuits": (split_house(), None),
}


@pytest.fixture(params=PLANS, ids=str)
def inspection(request: pytest.FixtureRequest) -> Inspection:
    """Every plan of the demo, every story, and a house with two legs."""
    return inspected(*PLANS[request.param])


def test_every_limit_is_there_in_order(inspection: Inspection) -> None:
    """A moment knows the limits of the assessment, no more and no fewer."""
    moment = inspection.at(12 * HOUR_MS)

    assert [(one.id, one.direction, one.unit) for one in moment.limits] == [
        (reading.id, reading.direction, reading.unit) for reading in inspection.assessment.limits
    ]


def test_at_its_tightest_a_limit_is_as_the_assessment_says(inspection: Inspection) -> None:
    """Use, limit and margin at the reading's instant are the reading's."""
    for reading in inspection.assessment.limits:
        then = inspection.at(reading.at_ms).limit(reading.id)

        assert then is not None
        hair = 1e-6 * abs(reading.limit)  # a limit reached only at a stretch's end is read a millisecond before it
        assert (then.use, then.limit) == pytest.approx((reading.use, reading.limit), abs=hair), reading.id
        assert then.margin == pytest.approx(reading.margin, abs=hair), reading.id


def test_nowhere_is_less_left_than_at_the_tightest(inspection: Inspection) -> None:
    """At every event and a millisecond before it."""
    tightest = {reading.id: reading for reading in inspection.assessment.limits}
    for at_ms in {*inspection.events_ms.tolist(), *(inspection.events_ms - 1).tolist()}:
        for then in inspection.at(at_ms).limits:
            reading = tightest[then.id]
            assert then.margin >= reading.margin - 2 * HAIR * max(abs(reading.limit), 1), (then.id, at_ms)


def test_draws_sum_to_the_totals(inspection: Inspection) -> None:
    """Watts and projected volt-amperes, starts in progress included."""
    for at_ms in inspection.events_ms.tolist():
        moment = inspection.at(at_ms)
        assert sum(one.w for one in moment.draws) == pytest.approx(moment.total_w, abs=1e-6)
        assert sum(one.va for one in moment.draws) == pytest.approx(moment.total_va, abs=1e-6)
        if not any(one.starting for one in moment.draws):
            assert (moment.total_w, moment.total_va) == pytest.approx((moment.worst_w, moment.worst_va))
            certain_w = sum(one.w for one in (*moment.draws, *moment.left_out) if one.certain)
            assert certain_w == pytest.approx(moment.certain_w, abs=1e-6)


def test_whatever_changes_is_an_event(inspection: Inspection) -> None:
    """Between two events the same draws stand and the same starts are in progress; only the charge always moves."""
    events_ms = inspection.events_ms.tolist()
    for begin_ms, end_ms in zip(events_ms, [*events_ms[1:], inspection.assessment.horizon_ms], strict=True):
        first, last = inspection.at(begin_ms), inspection.at(end_ms - 1)
        assert (first.draws, first.left_out) == (last.draws, last.left_out)
        assert [one.use for one in first.limits if one.id != "reserve"] == [
            one.use for one in last.limits if one.id != "reserve"
        ]
        assert [one[:2] for one in first.may_start] == [one[:2] for one in last.may_start]


class Brute:
    """The oracle's household at one instant, every limit summed up from nothing but what is on."""

    def __init__(self, document: Document, scenario: str, at_ms: int) -> None:
        self.home, self.at_ms = Home(document, scenario), at_ms
        draws = self.home.draws
        there = [i for i, draw in enumerate(draws) if draw.begin_ms <= at_ms < draw.end_ms]
        self.on = sum(1 << i for i in there)
        self.starting = sum(1 << i for i in there if draws[i].scheduled and at_ms < draws[i].start_end_ms)
        self.by_chance = [i for i in there if draws[i].cycle is not None and draws[i].has_start]

    def running(self, scope: str = "house") -> Any:
        """Figures of the running draws."""
        return self.home.figures(self.on, 0, scope)

    def totals(self, scope: str = "house") -> list[Any]:
        """Figures with the starts in progress, and with each that may come just then."""
        return [self.home.figures(self.on, starting, scope) for starting in self.startings(scope)]

    def startings(self, scope: str) -> list[int]:
        """Sets of starts that a scope feels."""
        felt = [i for i in self.by_chance if self.home.share(self.home.draws[i], scope) > 0]
        own = sum(1 << i for i in bits(self.starting) if self.home.share(self.home.draws[i], scope) > 0)
        return [own, *(starting_with(self.home.draws, i) & self.on for i in felt)]

    def limits(self) -> dict[str, tuple[float, float, float]]:
        """Per limit its use, limit and margin."""
        home, battery, inverter = self.home, self.home.battery, self.home.inverter
        level = inverter["overload"][-1][0]
        found = {
            "inverter_continuous": (self.running().w, home.inverter_limit(None)),
            "inverter_apparent": (self.running().va, home.inverter_limit(inverter["rated_va"])),
            "inverter_overload": (max(one.va for one in self.totals()), home.inverter_limit(level)),
            "battery_continuous": (home.amps(self.running().w), home.bank_limit(battery["continuous_discharge_a"])),
            "battery_peak": (
                max(home.amps(one.w) for one in self.totals()), home.bank_limit(battery["peak_discharge_a"])
            ),
            "battery_voltage": (min(home.terminal_v(one.w) for one in self.totals()), inverter["cut_off_v"]),
            "cold_restart": (self.cold_va(), home.inverter_limit(level)),
        }  # fmt: skip
        if battery.get("dc_fuse_a"):
            found["dc_fuse"] = (home.amps(self.running().w), battery["dc_fuse_a"])
        for leg in "AB" if home.two_legs else "":
            found[f"leg:{leg}"] = (self.running(f"leg:{leg}").va, home.inverter_limit(inverter["rated_va"], 0.5))
        for name, circuit in home.circuits.items():
            if circuit.get("breaker_a"):
                scopes, volts = home.conductors(name)
                use = max(self.running(scope).va / volts for scope in scopes)
                found[f"circuit:{name}"] = (use, circuit["breaker_a"])
            if circuit.get("cable_m") and circuit.get("conductor_mm2"):
                found[f"voltage_drop:{name}"] = self.drop(name)
        values = {
            name: (use, float(limit(self.at_ms)) if callable(limit) else limit) for name, (use, limit) in found.items()
        }
        return {
            name: (use, limit, use - limit if name == "battery_voltage" else limit - use)
            for name, (use, limit) in values.items()
        }

    def drop(self, circuit: str) -> tuple[float, float]:
        """Of running and starting the one with fewer points left."""
        running = self.home.drop_percent(circuit, self.on)
        starting = max(self.home.drop_percent(circuit, self.on, one) for one in self.startings(f"circuit:{circuit}"))
        return (running, 5.0) if 5.0 - running <= 10.0 - starting else (starting, 10.0)

    def cold_va(self) -> float:
        """Everything that comes back at once, as it starts."""
        sums = [0.0, 0.0, 0.0]
        for draw in (self.home.draws[i] for i in bits(self.on)):
            if draw.restarts:
                own = (*draw.start, 0.0) if draw.has_start and draw.start else (draw.p, draw.q, draw.d)
                sums = [a + b for a, b in zip(sums, own, strict=True)]
        return math.hypot(*sums)


def instants(document: Document, scenario: str) -> list[int]:
    """Edges of what is on and of starts, a millisecond before each, and the middle of every start."""
    home = Home(document, scenario)
    edges = {edge for draw in home.draws for edge in (draw.begin_ms, draw.end_ms)}
    starts = [(draw.begin_ms, draw.start_end_ms) for draw in home.draws if draw.scheduled]
    edges |= {edge for start in starts for edge in (*start, sum(start) // 2)}
    edges |= {edge - 1 for edge in edges}
    return sorted(edge for edge in edges if 0 <= edge < home.reading.horizon_ms)


@examples(60)
@given(households())
def test_any_instant_agrees_with_brute_force(household: Document) -> None:
    """Every limit, and the watts of everything on, are what the oracle sums up from the file."""
    scenario = household["scenarios"][-1]["id"]
    inspection = inspected(household, scenario)
    all_of_them = instants(household, scenario)
    for at_ms in all_of_them[:: max(len(all_of_them) // 12, 1)]:
        moment, brute = inspection.at(at_ms), Brute(household, scenario, at_ms)
        by_hand = brute.limits()
        assert {one.id for one in moment.limits} == {*by_hand, "reserve"}
        for one in moment.limits:
            if one.id == "reserve":
                continue  # the charge has an oracle of its own
            assert (one.use, one.limit, one.margin) == pytest.approx(by_hand[one.id], rel=1e-7, abs=1e-5), one.id
        assert moment.worst_w == pytest.approx(brute.running().nominal_w, abs=1e-6)
        assert moment.total_va == pytest.approx(brute.totals()[0].nominal_va, abs=1e-6)
        assert names(moment) == names_of(brute)


def names(moment: Moment) -> list[tuple[str, bool, bool, float]]:
    """Who draws: appliance, certain, starting, watts."""
    return sorted((one.appliance, one.certain, one.starting, round(one.w, 6)) for one in moment.draws)


def names_of(brute: Brute) -> list[tuple[str, bool, bool, float]]:
    """The same by the oracle."""
    found, home = [], brute.home
    more = {home.last_counted(brute.on, brute.starting, "house"): home.more(brute.on, brute.starting, "house")[0]}
    for i in home.counted(brute.on, brute.starting, "house"):
        draw, starts = home.draws[i], bool(brute.starting >> i & 1)
        watts = draw.start[0] if starts and draw.start else draw.p + more.get(i, 0.0)
        found.append((draw.appliance, draw.cycle is None, starts, round(watts, 6)))
    return sorted(found)


def test_a_start_is_there_for_as_long_as_it_lasts() -> None:
    """600 ms from ten o'clock on, to the millisecond; 3000 VA in place of 800 W."""
    inspection = inspected(house(load("saw", 800, **MOTOR), runs={"saw": "10:00"}))
    ten = 10 * HOUR_MS

    assert [[one.starting for one in inspection.at(ten + after).draws] for after in (-1, 0, 599, 600)] == [
        [], [True], [True], [False]
    ]  # fmt: skip
    assert inspection.at(ten + 599).total_va == pytest.approx(3000)
    assert inspection.at(ten + 599).worst_va == pytest.approx(1000)
    assert inspection.at(ten + 599).total_w == pytest.approx(1500)
    assert inspection.at(ten + 600).total_va == pytest.approx(1000)
    assert next_event(inspection.events_ms, ten) == ten + 600


def test_a_start_that_may_come_takes_from_the_room() -> None:
    """9000 VA less the 3000 of a fridge that may come on any moment; 4000 W less its 150."""
    moment = inspected(house(COMPRESSOR)).at(HOUR_MS)

    assert (moment.left.room_w, moment.left.start_va) == pytest.approx((3850, 6000))
    assert [(one.appliance, one.certain) for one in moment.draws] == [("fridge", False)]
    assert (moment.certain_w, moment.worst_w) == (0, 150)


def test_past_a_limit_nothing_is_left() -> None:
    """6000 W where 4000 may be drawn for hours: 2000 too many, and the limit is passed; equal to it is not."""
    oven = inspected(house(load("oven", 6000), runs={"oven": "12:00"})).at(12 * HOUR_MS)
    full = inspected(house(load("oven", 4000), runs={"oven": "12:00"})).at(12 * HOUR_MS)

    assert oven.left.room_w == pytest.approx(-2000)
    assert [one.beyond for one in oven.limits if one.id == "inverter_continuous"] == [True]
    assert [one.beyond for one in full.limits if one.id == "inverter_continuous"] == [False]


def test_each_leg_and_conductor_by_hand() -> None:
    """900 W at pf 0.8 on leg A, half of 700 and of 150 W at 0.8 on both."""
    moment = inspected(split_house()).at(10 * HOUR_MS + 10 * MINUTE_MS)
    use = {one.id: one.use for one in moment.limits}

    assert use["leg:A"] == pytest.approx((900 + 350 + 75) / 0.8)
    assert use["leg:B"] == pytest.approx((350 + 75) / 0.8)
    assert use["circuit:main"] == pytest.approx((900 + 350) / 0.8 / 120)
    assert use["circuit:left"] == pytest.approx(900 / 0.8 / 120)
    assert use["circuit:right"] == 0


def test_a_start_behind_a_cable_counts_while_it_lasts() -> None:
    """3000 VA at 230 V through 80 m of 1.5 mm2 at pf 0.5 leave less of 10 % than 100 W leave of 5 %."""
    circuits = [{"id": "shed", "cable_m": 80, "conductor_mm2": 1.5}]
    saw = load("saw", 100, circuit="shed", **MOTOR)
    inspection = inspected(house(saw, runs={"saw": "10:00"}, supply={"circuits": circuits}))
    starting, running = (inspection.at(10 * HOUR_MS + after).limit("voltage_drop:shed") for after in (0, 600))

    assert starting is not None
    assert running is not None
    along_ohm = 0.0225 * 80 / 1.5 * 0.5 + 0.08e-3 * 80 * math.sqrt(0.75)
    assert starting.limit == 10
    assert starting.use == pytest.approx(100 * 2 * 3000 / 230 * along_ohm / 230)
    assert running.limit == 5


def test_what_an_interlock_keeps_off_stands_beside() -> None:
    """Of two cyclers only the larger counts; the smaller is named with its own draw."""
    cycle = {"on_s": 60, "period_s": 120}
    ovens = load("oven", 2000, 3600, cycle=cycle), load("stove", 1500, 3600, cycle=cycle, power_factor=0.75)
    moment = inspected(
        house(*ovens, runs={"oven": "12:00", "stove": "12:00"}, interlocks=[{"of": ["oven", "stove"]}])
    ).at(12 * HOUR_MS)

    assert [one.appliance for one in moment.draws] == ["oven"]
    assert [(one.appliance, one.run, one.certain, one.w, one.va) for one in moment.left_out] == [
        ("stove", "run-stove", False, 1500, 2000)
    ]


def test_the_kettle_may_be_on_until_the_hob_boils() -> None:
    """On the demo's ordinary day: yes until 18:15, not until 18:23, yes for the rest of the day."""
    inspection = inspected(json.loads(demo_text()), "ordinary")
    boils, done = (18 * 60 + 15) * MINUTE_MS, (18 * 60 + 23) * MINUTE_MS

    before, now, last, after = (inspection.at(at_ms).may_start[0] for at_ms in (boils - 1, boils, done - 1, done))
    assert (before.appliance, before.allowed, before.until_ms) == ("kettle", True, boils)
    assert (now.allowed, now.until_ms) == (last.allowed, last.until_ms) == (False, done)
    assert now.limit == before.limit == inspection.assessment.any_time[0].not_then[0].limit
    assert (after.allowed, after.until_ms, after.limit) == (True, None, None)
    assert after.lasts_ms == 180_000


@pytest.mark.parametrize(("date", "hours"), [("2026-03-29", 35), ("2026-05-12", 36), ("2026-10-25", 37)])
def test_a_day_of_any_length_to_its_last_millisecond(date: str, hours: int) -> None:
    """Until noon of the next day, 35, 36 or 37 h; an instant outside is the nearest inside."""
    inspection = inspected(
        house(steady("base", 100), load("saw", 800, **MOTOR), runs={"saw": "03:00"}, day={"date": date})
    )
    last = inspection.at(hours * HOUR_MS - 1)

    assert inspection.at(hours * HOUR_MS) == inspection.at(10**9) == last
    assert inspection.at(-5) == inspection.at(0)
    assert last.total_w == 100
    at_three = (hours - 36 + 3) * HOUR_MS
    assert at_three in inspection.events_ms
    assert inspection.at(at_three).total_w == pytest.approx(1600)


def test_stepping_from_event_to_event() -> None:
    """Nothing before the first, nothing after the last; a step always moves."""
    inspection = inspected(house(load("saw", 800, 3600, **MOTOR), runs={"saw": "10:00"}))
    ten = 10 * HOUR_MS
    events_ms = events(inspection.assessment)

    assert events_ms.tolist() == [0, ten, ten + 600, ten + HOUR_MS]
    assert np.array_equal(events_ms, inspection.events_ms)
    assert [previous_event(events_ms, at_ms) for at_ms in (0, 1, ten, ten + 1)] == [None, 0, 0, ten]
    assert [next_event(events_ms, at_ms) for at_ms in (0, ten - 1, ten, ten + HOUR_MS)] == [ten, ten, ten + 600, None]
