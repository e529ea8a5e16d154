"""Room to grow: what is told of an hour is what the engine says of the plan with that really added."""

import json
import random
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given

from app.engine.assess import assess
from app.engine.day import lay_day
from app.engine.moment import Inspection
from app.engine.results import LADDER
from app.household.demo import demo_text
from app.household.file import household_from
from app.household.library import entries, entry, sockets_of
from app.household.resolve import resolve
from app.planner.growth.adding import grown, starting, steady
from app.planner.growth.largest import HourRoom, hour_rooms, largest
from app.planner.growth.machines import Machine, machines
from tests.engine.home import Document, house, load
from tests.engine.home import steady as always
from tests.engine.test_moment import HOUR_MS, inspected
from tests.engine.trying import could_start
from tests.oracle.profiles import examples
from tests.oracle.strategies import households

OVEN = load("oven", 3000, 3600)
MOTOR = {"va": 4000, "power_factor": 0.5, "duration_s": 0.5}


def at(document: Document, clock: int) -> HourRoom:
    """What an hour of the first plan leaves."""
    return next(one for one in hour_rooms(inspected(document)) if one.hour.clock == clock)


@examples(16)
@given(households())
def test_the_largest_holds_and_more_breaks(household: Document) -> None:
    """Steady watts and starts, in an hour in which something happens and in another; 2 % more is too much.

    What breaks a limit on a day that breaks it anyway cannot be told from one reading of that limit.
    """
    inspection = inspected(household, household["scenarios"][-1]["id"])
    hours = hour_rooms(inspection)
    begins = [piece.begin_ms for piece in inspection.assessment.pieces if piece.begin_ms]
    busy = [one for one in hours if any(one.hour.from_ms <= at_ms < one.hour.to_ms for at_ms in begins)]
    draw = random.Random(household["scenarios"][-1]["date"])
    for one in {draw.choice(busy or hours), draw.choice(hours)}:
        span_ms = one.hour.from_ms, one.hour.to_ms
        for make, most, limit in (
            (steady, one.steady_w, one.steady_limit),
            (starting, one.start_va, one.start_limit),
        ):
            if most > 1:
                assert grown(inspection, make(most * (1 - 1e-6)), *span_ms).holds, (one, limit)
            reading = inspection.assessment.limit(limit)
            broken = reading is not None and (reading.by_chance or reading.verdict == "over")
            if not broken and most < 90_000:
                assert not grown(inspection, make(max(1.02 * most, most + 2)), *span_ms).holds, (one, limit)


def test_hours_decides_by_watts_and_by_the_start_of_others() -> None:
    """4000 W less 3000; 9000 VA less what runs; and a motor that starts on its own meanwhile leaves less."""
    quiet = at(house(OVEN, runs={"oven": "12:00"}), 12)
    assert (quiet.steady_w, quiet.steady_limit) == (pytest.approx(1000), "inverter_continuous")
    assert quiet.start_limit == "inverter_overload"
    # 3000 W and a start of which half is watts: (3000 + S/2)^2 + 0.75 S^2 = 9000^2.
    assert quiet.start_va == pytest.approx((-3000 + (3000**2 + 4 * (9000**2 - 3000**2)) ** 0.5) / 2)

    pump = always("pump", 0, cycle={"on_s": 60, "period_s": 600}, start={**MOTOR, "va": 8900, "power_factor": 1.0})
    found = at(house(pump), 12)
    assert (found.steady_w, found.steady_limit) == (pytest.approx(100), "inverter_overload")


def test_battery_fuse_and_voltage_decide_where_they_are_the_weaker() -> None:
    """Each made the weakest in turn."""
    for changed, limit in (
        ({"dc_fuse_a": 30}, "dc_fuse"),
        ({"modules": 1, "continuous_discharge_a": 30}, "battery_continuous"),
        ({"module_resistance_ohm": 3.0}, "battery_voltage"),
    ):
        assert at(house(battery=changed, inverter={"cut_off_v": 48}), 12).steady_limit == limit


def test_an_hour_that_is_too_much_already_leaves_nothing_and_the_others_what_they_have() -> None:
    """An oven and a hob at noon are above the 4000 W; at 15:00 all of it is left."""
    document = house(OVEN, load("hob", 2500, 600), runs={"oven": "12:00", "hob": "12:10"})

    assert at(document, 12).steady_w == 0
    assert at(document, 15).steady_w == pytest.approx(4000)
    found = largest(inspected(document))
    assert found.all_day.steady_w == 0
    assert found.best is not None
    assert found.best.steady_w == pytest.approx(4000, rel=1e-5)


@pytest.mark.parametrize(
    ("date", "zone", "count"),
    [
        ("2026-03-29", "Europe/London", 23),
        ("2026-05-12", "Europe/London", 24),
        ("2026-10-25", "Europe/London", 24),
        ("2026-03-29", "Antarctica/Troll", 22),  # two hours forward at once
        ("2026-10-04", "Australia/Lord_Howe", 24),  # half an hour
    ],
)
def test_hours_are_those_of_the_clock(date: str, zone: str, count: int) -> None:
    """The hour that is left out is not there, the one that comes twice is two hours long; they fill the day."""
    site = {"latitude": 54.5, "longitude": -2.5, "timezone": zone}
    inspection = inspected(house(OVEN, day={"date": date}, site=site))
    rooms = hour_rooms(inspection)
    hours = [one.hour for one in rooms]

    assert len(hours) == count
    assert hours[0].from_ms == 0
    assert hours[-1].to_ms == inspection.assessment.day_ms
    assert all(one.to_ms == other.from_ms for one, other in pairwise(hours))
    assert any(one.to_ms - one.from_ms == 2 * HOUR_MS for one in hours) == (date == "2026-10-25")
    assert all(inspection.day.resolved.frame.local(one.from_ms).hour == one.clock for one in hours)
    assert max(one.steady_w for one in rooms) == pytest.approx(4000, rel=1e-5)
    assert largest(inspection).best is not None


def demo(plan: str, **more: Any) -> Inspection:
    """A plan of the demo, with more in its library."""
    household = household_from(json.loads(demo_text()) | more)
    return Inspection(lay_day(resolve(household, plan)), assess(household, plan))


def ready(inspection: Inspection) -> tuple[Machine, ...]:
    """The workshop's machines on a plan."""
    sockets = sockets_of(inspection.day.resolved.household.supply.inverter)
    some = [one for one in entries() if one.group == "Workshop" and not sockets.isdisjoint(one.volts)]
    return machines(inspection, some, entries())


def test_headline_figures_are_confirmed_and_cost_what_the_battery_says() -> None:
    """On an ordinary day: by day in the sun; an hour of it there takes sun that nobody uses."""
    inspection = demo("ordinary")
    found = largest(inspection)

    for span in (found.best, found.all_day):
        assert span is not None
        assert grown(inspection, steady(span.steady_w), span.from_ms, span.to_ms).holds
        assert not grown(inspection, steady(1.02 * span.steady_w), span.from_ms, span.to_ms).holds
        assert grown(inspection, starting(span.start_va), span.from_ms, span.to_ms).holds
    assert found.cost is not None
    assert found.cost.wh == pytest.approx(found.best.steady_w if found.best else 0)
    battery = inspection.assessment.battery
    assert battery is not None
    assert sum(one.spare_wh or 0 for one in found.hours) == pytest.approx(battery.totals.spare_sun_wh)
    assert 0 < found.cost.spare_wh < found.cost.wh
    # Six hours of 4 kW at night are more than the battery gives, so they are no room; three hours in the sun are.
    assert found.best is not None
    assert (found.best.below_ms, found.waking, found.short_ms) == (None, None, None)
    assert found.best.from_ms > 12 * 3_600_000


SMALL_GENERATOR = {"rated_w": 3000, "charger_w": 1500, "start_below": 0.3, "stop_above": 0.6}


def with_generator(start: float, generator: dict[str, float] | None) -> Inspection:
    """An ordinary day of the demo, begun with so much charge, beside a generator that it never needs."""
    document = json.loads(demo_text())
    ordinary = {**document["scenarios"][0], "start_state_of_charge": start}
    supply = {**document["supply"], "generator": generator}
    inspection = demo("ordinary", supply=supply, scenarios=[ordinary])
    assert inspection.assessment.battery is not None
    assert inspection.assessment.battery.generator == ()
    return inspection


def test_what_has_the_generator_run_while_too_much_is_on_does_not_fit() -> None:
    """At 40 % four kilowatts before dawn start it within half an hour, and it gives 1.5 kW beside its charger."""
    inspection = with_generator(0.4, SMALL_GENERATOR)
    found = largest(inspection)

    too_much = grown(inspection, steady(4000), 0, HOUR_MS)
    assert not too_much.holds
    assert too_much.assessment.verdict == "over"
    for span in (found.best, found.waking, found.all_day):
        assert span is not None
        with_it = grown(inspection, steady(span.steady_w), span.from_ms, span.to_ms)
        assert with_it.holds
        limit = with_it.assessment.limit("generator")
        assert limit is None or limit.verdict != "over"
        assert not grown(inspection, steady(1.02 * span.steady_w), span.from_ms, span.to_ms).holds
    assert found.all_day.steady_limit == "generator"
    decided = [one for one in found.hours if one.steady_limit == "generator"]
    assert {0, 3, 6} <= {one.hour.clock for one in decided}
    for one in found.hours:
        assert grown(inspection, steady(one.steady_w * (1 - 1e-6)), *one.hour[1:]).holds, one
        assert not grown(inspection, steady(1.02 * one.steady_w), *one.hour[1:]).holds, one
    assert found.overloaded_ms is None


def test_hours_are_told_together_as_far_as_the_generator_carries_them() -> None:
    """With more charge each hour before dawn carries all that the inverter gives, and two of them in turn do not."""
    inspection = with_generator(0.62, SMALL_GENERATOR)
    found = largest(inspection)
    night = [one for one in found.hours if one.hour.clock < 6]
    assert {one.steady_limit for one in night} == {"inverter_continuous"}

    assert not grown(inspection, steady(night[0].steady_w), 0, night[-1].hour.to_ms).holds
    assert found.best is not None
    assert 0 < found.best.to_ms - found.best.from_ms < 6 * HOUR_MS
    assert grown(inspection, steady(found.best.steady_w), found.best.from_ms, found.best.to_ms).holds


def test_a_generator_that_carries_all_of_it_leaves_the_figures_as_they_are() -> None:
    """One that is large enough starts, decides nothing, and keeps the reserve."""
    large, none = (largest(with_generator(0.4, one)) for one in ({**SMALL_GENERATOR, "rated_w": 9000}, None))

    assert large.hours == none.hours
    assert large.all_day._replace(below_ms=None) == none.all_day._replace(below_ms=None)
    assert large.best is not None
    assert large.best.from_ms == 0  # the hours before dawn, which the battery alone does not carry
    assert large.best.below_ms is None


def test_machines_that_fit_do_so_when_they_are_really_there() -> None:
    """Tried in the middle and at both ends of the hours that are told; what is too much all day is refused at noon."""
    found = ready(demo("ordinary"))
    library = json.loads(demo_text())["appliances"]
    standings = [LADDER.index(_VERDICTS[one.standing]) for one in found]
    assert standings == sorted(standings)
    told = {one.entry.id: one for one in found}
    # The band saw and its collector start together, at every cut: 13.7 kVA of 9.3.
    assert next(told[one] for one in told if one.startswith("band-saw")).standing == "chance"
    for name in ("bench-grinder", "pillar-drill", "heat-gun"):
        machine = told[next(one for one in told if one.startswith(name))]
        own = entry(machine.entry.id).appliance
        brought = [entry(one).appliance for one in machine.entry.brings]
        new = [json.loads(one.model_dump_json()) | {"id": f"x-{one.id}"} for one in (own, *brought)]
        for one in new:
            for stage in one["stages"]:
                for call in stage["sets_off"]:
                    call["appliance"] = f"x-{call['appliance']}"
        inspection = demo("ordinary", appliances=[*library, *new])
        assert machine.windows, name
        for window in (machine.windows[0], machine.windows[-1]):
            for at_ms in (window.from_ms, window.to_ms - 1000):
                trial = could_start(inspection, f"x-{machine.entry.id}", at_ms)
                assert trial.verdict in ("fits", "tight"), (name, at_ms, trial)


_VERDICTS = {"fits": "fits", "tight": "tight", "for_a_while": "short_time", "chance": "chance", "over": "over"}


def test_what_is_too_much_alone_says_so_and_an_empty_list_is_none() -> None:
    """A small inverter carries no table saw; without machines there is nothing to ask."""
    small = inspected(house(inverter={"rated_va": 1200, "continuous_w": [[25, 1000]], "overload": [[1500, 60]]}))
    saw = next(one for one in ready(small) if one.entry.id == "table-saw")

    assert saw.alone
    assert saw.against is not None
    assert saw.standing in ("chance", "over")
    assert machines(small, [], entries()) == ()
