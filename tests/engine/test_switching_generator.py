"""What may be switched on in a house with a generator, against the whole plan assessed with the run in it."""

import numpy as np
import pytest

from app.engine.answers import MaySwitch
from app.engine.assess import assess_day
from app.engine.day import lay_day
from app.engine.moment import Inspection
from app.engine.sun import known_suns
from app.engine.switching import switching
from app.household.clocks import clock_of
from app.household.replanned import free_id, replanned
from app.household.scenario import Run
from tests.engine.home import Document, house, load, steady
from tests.engine.test_moment import HOUR_MS, MINUTE_MS, inspected
from tests.engine.test_switching_agrees import MOST_STRICTER, STRICTNESS, wanted
from tests.engine.trying import could_start

OVEN, HEATER, BOILER = load("oven", 3200, 4500), load("heater", 1000, 3600), load("boiler", 1500, 7200)
GENERATOR = {"rated_w": 3000, "charger_w": 1000, "start_below": 0.3, "stop_above": 0.6}
INVERTER = {"continuous_w": [[25, 5000]], "overload": [[6000, 1800], [10000, 5]]}
TEN, ONE = 10 * HOUR_MS, 13 * HOUR_MS


def with_generator(runs: dict[str, str], **day: object) -> Document:
    """A base of 300 W and a small bank at 82 %; the generator carries 2000 W beside its charger."""
    return house(
        OVEN, HEATER, BOILER, steady("base", 300), runs=runs, supply={"generator": {**GENERATOR}}, inverter=INVERTER,
        battery={"modules": 1, "module_ah": 280, "reserve": 0.2, "module_resistance_ohm": 0.01},
        day={"start_state_of_charge": 0.82, "state_of_charge_at": "08:00", **day},
    )  # fmt: skip


def may(inspection: Inspection, appliance: str, at_ms: int) -> MaySwitch:
    """The answer for one appliance."""
    return next(one for one in switching(inspection, at_ms).may if one.appliance == appliance)


@pytest.mark.parametrize("at_ms", [TEN, ONE])
def test_it_waits_where_the_generator_would_start_into_the_oven(at_ms: int) -> None:
    """The plan's own charge lasts until the oven is off; with the heater the generator starts while it is on."""
    inspection = inspected(with_generator({"oven": "15:00"}))
    found = may(inspection, "heater", at_ms)

    assert could_start(inspection, "heater", at_ms).limit == "generator"
    assert (found.answer, found.verdict, found.limit) == ("not_now", "over", "generator")
    assert (found.use, found.most, found.unit) == (pytest.approx(4500), 3000, "W")
    assert found.at_ms is not None
    assert 15 * HOUR_MS < found.at_ms < 15 * HOUR_MS + 75 * MINUTE_MS
    assert found.until_ms is not None
    assert could_start(inspection, "heater", found.until_ms).verdict in ("fits", "tight")


@pytest.mark.parametrize("at_ms", [TEN, ONE])
@pytest.mark.parametrize("appliance", ["oven", "heater", "boiler"])
def test_a_generator_that_runs_tomorrow_is_no_reason_today(appliance: str, at_ms: int) -> None:
    """Base alone is one long stretch; the generator runs at its end only, and keeps the charge above the reserve."""
    inspection = inspected(with_generator({}))
    battery = inspection.assessment.battery
    assert battery is not None
    assert battery.generator[0].from_ms > 24 * HOUR_MS

    assert could_start(inspection, appliance, at_ms).verdict in ("fits", "tight")
    assert (may(inspection, appliance, at_ms).answer, may(inspection, appliance, at_ms).limit) == ("go", None)


def test_go_ends_when_the_generator_would_run_beside_it() -> None:
    """Until then it may be started; four minutes later no more."""
    inspection = inspected(with_generator({}))
    until_ms = may(inspection, "oven", ONE).until_ms

    assert until_ms is not None
    assert could_start(inspection, "oven", until_ms).verdict in ("fits", "tight")
    assert could_start(inspection, "oven", until_ms + 5 * MINUTE_MS).limit == "generator"


def test_without_a_generator_the_reserve_still_asks() -> None:
    """The boiler takes the charge below it tomorrow morning."""
    document = with_generator({})
    del document["supply"]["generator"]
    found = may(inspected(document), "boiler", TEN)

    assert (found.answer, found.limit) == ("ask", "reserve")


def test_a_generator_too_small_for_the_dc_side_does_not_keep_the_reserve() -> None:
    """It charges with 200 W, and 600 W are drawn on the DC side: the charge sinks on."""
    document = with_generator({})
    document["supply"]["generator"]["charger_w"] = 200
    document["supply"]["battery"]["dc_load_w"] = 600

    assert may(inspected(document), "heater", TEN).limit == "reserve"


def test_while_it_runs_it_is_the_room_there_is() -> None:
    """It carries 2000 W beside its charger, 300 W are drawn; the inverter would carry 5000 W. Told at every place."""
    document = with_generator({}, start_state_of_charge=0.3, state_of_charge_at="00:00")
    document["any_time"] = ["heater", "oven"]
    inspection = inspected(document)
    battery = inspection.assessment.battery
    assert battery is not None
    (spell, *_) = battery.generator
    assert spell.from_ms == 0
    room, then = switching(inspection, HOUR_MS).room, switching(inspection, int(spell.to_ms) + MINUTE_MS).room

    assert (room.room_w, room.by_generator) == (pytest.approx(1700, abs=40), True)
    assert room.until_ms == pytest.approx(spell.to_ms, abs=1)
    assert room.then_w == pytest.approx(4700, abs=80)
    assert then.room_w > 4000
    assert inspection.at(HOUR_MS).room_w == pytest.approx(room.room_w)
    not_then = {
        one.appliance: [(of.from_ms, of.limit) for of in one.not_then] for one in inspection.assessment.any_time
    }
    assert not_then["heater"] == []  # 1000 W
    assert (0, "generator") in not_then["oven"]
    for one in inspection.assessment.any_time:
        for of in (of for of in one.not_then if of.from_ms < 24 * HOUR_MS):
            assert could_start(inspection, one.appliance, max(of.from_ms, MINUTE_MS)).limit == of.limit


def test_an_any_time_load_is_not_allowed_while_it_would_have_the_generator_start() -> None:
    """Up to its own length before the plan has it start, and for as long before as it takes charge from the bank."""
    document = with_generator({}, start_state_of_charge=0.75, state_of_charge_at="00:00")
    document["any_time"] = ["oven"]
    inspection = inspected(document)
    battery = inspection.assessment.battery
    assert battery is not None
    starts_ms = battery.generator[0].from_ms
    (load,) = inspection.assessment.any_time
    refused = next(one for one in load.not_then if one.limit == "generator" and one.to_ms > starts_ms)

    assert 0 < refused.from_ms < starts_ms - 75 * MINUTE_MS
    for at_ms in (int(starts_ms) - 90 * MINUTE_MS, int(starts_ms) - 30 * MINUTE_MS):
        assert could_start(inspection, "oven", at_ms).limit == "generator"
    assert could_start(inspection, "oven", max(refused.from_ms - MINUTE_MS, 0)).verdict in ("fits", "tight")


def drawn(random: np.random.Generator) -> Document:
    """A house with a generator, all of it at random: how large it is, when it starts, what the bank has, what runs."""

    def between(low: int, high: int) -> int:
        return int(random.integers(low, high))

    start_below = round(float(random.uniform(0.15, 0.45)), 2)
    generator = {
        "rated_w": between(1200, 5000), "charger_w": between(200, 2500),
        "start_below": start_below, "stop_above": round(start_below + float(random.uniform(0.1, 0.4)), 2),
    }  # fmt: skip
    return house(
        load("oven", between(800, 3500), between(1200, 9000)),
        load("heater", between(300, 1800), between(1800, 20_000)),
        load("boiler", between(500, 2500), between(1800, 14_400)),
        steady("base", between(100, 600)),
        runs={"oven": f"{between(8, 20):02}:{between(0, 60):02}"} if random.random() < 0.7 else {},
        supply={"generator": generator}, inverter=INVERTER,
        battery={
            "modules": 1, "module_ah": between(150, 500), "reserve": round(start_below - 0.05, 2),
            "module_resistance_ohm": 0.01,
        },
        day={"start_state_of_charge": round(float(random.uniform(0.5, 0.95)), 2), "state_of_charge_at": "08:00"},
    )  # fmt: skip


def only_comes_sooner(inspection: Inspection, appliance: str, at_ms: int) -> bool:
    """The generator is no more overloaded with the run than by the plan itself, and at most half an hour sooner.

    Or it cannot carry beside its charger what is on all day, and whenever it runs is too much.
    """
    resolved, was = inspection.day.resolved, inspection.assessment.limit("generator")
    generator = resolved.household.supply.generator
    assert generator is not None
    clock = clock_of(resolved, at_ms)
    assert clock is not None
    if was is None or was.verdict != "over" or was.broken_at_ms is None:
        return False
    if inspection.day.house.scope.worst.use_w.min() > generator.rated_w - generator.charger_w:
        return True
    run = Run(id=free_id(resolved), appliance=appliance, start=clock)
    now = assess_day(lay_day(replanned(resolved, (*resolved.day.runs, run))), known_suns(resolved)).limit("generator")
    if now is None or now.broken_at_ms is None:
        return True
    return now.use <= was.use * (1 + 1e-9) and now.broken_at_ms >= was.broken_at_ms - 31 * MINUTE_MS


def test_random_houses_are_never_told_more_than_the_whole_plan_allows() -> None:
    """And seldom less."""
    asked = stricter = 0
    for seed in range(30):
        random = np.random.default_rng(seed)
        inspection = inspected(drawn(random))
        at_ms = int(random.integers(1, 23)) * HOUR_MS + MINUTE_MS // 2
        for one in switching(inspection, at_ms).may:
            trial = could_start(inspection, one.appliance, at_ms)
            if trial.verdict is None:
                continue
            asked += 1
            more = STRICTNESS[one.answer] - STRICTNESS[wanted(trial)]
            # What the plan does to it by itself, and only comes sooner, is nobody's doing.
            sooner = more < 0 and trial.limit == "generator" and only_comes_sooner(inspection, one.appliance, at_ms)
            assert more >= 0 or sooner, (seed, one, trial)
            stricter += more > 0

    assert asked > 60
    assert stricter <= MOST_STRICTER * asked


def test_what_the_plan_runs_it_into_anyway_only_comes_sooner() -> None:
    """A boiler that comes and goes is too much beside the charger whenever it runs; a telephone starts it no worse.

    An oven does: 3200 W more than that.
    """
    document = with_generator({}, start_state_of_charge=0.5)
    boiler = steady("immersion", 1750, cycle={"on_s": 600, "period_s": 1800})
    document["appliances"] += [boiler, load("telephone", 10, 3600)]
    inspection = inspected(document)
    reading = inspection.assessment.limit("generator")
    assert reading is not None
    assert reading.verdict == "over"

    assert may(inspection, "telephone", 9 * HOUR_MS).answer == "go"
    assert may(inspection, "oven", 9 * HOUR_MS).limit == "generator"


def test_a_moment_sooner_into_the_same_is_no_reason() -> None:
    """The plan itself runs it into the oven at three; a telephone in the morning only has it start a little sooner."""
    document = with_generator({"oven": "15:00"}, start_state_of_charge=0.52)
    document["appliances"].append(load("telephone", 10, 3600))
    inspection = inspected(document)
    reading = inspection.assessment.limit("generator")
    assert reading is not None
    assert reading.verdict == "over"

    assert may(inspection, "telephone", 9 * HOUR_MS).answer == "go"


def test_into_what_is_off_by_the_time_it_starts_is_a_reason() -> None:
    """The plan has it start after the oven, and run into another oven later; a heater has it start into the first."""
    document = with_generator({"oven": "12:00"}, start_state_of_charge=0.72)
    grill = load("grill", 3200, 1800)
    document["appliances"].append(grill)
    document["scenarios"][0]["runs"].append({"id": "grill", "appliance": "grill", "start": "15:00"})
    inspection = inspected(document)
    battery, begun = inspection.assessment.battery, 9 * HOUR_MS
    assert battery is not None
    (spell, *_) = battery.generator
    assert 13.25 * HOUR_MS < spell.from_ms < 13.75 * HOUR_MS
    assert spell.to_ms > 15.5 * HOUR_MS

    assert could_start(inspection, "heater", begun).limit == "generator"
    assert may(inspection, "heater", begun).limit == "generator"
