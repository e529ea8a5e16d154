"""What may be switched on this minute: one rule at a time."""

import json
from typing import Any

import pytest

from app.engine.answers import MaySwitch
from app.engine.switching import Switching, switching
from app.household.demo import demo_text
from tests.engine.generator_truth import with_run
from tests.engine.home import Document, house, load, steady
from tests.engine.test_moment import HOUR_MS, MINUTE_MS, inspected

NOON = 12 * HOUR_MS
QUICK = {"overload": [[6000, 300], [9000, 5]]}  # five minutes above the rating
OVEN = load("oven", 3000, 3600)
HOB = load("hob", 2500, 600)


def asked(document: Document, at_ms: int = NOON) -> Switching:
    """The answers for the first plan."""
    return switching(inspected(document), at_ms)


def may(document: Document, appliance: str, at_ms: int = NOON) -> MaySwitch:
    """The answer for one appliance."""
    return next(one for one in asked(document, at_ms).may if one.appliance == appliance)


def test_with_nothing_on_it_goes_all_day() -> None:
    """No limit decides, and nothing changes that."""
    found = may(house(HOB), "hob")

    assert (found.answer, found.limit, found.until_ms, found.because) == ("go", None, None, None)
    assert found.lasts_ms == 10 * MINUTE_MS
    assert not found.alone_too_much


def test_it_goes_until_the_oven_would_come_on_meanwhile() -> None:
    """Ten minutes of hob must be over before the oven's hour begins."""
    found = may(house(OVEN, HOB, runs={"oven": "14:00"}, inverter=QUICK), "hob")

    assert (found.answer, found.then) == ("go", "ask")
    assert found.until_ms == 14 * HOUR_MS - 10 * MINUTE_MS
    assert found.because == "oven"


def test_not_now_until_the_time_above_is_short_enough() -> None:
    """5500 W on 4000 W for ten minutes, where five are allowed: five minutes before the oven is off it may be asked."""
    found = may(house(OVEN, HOB, runs={"oven": "11:30"}, inverter=QUICK), "hob")

    assert (found.answer, found.verdict, found.limit) == ("not_now", "over", "inverter_continuous")
    assert found.use == pytest.approx(5500)
    assert (found.most, found.unit) == (pytest.approx(4000), "W")
    assert (found.because, found.then) == ("oven", "ask")
    assert found.until_ms == pytest.approx(12 * HOUR_MS + 25 * MINUTE_MS, abs=2000)


def test_the_minute_that_is_told_is_the_one_from_which_it_holds() -> None:
    """A kettle of three minutes beside an oven that ends at 10:20, where one is allowed: 10:19 to the millisecond."""
    kettle = load("kettle", 1500, 180)
    inverter = {"rated_va": 3000, "continuous_w": [[25, 3000]], "overload": [[5000, 60], [9000, 5]]}
    found = may(
        house(load("oven", 2000, 3600), kettle, runs={"oven": "09:20"}, inverter=inverter), "kettle", 10 * HOUR_MS
    )

    assert (found.answer, found.then, found.until_ms) == ("not_now", "ask", 10 * HOUR_MS + 19 * MINUTE_MS)


def test_ask_where_it_is_fine_for_a_while() -> None:
    """Half an hour is allowed: ten minutes are, until the oven is off."""
    found = may(house(OVEN, HOB, runs={"oven": "11:30"}), "hob")

    assert (found.answer, found.verdict, found.then) == ("ask", "short_time", "go")
    assert found.until_ms == 12 * HOUR_MS + 30 * MINUTE_MS


def test_ask_where_it_could_cut_out() -> None:
    """The heater comes and goes: with it the hob is too much for its hour, by chance only."""
    heater = steady("heater", 3000, cycle={"on_s": 1200, "period_s": 2400})
    found = may(house(heater, load("hob", 2500, 3600), inverter=QUICK), "hob")

    assert (found.answer, found.verdict) == ("ask", "chance")
    assert found.because == "heater"


def test_what_comes_and_goes_for_a_minute_hides_nothing_that_stays() -> None:
    """Above 6000 W one minute is allowed. Oven, heater and pump pass it for 50 s; with 600 W no pump is needed.

    Were the pump on all the while, the minute would be passed without them too.
    """
    heater = steady("heater", 2000, cycle={"on_s": 1200, "period_s": 2400})
    pump = steady("pump", 1000, cycle={"on_s": 50, "period_s": 1200})
    unsure = load("unsure", 100, 60, uncertainty=0.25)  # what is off makes nothing else uncertain
    others, inverter = (load("oven", 3500, 1200), heater, pump, unsure), {"overload": [[6000, 1800], [9000, 60]]}
    found, smaller = (
        may(house(*others, load("fan", watts, 1200), runs={"oven": "12:00"}, inverter=inverter), "fan")
        for watts in (600, 400)
    )

    assert (found.answer, found.verdict) == ("ask", "chance")
    assert (smaller.answer, smaller.verdict) == ("ask", "short_time")


def test_what_comes_for_a_moment_is_not_above_all_the_while() -> None:
    """Only with the pump, for 40 s of each 400 s, are 4000 W passed: forty seconds of the half hour that is allowed.

    Two heaters, of which both are needed: a quarter of an hour.
    """
    pump = steady("pump", 900, cycle={"on_s": 40, "period_s": 400})
    twice = [steady(name, 1200, cycle={"on_s": 900, "period_s": 3600}) for name in ("one", "other")]
    fan = may(house(steady("base", 2000), pump, load("fan", 1500, 2400)), "fan")
    oven = may(house(*twice, load("oven", 2200, 2400)), "oven")

    assert [(one.answer, one.verdict) for one in (fan, oven)] == [("ask", "short_time")] * 2
    assert [(one.above_s, one.allowed_s) for one in (fan, oven)] == [(40, 1800), (900, 1800)]


def test_the_first_moment_at_which_it_could_cut_out_is_told() -> None:
    """Five seconds after washer, kettle and bread oven come together; what is too much at once comes later."""
    inspection = inspected(json.loads(demo_text()), "laundry")
    at_ms = 10 * HOUR_MS + 12 * MINUTE_MS
    with_it = with_run(inspection, "bread-oven", at_ms)
    assert with_it is not None
    reading = with_it[1].limit("inverter_overload")
    found = next(one for one in switching(inspection, at_ms).may if one.appliance == "bread-oven")

    assert reading is not None
    assert reading.heat is not None
    assert (found.verdict, found.limit, found.at_ms) == ("chance", "inverter_overload", reading.heat.trips_at_ms)


def test_what_needs_fewer_with_it_could_cut_out() -> None:
    """Four rings of 1500 W, 50 s of 300 s: above 6000 W a minute is allowed, and three of them seldom are on together.

    With a fan two are enough, one pair after another.
    """
    rings = [steady(f"ring {turn}", 1500, cycle={"on_s": 50, "period_s": 300}) for turn in range(4)]
    inverter = {"continuous_w": [[25, 4500]], "overload": [[6000, 1800], [10000, 60]]}
    found = may(house(steady("base", 2000), *rings, load("fan", 1200, 1200), inverter=inverter), "fan")

    assert (found.answer, found.verdict) == ("ask", "chance")


def test_what_an_interlock_lets_on_is_no_less_beside_what_draws_reactive_power() -> None:
    """A motor of 700 W and a heater of 1200 W never at once: of the two the heater draws more, but not beside a pump.

    Motor and pump come to 5200 VA where 5000 are rated, for 2100 s where 1800 are allowed.
    """
    on = {"on_s": 2100, "period_s": 2400}
    motor, heater = steady("motor", 700, power_factor=0.45, cycle=on), steady("heater", 1200, cycle=on)
    inverter = {"continuous_w": [[25, 4500]], "overload": [[6000, 1800], [7500, 60]]}
    pump = load("pump", 1200, power_factor=0.5)
    document = house(
        steady("base", 2000), motor, heater, pump, inverter=inverter,
        interlocks=[{"of": ["motor", "heater"], "at_most": 1}],
    )  # fmt: skip

    assert (may(document, "pump").answer, may(document, "pump").verdict) == ("ask", "chance")


def test_a_breaker_is_not_to_be_talked_down() -> None:
    """Above it for a second is too much, whoever comes and goes; it says amperes."""
    heater = steady("heater", 1500, circuit="shed", cycle={"on_s": 60, "period_s": 600})
    found = may(
        house(heater, load("saw", 1500, 600, circuit="shed"), supply={"circuits": [{"id": "shed", "breaker_a": 10}]}),
        "saw",
    )

    assert (found.answer, found.limit, found.unit, found.most) == ("not_now", "circuit:shed", "A", 10)
    assert found.use == pytest.approx(3000 / 230)
    assert (found.until_ms, found.then) == (None, None)
    assert not found.alone_too_much


@pytest.mark.parametrize("interlocks", [[], [{"of": ["saw", "planer"], "at_most": 1}]], ids=["free", "interlocked"])
@pytest.mark.parametrize("top_va", [2100, 2400, 2600])
def test_a_start_may_be_larger_beside_what_lags_though_something_leads(top_va: int, interlocks: list[Any]) -> None:
    """The same start under the inverter's top: as the assessment of the plan with the run in it has it, 2670 VA.

    Without the run the leading side counts, and the start comes to 1849 VA.
    """

    def yard(runs: dict[str, str]) -> Document:
        cycle = {"on_s": 600, "period_s": 1800}
        return house(
            steady("base", 400),
            steady("lead", 60, power_factor=0.1, power_factor_kind="leading", cycle=cycle),
            steady("lag", 44, power_factor=0.1, cycle=cycle),
            steady(
                "motor", 20, power_factor=0.25, cycle=cycle,
                start={"va": 1860, "power_factor": 0.6, "duration_s": 2},
            ),
            load("saw", 150, 600, power_factor=0.9),
            load("planer", 100, 600),
            interlocks=interlocks,
            inverter={
                "rated_va": 1200, "continuous_w": [[25, 1100], [40, 1000]], "overload": [[1500, 1800], [top_va, 5]],
            },
            runs=runs,
        )  # fmt: skip

    with_run = inspected(yard({"saw": "12:00"})).assessment.limit("inverter_overload")
    assert with_run is not None
    assert with_run.use == pytest.approx(2670, abs=1)

    asked_about = may(yard({}), "saw")
    assert (asked_about.answer, asked_about.verdict, asked_about.limit) == ("ask", "chance", "inverter_overload")


@pytest.mark.parametrize("conductor_mm2", [25, 50, 70])
def test_a_start_may_lose_more_beside_what_lags_though_something_leads(conductor_mm2: int) -> None:
    """A motor starts beside a load that leads by more: what it takes in volt-amperes is little until the guest is on.

    With the guest the lagging side counts. The cable is as long as makes that start 2 % too much, as the assessment of
    the plan with the run in it has it; without the start it is not too much.
    """

    def yard(cable_m: float, runs: dict[str, str]) -> Document:
        cycle = {"on_s": 600, "period_s": 1800}
        return house(
            steady("base", 400, circuit="barn"),
            steady("lead", 60, power_factor=0.1, power_factor_kind="leading", circuit="barn", cycle=cycle),
            steady("lag", 44, power_factor=0.1, circuit="barn", cycle=cycle),
            steady(
                "motor", 20, power_factor=0.25, circuit="barn", cycle=cycle,
                start={"va": 1860, "power_factor": 0.6, "duration_s": 2},
            ),
            load("saw", 150, 600, power_factor=0.9, circuit="barn"),
            supply={"circuits": [{"id": "barn", "cable_m": cable_m, "conductor_mm2": conductor_mm2}]},
            runs=runs,
        )  # fmt: skip

    def starting_percent(cable_m: float) -> float:
        reading = inspected(yard(cable_m, {"saw": "12:00"})).assessment.limit("voltage_drop:barn")
        assert reading is not None
        assert reading.drop is not None
        return reading.drop.starting_percent

    cable_m = 100 * 10.2 / starting_percent(100)
    assert starting_percent(cable_m) > 10

    refused = may(yard(cable_m, {}), "saw")
    assert (refused.answer, refused.limit) == ("not_now", "voltage_drop:barn")


@pytest.mark.parametrize(
    "kiln",
    [
        load("kiln", 9500, 60),
        load("kiln", 4500, 3600 * 2),
        load("kiln", 3000, 60, circuit="shed"),
        load("kiln", 300, 60, start={"va": 9500, "power_factor": 0.5, "duration_s": 1.0}),
        load("kiln", 2000, 60, circuit="field"),
        load("kiln", 300, 60, circuit="field", start={"va": 8000, "power_factor": 0.9, "duration_s": 1.0}),
    ],
)
def test_what_is_too_much_alone_is_said_so(kiln: Document) -> None:
    """Above the top, above the rating for too long, above its breaker, by its start, or on a thin cable."""
    field = {"id": "field", "breaker_a": 40, "cable_m": 80, "conductor_mm2": 1.5}
    found = may(house(kiln, steady("base", 10), supply={"circuits": [{"id": "shed", "breaker_a": 10}, field]}), "kiln")

    assert (found.answer, found.alone_too_much, found.because, found.until_ms) == ("not_now", True, None, None)


@pytest.mark.parametrize(
    "saw",
    [
        load("saw", 9500, 1800, cycle={"on_s": 10, "period_s": 60}),
        load("saw", 900, 1800, cycle={"on_s": 10, "period_s": 60},
             start={"va": 9500, "power_factor": 0.5, "duration_s": 1.0}),
    ],
)  # fmt: skip
def test_what_is_too_much_alone_in_bursts_is_no_question(saw: Document) -> None:
    """It trips the inverter in its first minute, whatever else is off."""
    found = may(house(saw), "saw")

    assert (found.answer, found.alone_too_much, found.until_ms) == ("not_now", True, None)


def test_a_motor_is_judged_by_its_start() -> None:
    """300 W running, 6000 VA for three seconds on top of the oven: above 8000 for longer than allowed."""
    motor = load("motor", 300, 60, start={"va": 6000, "power_factor": 0.9, "duration_s": 3.0})
    found = may(house(OVEN, motor, runs={"oven": "11:30"}, inverter={"overload": [[6000, 300], [8000, 1]]}), "motor")

    assert (found.answer, found.limit, found.unit) == ("not_now", "inverter_overload", "VA")
    assert found.until_ms == 12 * HOUR_MS + 30 * MINUTE_MS


def test_what_it_sets_off_counts_and_lasts() -> None:
    """The saw's extractor goes on for five minutes after it, and trips the breaker with it."""
    saw = load("saw", 1500, 600, circuit="shed", sets_off=[{"appliance": "extractor", "after_s": 300}])
    document = house(
        saw, load("extractor", 1200, 600, circuit="shed"), supply={"circuits": [{"id": "shed", "breaker_a": 10}]}
    )

    assert may(document, "saw").answer == "not_now"
    assert may(document, "saw").lasts_ms == 15 * MINUTE_MS
    assert may(document, "extractor").answer == "go"


def test_an_interlock_asks_with_a_caution() -> None:
    """Nothing is too much, but a switch forbids both; once the other is off it goes."""
    document = house(
        load("stove", 300), load("iron", 300, 600), runs={"stove": "11:30"}, interlocks=[{"of": ["stove", "iron"]}]
    )
    found = may(document, "iron")

    assert (found.answer, found.limit, found.caution) == ("ask", None, "interlocked_at_once")
    assert (found.until_ms, found.then, found.because) == (12 * HOUR_MS + 30 * MINUTE_MS, "go", "stove")


def test_a_run_that_is_planned_for_later_may_come_now() -> None:
    """It is one machine: its own run at half past twelve is not counted beside it."""
    found = may(house(OVEN, runs={"oven": "12:30"}, inverter=QUICK), "oven")

    assert (found.answer, found.until_ms) == ("go", None)


def chain() -> Document:
    """A press whose planned run sets off a boiler, which is off by when the press comes on now has set it off."""
    press = {
        "id": "press", "name": "Press",
        "stages": [
            {"duration_s": 600, "watts": 400},
            {"duration_s": 2400, "watts": 900, "sets_off": [{"appliance": "boiler", "after_s": 60}]},
        ],
    }  # fmt: skip
    kettle = load("kettle", 2000, 180)
    return house(
        press, load("boiler", 1500, 1800), kettle, runs={"press": "12:20", "kettle": "12:50"},
        inverter={"overload": [[6000, 60], [9000, 5]]},
    )  # fmt: skip


def test_what_its_own_planned_run_sets_off_comes_sooner_with_it() -> None:
    """At noon its boiler runs until 12:41; that of the planned run, which would meet the kettle, does not come."""
    assert (may(chain(), "press").answer, may(chain(), "press").until_ms) == ("go", NOON + 9 * MINUTE_MS)


@pytest.mark.parametrize(("second", "answer"), [(-1, "not_now"), (0, "not_now"), (1, "go")])
def test_the_very_second_at_which_it_is_over_as_it_is_planned(second: int, answer: str) -> None:
    """Of ten minutes, and then its fan blows for five. Planned for 12:10 and begun at noon it is two runs.

    Then the fan of the one blows beside the other, 4500 W of the 4400 that go for longer than a minute.
    """
    machine = load("machine", 2000, 600, sets_off=[{"appliance": "fan", "after_s": 600}])
    document = house(
        steady("base", 2000), machine, load("fan", 500, 300), runs={"machine": "12:10"},
        inverter={"continuous_w": [[25, 4400]], "overload": [[6000, 60]]},
    )  # fmt: skip

    assert may(document, "machine", NOON + second * 1000).answer == answer


def test_its_own_planned_run_is_not_back_when_it_is_over() -> None:
    """Put on twenty minutes sooner it is too much for as long as in the plan, and not for as long again after that."""
    document = house(
        steady("base", 3000), load("oven", 1600, 1500), runs={"oven": "12:20"},
        inverter={"continuous_w": [[25, 4500]], "overload": [[6000, 1800]]},
    )  # fmt: skip
    found = may(document, "oven")

    assert (found.answer, found.verdict, found.above_s) == ("ask", "short_time", 1500)


def test_when_the_shorter_of_two_starts_is_over_the_longer_is_beside_what_runs() -> None:
    """A pump that takes 45 W in its first half second, and 400 after it, beside a fan that starts for two.

    3800 + 1000 + 45 W are less than the 5100 at which it cuts out, 3800 + 1000 + 400 are more.
    """
    start = {"va": 450, "power_factor": 0.1, "duration_s": 0.5}
    fan = {
        "id": "fan", "name": "Fan",
        "stages": [{
            "duration_s": 600, "watts": 100, "start": {"va": 1000, "power_factor": 1, "duration_s": 2},
            "sets_off": [{"appliance": "pump", "after_s": 0}],
        }],
    }  # fmt: skip
    document = house(
        steady("base", 3800), fan, load("pump", 400, 600, start=start), inverter={"overload": [[5100, 60]]}
    )  # fmt: skip

    assert (may(document, "fan").answer, may(document, "fan").limit) == ("not_now", "inverter_overload")


def test_what_an_interlock_kept_off_for_its_planned_run_is_on() -> None:
    """A press planned for later, of 2.9 kW at first, kept apart from a heater of 1.5 kW that is nearly always on.

    Put on now it draws 100 W by when the plan had it heat: the heater is on then, beside the oven, for 35 minutes.
    """
    press = {
        "id": "press", "name": "Press",
        "stages": [{"duration_s": 600, "watts": 2900}, {"duration_s": 3000, "watts": 100}],
    }  # fmt: skip
    heater = steady("heater", 1500, cycle={"on_s": 3400, "period_s": 3600})
    document = house(
        steady("base", 1700), heater, press, load("oven", 1500, 1500), runs={"press": "12:10", "oven": "12:10"},
        interlocks=[{"of": ["press", "heater"], "at_most": 1}],
        inverter={"continuous_w": [[25, 4500]], "overload": [[10000, 1800]]},
    )  # fmt: skip

    assert (may(document, "press").answer, may(document, "press").verdict) == ("ask", "chance")


def test_an_interlock_keeps_the_other_off_beside_what_is_asked_for() -> None:
    """Base and kettle 2500 W of 2600; the tank would make it 4500, but it is off while the kettle is on."""
    tank = steady("tank", 2000, cycle={"on_s": 900, "period_s": 3600})
    document = house(
        steady("base", 300), tank, load("kettle", 2200, 180), inverter={"continuous_w": [[25, 2600]]},
        interlocks=[{"of": ["tank", "kettle"], "at_most": 1}],
    )  # fmt: skip

    assert may(document, "kettle").answer == "go"
    assert may({**document, "interlocks": []}, "kettle").answer == "ask"


def test_the_other_may_be_on_in_its_stead() -> None:
    """A saw of 1 kW that sets off a blower of 300 W, and a heater of 1.5 kW is kept apart from the blower alone.

    Saw, base and heater are 5000 W of 4500, for up to 40 minutes; with the blower in place of the heater it is 3800.
    """
    heater = steady("heater", 1500, cycle={"on_s": 2400, "period_s": 3600})
    saw = load("saw", 1000, sets_off=[{"appliance": "blower", "after_s": 0}])
    document = house(
        steady("base", 2500), heater, saw, load("blower", 300, None), inverter={"continuous_w": [[25, 4500]]},
        interlocks=[{"of": ["heater", "blower"], "at_most": 1}],
    )  # fmt: skip

    assert (may(document, "saw").answer, may(document, "saw").verdict) == ("ask", "chance")


def test_the_other_is_on_for_longer_in_its_stead() -> None:
    """A saw that sets off what comes and goes for 40 s: in its stead the tank is on for twenty minutes, 5100 W of 4800.

    For ten minutes it may.
    """
    tank = steady("tank", 2000, cycle={"on_s": 1200, "period_s": 3600})
    saw = load("saw", 1300, 1800, sets_off=[{"appliance": "extract", "after_s": 0}])
    document = house(
        steady("base", 1800), tank, saw, load("extract", 1500, 1800, cycle={"on_s": 40, "period_s": 200}),
        interlocks=[{"of": ["tank", "extract"], "at_most": 1}],
        inverter={"continuous_w": [[25, 4800]], "overload": [[10000, 600]]},
    )  # fmt: skip

    assert (may(document, "saw").answer, may(document, "saw").verdict) == ("ask", "chance")


def test_what_is_kept_off_is_not_what_a_level_waits_for() -> None:
    """Base, heater and kettle are 3950 W of 3851 for eleven minutes where ten may be; the tank is off meanwhile."""
    heater = steady("heater", 1200, cycle={"on_s": 1200, "period_s": 3600})
    tank = steady("tank", 900, cycle={"on_s": 60, "period_s": 300})
    document = house(
        steady("base", 1400), heater, tank, load("kettle", 1350, 660),
        interlocks=[{"of": ["tank", "kettle"], "at_most": 1}],
        inverter={"continuous_w": [[25, 3851]], "overload": [[10000, 600]]},
    )  # fmt: skip

    assert (may(document, "kettle").answer, may(document, "kettle").verdict) == ("ask", "chance")


@pytest.mark.parametrize(("level_va", "verdict"), [(5600, "chance"), (5800, "short_time")])
def test_what_the_plan_may_do_for_a_minute_is_not_what_it_does_for_three(level_va: int, verdict: str) -> None:
    """Tank and heater pass 5600 VA for the tank's 50 s, a minute may be; kettle and heater do for three minutes.

    Tank and kettle are kept apart. Kettle and heater take 5700 VA with the base.
    """
    tank = steady("tank", 2500, cycle={"on_s": 50, "period_s": 1800})
    heater = steady("heater", 2500, cycle={"on_s": 1200, "period_s": 3600})
    document = house(
        steady("base", 1000), tank, heater, load("kettle", 2200, 180),
        interlocks=[{"of": ["tank", "kettle"], "at_most": 1}],
        inverter={"rated_va": 4500, "continuous_w": [[25, 4500]], "overload": [[level_va, 1800], [8000, 60]]},
    )  # fmt: skip

    assert (may(document, "kettle").answer, may(document, "kettle").verdict) == ("ask", verdict)


@pytest.mark.parametrize(("watering", "verdict"), [(True, "chance"), (False, "short_time")])
def test_a_pump_is_on_as_long_as_who_draws_more_says(watering: bool, verdict: str) -> None:
    """A pump for a shower passes 4000 W for a minute at a time; with the watering for eight, where four may be."""
    pump = load("pump", 1500, None)
    shower = {"id": "shower", "name": "shower", "stages": [{"duration_s": 900, "watts": 1500, "water_l": 90}]}
    water = {"id": "watering", "name": "watering", "stages": [{"duration_s": 10_800, "watts": 50, "water_l": 4860}]}
    document = house(
        steady("base", 1500), pump, shower, water, inverter={"overload": [[7000, 240]]},
        runs={"watering": "09:00"} if watering else {},
    )  # fmt: skip
    document["supply"]["water"] = {"pump": "pump", "vessel_l": 24, "pump_l_per_min": 30, "taps_l_per_day": 0}

    found = may(document, "shower", 10 * HOUR_MS)
    assert (found.answer, found.verdict) == ("ask", verdict)


def test_what_draws_nothing_itself_may_keep_the_pump_on_for_longer() -> None:
    """Taps have a pump on for 48 s, which passes 3500 W with the heater; a hose for eight minutes, and two may be."""
    hose = {"id": "hose", "name": "hose", "stages": [{"duration_s": 3600, "watts": 0, "water_l": 1620}]}
    document = house(
        steady("base", 1000), load("pump", 1500, None), hose,
        steady("heater", 1500, cycle={"on_s": 1200, "period_s": 3600}),
        inverter={"continuous_w": [[25, 3500]], "overload": [[6000, 120]]},
    )  # fmt: skip
    taps = {"taps_l_per_day": 200, "taps_between": ["06:00", "22:00"]}
    document["supply"]["water"] = {"pump": "pump", "vessel_l": 24, "pump_l_per_min": 30} | taps
    found = may(document, "hose")

    assert (found.answer, found.verdict, found.limit) == ("ask", "chance", "inverter_continuous")
    document["supply"]["inverter"]["overload"] = [[6000, 1300]]
    found = may(document, "hose")
    assert (found.answer, found.verdict) == ("ask", "short_time")


def test_what_a_cycle_sets_off_may_be_on_throughout_for_another() -> None:
    """A saw that comes and goes, and its extractor, which a planned dust run has on for half an hour.

    Base, dust run and extractor pass 4000 W with the heater, for twenty minutes of the hour, or with the saw, for 100 s
    of 150: more together than the 1300 s that may be.
    """
    calls = [{"appliance": "extract", "after_s": 0}]
    document = house(
        steady("base", 1000), steady("heater", 1500, cycle={"on_s": 1200, "period_s": 3600}),
        load("saw", 1600, 1800, cycle={"on_s": 100, "period_s": 150}, sets_off=calls), load("extract", 1500, None),
        load("dust", 200, 1800, sets_off=calls), runs={"dust": "10:00"}, inverter={"overload": [[7000, 1300]]},
    )  # fmt: skip

    found = may(document, "saw", 10 * HOUR_MS)
    assert (found.answer, found.verdict) == ("ask", "chance")


def test_what_it_sets_off_comes_and_goes_in_the_plan_too() -> None:
    """A pump that dish washer and washer share passes 6914 W with the heater for its minute, as it may.

    With the washer base, dish washer and heater do so for eleven.
    """
    pump = load("pump", 1500, None, cycle={"on_s": 60, "period_s": 3600})
    calls = [{"appliance": "pump", "after_s": 0}]
    document = house(
        steady("base", 3000), pump, steady("heater", 2500, cycle={"on_s": 1200, "period_s": 3600}),
        load("washer", 1350, 660, sets_off=calls), load("dish", 200, 10_800, sets_off=calls), runs={"dish": "11:30"},
        inverter={"rated_va": 5122, "continuous_w": [[25, 5122]], "overload": [[6914, 3600], [10_244, 60]]},
    )  # fmt: skip

    assert (may(document, "washer").answer, may(document, "washer").verdict) == ("ask", "chance")


def test_no_start_of_what_is_kept_off_trips_a_breaker() -> None:
    """A freezer's start of 5 kVA on the kettle's circuit would; while the kettle is on the freezer is off."""
    freezer = steady(
        "freezer", 150, circuit="c", cycle={"on_s": 600, "period_s": 1800},
        start={"va": 5000, "power_factor": 0.5, "duration_s": 0.4},
    )  # fmt: skip
    document = house(
        freezer, load("kettle", 2200, 180, circuit="c"), interlocks=[{"of": ["freezer", "kettle"], "at_most": 1}],
        supply={"circuits": [{"id": "c", "breaker_a": 10, "curve": "B"}]}, inverter={"overload": [[9000, 5]]},
    )  # fmt: skip

    assert may(document, "kettle").answer == "go"
    assert may({**document, "interlocks": []}, "kettle").limit == "circuit:c"


def test_by_hand_two_are_on_that_an_interlock_keeps_apart() -> None:
    """Iron and lamp are on by hand, and beside two of its members the heater may count for one."""
    heater = steady("heater", 1600, cycle={"on_s": 3000, "period_s": 3600})
    document = house(
        steady("base", 1900), heater, load("iron", 1500), load("lamp", 300), load("oven", 1000, 600),
        runs={"iron": "12:00", "oven": "12:00"}, interlocks=[{"of": ["iron", "heater", "lamp"], "at_most": 1}],
        inverter={"continuous_w": [[25, 4500]], "overload": [[10000, 1800]]},
    )  # fmt: skip

    assert (may(document, "lamp").answer, may(document, "lamp").verdict) == ("ask", "chance")


def test_a_member_that_leads_does_not_help_another_interlocks_member() -> None:
    """Filter off, heater on, and the fan: 4400 W and 2418 var that lag, 5020 VA where 5000 are rated."""
    heater = steady("heater", 1500, cycle={"on_s": 2400, "period_s": 3600})
    leads = load("filter", 100, 7200, power_factor=0.1, power_factor_kind="leading")
    document = house(
        steady("base", 2000, power_factor=0.8), heater, leads, load("fan", 900, power_factor=0.7),
        steady("lamp", 12, cycle={"on_s": 300, "period_s": 600}), runs={"filter": "11:30"},
        interlocks=[{"of": ["filter", "heater"], "at_most": 1}, {"of": ["fan", "lamp"], "at_most": 1}],
        inverter={"continuous_w": [[25, 5000]], "overload": [[10000, 1800]]},
    )  # fmt: skip

    assert (may(document, "fan").answer, may(document, "fan").verdict) == ("ask", "chance")


def test_what_has_no_length_is_taken_for_an_hour() -> None:
    """A lamp is switched off by hand."""
    assert may(house(load("lamp", 20, None)), "lamp").lasts_ms == HOUR_MS


def test_who_is_asked_about() -> None:
    """Not what is on, always on, off for the day, the pump, or what only others set off."""
    document = house(
        steady("base", 100), OVEN, HOB, load("fan", 40), load("pump", 700, 10), load("extractor", 300, None),
        load("saw", 900, 600, sets_off=[{"appliance": "extractor"}]), load("kettle", 2000, 180),
        runs={"oven": "11:30"}, any_time=["kettle"], day={"off": ["fan"]},
        supply={"water": {"pump": "pump", "vessel_l": 24, "pump_l_per_min": 30}},
    )  # fmt: skip
    found = asked(document)

    assert [one.appliance for one in found.may] == ["hob", "saw", "kettle"]
    assert [(one.appliance, one.always_on) for one in found.on] == [("oven", False), ("base", True)]


def test_what_is_on_says_until_when() -> None:
    """A washer heats for a while and washes after it; what it set off came by itself."""
    washer: dict[str, Any] = {
        "id": "washer", "name": "Washer", "stages": [
            {"name": "heat", "duration_s": 1200, "watts": 2000, "sets_off": [{"appliance": "fan"}]},
            {"name": "spin", "duration_s": 600, "watts": 300},
        ],
    }  # fmt: skip
    on = {one.appliance: one for one in asked(house(washer, load("fan", 40, None), runs={"washer": "11:50"})).on}

    assert (on["washer"].run, on["washer"].stage, on["washer"].w) == ("run-washer", "heat", 2000)
    assert on["washer"].until_ms == 12 * HOUR_MS + 10 * MINUTE_MS
    assert on["washer"].done_ms == 12 * HOUR_MS + 20 * MINUTE_MS
    assert on["washer"].certain
    assert (on["fan"].by_itself, on["washer"].by_itself) == (True, False)


def test_what_is_left() -> None:
    """4000 W less the oven's 3000 for hours; when it is off all of it is left."""
    room = asked(house(OVEN, runs={"oven": "11:30"})).room

    assert room.room_w == pytest.approx(1000)
    assert room.room_va == pytest.approx(6000)
    assert (room.until_ms, room.then_w) == (12 * HOUR_MS + 30 * MINUTE_MS, pytest.approx(4000))
    assert (room.because, room.begins) == ("oven", False)
    assert 0 < room.room_a < 2000 / 1.1


def test_what_is_left_shrinks_when_something_comes_on() -> None:
    """The oven at two."""
    room = asked(house(OVEN, runs={"oven": "14:00"})).room

    assert (room.until_ms, room.then_w) == (14 * HOUR_MS, pytest.approx(1000))
    assert (room.because, room.begins) == ("oven", True)


def test_hours_to_the_reserve() -> None:
    """A steady 1000 W empties 10 x 280 Ah at 51.2 V from full to 20 %: some hundred hours, more than a day."""
    small = {"modules": 1, "reserve": 0.2}
    day = {"start_state_of_charge": 1.0}
    found = asked(house(steady("base", 1000), battery=small, day=day), 1).room.to_reserve_h

    assert found is not None
    assert 9 < found < 0.8 * 280 * 53 / 1000
    assert asked(house(steady("base", 100), day=day), 1).room.to_reserve_h is None


def test_an_instant_outside_the_day_is_the_nearest_inside() -> None:
    """Before midnight, and after the horizon."""
    inspection = inspected(house(OVEN, runs={"oven": "00:00"}))

    assert switching(inspection, -5).at_ms == 0
    assert switching(inspection, 10**9).at_ms == inspection.assessment.horizon_ms - 1


def test_switching_off_what_the_plan_has_on_makes_room() -> None:
    """Without the oven's run the hob goes; that run's machine is then asked about like any other."""
    document = house(OVEN, HOB, runs={"oven": "11:30"}, inverter=QUICK)
    document["scenarios"][0]["runs"][0]["on"] = False

    assert {one.appliance: one.answer for one in asked(document).may} == {"oven": "go", "hob": "go"}


def test_two_alike_get_the_same_answer() -> None:
    """To the last digit."""
    first, second = asked(house(OVEN, load("one", 1500, 600), load("two", 1500, 600), runs={"oven": "11:30"})).may

    assert first._replace(appliance="two") == second


def test_the_demo_while_the_bread_bakes() -> None:
    """The hob is on the same breaker as the oven; nearly all else is fine for a while."""
    found = {one.appliance: one for one in switching(inspected(json.loads(demo_text())), 9 * HOUR_MS).may}

    assert (found["hob"].answer, found["hob"].limit) == ("not_now", "circuit:cooker")
    assert (found["kettle"].answer, found["kettle"].because) == ("ask", "bread-oven")
    assert found["television"].answer == "go"


def test_what_an_interlock_lets_on_does_not_help_what_leads() -> None:
    """Lamp and drive make 2080 W and 1840 var that lead: 12 A on a breaker of 11, while the motor that lags is off."""
    motor = steady("motor", 200, circuit="c", power_factor=0.108, cycle={"on_s": 60, "period_s": 600})
    other = steady("other", 100, circuit="c", cycle={"on_s": 60, "period_s": 600})
    drive = load("drive", 1380, 600, circuit="c", power_factor=0.6, power_factor_kind="leading")
    document = house(motor, other, steady("lamp", 700, circuit="c"), drive,
                     supply={"circuits": [{"id": "c", "breaker_a": 11}]},
                     interlocks=[{"of": ["motor", "other"], "at_most": 1}])  # fmt: skip
    found = may(document, "drive")

    assert (found.answer, found.limit) == ("not_now", "circuit:c")


@pytest.mark.parametrize("hour", range(0, 24, 3))
def test_a_circuit_fed_from_another_on_which_a_guest_has_its_own_run_ahead(hour: int) -> None:
    """The washer's later run is on the feeder alone: what both parts lose is added all the same."""
    document = json.loads(demo_text())
    circuits = {one["id"]: one for one in document["supply"]["circuits"]}
    circuits["utility"]["cable_m"], circuits["shed"]["cable_m"] = 60, 90
    circuits["shed"]["fed_from"] = "utility"
    next(one for one in document["appliances"] if one["id"] == "vacuum")["circuit"] = "shed"
    document["scenarios"] = [one for one in document["scenarios"] if one["id"] == "laundry"]

    assert may(document, "vacuum", hour * HOUR_MS).answer in ("go", "ask", "not_now")


@pytest.mark.parametrize(("cable_m", "answer"), [(150, "go"), (400, "not_now")])
def test_both_legs_of_a_feeder_where_a_guest_has_its_own_run_ahead_on_one(cable_m: int, answer: str) -> None:
    """The kiln's later run is on leg A alone: the kettle, on both, loses on either what it loses beside it."""
    circuits = [
        {"id": "main", "leg": "AB", "cable_m": 60, "conductor_mm2": 6},
        {"id": "barn", "leg": "A", "fed_from": "main"},
        {"id": "shed", "leg": "AB", "fed_from": "main", "cable_m": cable_m, "conductor_mm2": 6},
    ]
    kiln, kettle = load("kiln", 400, circuit="barn"), load("kettle", 1000, 600, circuit="shed")
    two_legs: Document = {"inverter": {"ac_voltage": 240, "legs": 2}, "supply": {"circuits": circuits}}
    found = asked(house(kiln, kettle, runs={"kiln": "12:02"}, **two_legs), NOON - MINUTE_MS).may

    assert {one.appliance: one.answer for one in found} == {"kiln": "go", "kettle": answer}


def test_what_fits_for_less_than_a_minute_is_answered_as_it_is_after() -> None:
    """The oven comes at noon: half a minute before its last chance the hob waits, a minute before it goes."""
    document = house(OVEN, HOB, runs={"oven": "12:10"})
    until_ms = may(document, "hob", 11 * HOUR_MS).until_ms
    assert until_ms is not None

    assert may(document, "hob", until_ms - 2 * MINUTE_MS).answer == "go"
    late, after = (may(document, "hob", at_ms) for at_ms in (until_ms - MINUTE_MS // 2, until_ms + MINUTE_MS))
    assert late.answer == after.answer != "go"
    assert (late.limit, late.because, late.until_ms) == (after.limit, after.because, after.until_ms)


def test_a_power_cut_is_no_reason_where_something_else_is() -> None:
    """A pump's start beside the saw's may be too much, and so would be both after a cut: the first is told."""
    pump = steady(
        "pump", 900, cycle={"on_s": 60, "period_s": 3600}, start={"va": 4500, "power_factor": 0.5, "duration_s": 0.5}
    )
    saw = load("saw", 2500, 600, power_factor=0.6, start={"va": 5500, "power_factor": 0.5, "duration_s": 0.5})
    found = may(house(pump, saw, inverter={"overload": [[6000, 300], [8000, 5]]}), "saw")

    assert (found.answer, found.limit) == ("ask", "inverter_overload")

    # Fine for half an hour beside the heater, which could be too much for the restart: the half hour is told.
    cycle = {"on_s": 60, "period_s": 3600}
    kick = {"va": 3000, "power_factor": 1.0, "duration_s": 0.1}
    motors = [steady(name, 10, cycle=cycle, start=kick, after_cut="starts") for name in ("fridge", "freezer")]
    heater = steady("heater", 2500, cycle=cycle, after_cut="starts")
    found = may(house(heater, *motors, load("hob", 2000, 60, after_cut="starts")), "hob")
    assert (found.answer, found.verdict, found.limit) == ("ask", "short_time", "inverter_continuous")


KICK = {"va": 9000, "power_factor": 0.9, "duration_s": 0.4}  # pulls the bank below the cut-off for as long
WEAK = {"module_resistance_ohm": 0.3, "peak_discharge_a": 4000, "continuous_discharge_a": 2000}


def with_dips(runs: dict[str, str], before_s: float) -> Document:
    """A planned machine that starts so long after it is switched on, and the saw; the inverter waits for 0.6 s."""
    stages = [{"duration_s": before_s, "watts": 10}, {"duration_s": 60, "watts": 100, "start": KICK}]
    planned = {"id": "planned", "name": "Planned", "stages": stages}
    kiln = load("kiln", 9000, 5)
    inverter = {"overload": [[20000, 300], [30000, 5]], "cut_off_v": 46, "cut_off_delay_s": 0.6}
    return house(planned, load("saw", 100, 60, start=KICK), kiln, runs=runs, inverter=inverter, battery=WEAK)


@pytest.mark.parametrize(
    ("runs", "before_s", "answer"),
    [
        ({}, 0.4, "go"),  # 0.4 s by itself
        ({"planned": "12:00"}, 0.4, "not_now"),  # the planned start follows on it
        ({"planned": "11:59:59"}, 0.6, "not_now"),  # it follows on the planned one
        ({"planned": "11:59:58"}, 0.6, "go"),  # a second apart
        ({"kiln": "20:00"}, 0.4, "go"),  # the voltage is down in the evening, for five seconds
        ({"planned": "12:00", "kiln": "20:00"}, 0.4, "not_now"),
    ],
)
def test_dips_that_follow_on_one_another_are_one(runs: dict[str, str], before_s: float, answer: str) -> None:
    """Two of 0.4 s, each shorter than the inverter waits, are 0.8 s between them."""
    found = may(with_dips(runs, before_s), "saw")

    assert found.answer == answer
    if answer == "not_now":
        assert (found.limit, found.unit) == ("battery_voltage", "V")
        assert found.use is not None
        assert found.use < 46


@pytest.mark.parametrize(("at", "answer"), [(NOON + 30 * MINUTE_MS, "not_now"), (NOON + 90 * MINUTE_MS, "go")])
def test_a_start_makes_worse_what_certain_draws_break(at: int, answer: str) -> None:
    """Without any watts of its own: while a kiln is on for longer than it may, and not once that is cold again."""
    motor = load("motor", 0, 60, start={"va": 2000, "power_factor": 0.5, "duration_s": 0.4})
    document = house(load("kiln", 4600, 3600), motor, runs={"kiln": "12:00"}, inverter={"overload": [[9000, 300]]})

    assert may(document, "motor", at).answer == answer


def test_what_fills_a_store_for_sure_breaks_both_of_its_levels() -> None:
    """The drive's volt-amperes are too many for too long; the pump makes them fewer, and the watts too many as well."""
    drive = load("drive", 1100, power_factor=0.2, power_factor_kind="leading")
    pump = load("pump", 1200, 1200, power_factor=0.8)
    document = house(steady("heater", 2000), drive, pump, runs={"drive": "12:00"})
    found = may(document, "pump", NOON + 40 * MINUTE_MS)
    with_it = with_run(inspected(document), "pump", NOON + 40 * MINUTE_MS)

    assert (found.answer, found.verdict, found.limit) == ("not_now", "over", "inverter_continuous")
    assert with_it is not None
    reading = with_it[1].limit("inverter_continuous")
    assert reading is not None
    assert reading.verdict == "over"


@pytest.mark.parametrize(("kiln_at", "answer"), [("18:00", "ask"), ("07:00", "ask"), ("12:02", "not_now")])
def test_what_is_broken_at_another_hour_is_no_reason(kiln_at: str, answer: str) -> None:
    """A heater that comes and goes could be too much with the hob: that, and no more, beside a kiln at other hours."""
    heater = steady("heater", 3000, cycle={"on_s": 1200, "period_s": 2400})
    document = house(
        heater, load("hob", 2500, 3600), load("kiln", 9900, 60), runs={"kiln": kiln_at}, inverter=QUICK
    )  # fmt: skip

    assert may(document, "hob").answer == answer


def test_until_knows_of_dips_that_follow_on_one_another() -> None:
    """Two planned starts of 0.4 s at 12:05 dip only beside the hob: it may be over by then, or begin once they are."""
    kick = {"va": 7250, "power_factor": 0.9, "duration_s": 0.4}
    stages = [{"duration_s": 0.4, "watts": 10, "start": kick}, {"duration_s": 60, "watts": 100, "start": kick}]
    inverter = {"overload": [[20000, 300], [30000, 5]], "cut_off_v": 46, "cut_off_delay_s": 0.6}
    document = house(
        {"id": "planned", "name": "Planned", "stages": stages}, load("hob", 1000, 240), runs={"planned": "12:05"},
        inverter=inverter, battery=WEAK,
    )  # fmt: skip
    early, between, late = (may(document, "hob", NOON + minutes * MINUTE_MS) for minutes in (-5, 2, 6))

    assert (early.answer, early.then) == ("go", "not_now")
    assert early.until_ms == pytest.approx(NOON + MINUTE_MS, abs=1000)
    assert (between.answer, between.limit, between.then) == ("not_now", "battery_voltage", "go")
    assert between.until_ms == pytest.approx(NOON + 5 * MINUTE_MS, abs=1000)
    assert (late.answer, late.until_ms) == ("go", None)


def test_not_now_ends_though_it_never_fits() -> None:
    """Beside the oven the kettle is on for too long for sure; after it it could cut out all day: ask, and from when."""
    boiler = steady("boiler", 2500, cycle={"on_s": 600, "period_s": 2400})
    document = house(
        boiler, load("oven", 2500, 1200), load("kettle", 2000, 400), runs={"oven": "12:00"}, inverter=QUICK
    )  # fmt: skip
    found, later = (may(document, "kettle", NOON + minutes * MINUTE_MS) for minutes in (5, 21))

    assert (later.answer, later.verdict) == ("ask", "chance")
    assert (found.answer, found.then) == ("not_now", "ask")
    assert found.until_ms == pytest.approx(NOON + 15 * MINUTE_MS, abs=1000)  # five of its minutes beside the oven


def test_not_now_ends_though_it_is_always_above_for_a_while() -> None:
    """Hob and oven are each above for ten of fifteen minutes: five of them must be in common, or none near."""
    inverter = {"rated_va": 2500, "continuous_w": [[25, 2500]], "overload": [[9000, 900], [10000, 5]]}
    boiler = steady("boiler", 400, cycle={"on_s": 1200, "period_s": 2400})
    document = house(
        boiler, load("oven", 2600, 600), load("hob", 2600, 600), runs={"oven": "12:00"}, inverter=inverter
    )  # fmt: skip
    before, after = (may(document, "hob", NOON + minutes * MINUTE_MS) for minutes in (-8, 10))

    assert [(one.answer, one.then) for one in (before, after)] == [("not_now", "ask")] * 2
    assert before.until_ms == pytest.approx(NOON - 5 * MINUTE_MS, abs=1000)
    assert after.until_ms == pytest.approx(NOON + 15 * MINUTE_MS, abs=1000)  # it cools as fast as it fills


TEN = 10 * HOUR_MS
AT_FIVE_PAST = TEN + 5 * MINUTE_MS


def test_not_now_ends_where_it_is_better_for_some_minutes_in_between() -> None:
    """Above the rating for at most 200 s: ten minutes between two ovens, a hob of 700 s that ends in the second one.

    Begun 200 s before the first one is off, it is above for these 200, and not beside the second at all.
    """
    ovens = [load(name, 2500, lasts_s) for name, lasts_s in (("oven", 1200), ("grill", 1500))]
    runs = {"oven": "10:00", "grill": "10:30"}
    document = house(*ovens, load("hob", 2500, 700), runs=runs, inverter={"overload": [[6000, 200]]})
    found = may(document, "hob", AT_FIVE_PAST)

    assert (found.answer, found.then) == ("not_now", "ask")
    assert found.until_ms == pytest.approx(TEN + 20 * MINUTE_MS - 200_000, abs=1000)


def test_not_now_ends_as_it_gets_cooler() -> None:
    """3400 W in the heat of ten o'clock, 4000 W in the cool of eleven: 3700 W half an hour after ten.

    An hour's heater of 3700 W may be above for 20 min, and so begin 20 min before that.
    """
    document = house(
        load("heater", 3700, 3600),
        inverter={"overload": [[6000, 1200]], "room_offset_k": 0},
        day={"ambient_c": [[10, 40], [11, 25]]},
    )
    found = may(document, "heater", TEN)

    assert (found.answer, found.then) == ("not_now", "ask")
    assert found.until_ms == pytest.approx(TEN + 10 * MINUTE_MS, abs=1000)


def test_of_what_refuses_what_comes_first_is_told() -> None:
    """Above 6000 W for five seconds, long before it is above 4000 W for half an hour."""
    document = house(load("oven", 2500, 7200), load("hob", 3600, 2400), runs={"oven": "10:00"})
    found = may(document, "hob", TEN)

    assert (found.answer, found.limit, found.most) == ("not_now", "inverter_overload", pytest.approx(6000))
    assert found.at_ms == pytest.approx(TEN + 5000, abs=1)


def test_what_is_asked_about_says_when_it_is_refused() -> None:
    """Beside a heater that comes and goes it could cut out; beside the oven it does, from five minutes of both on."""
    heater = steady("heater", 2000, cycle={"on_s": 900, "period_s": 3600})
    document = house(heater, HOB, load("oven", 2500, 3600), runs={"oven": "11:00"}, inverter=QUICK)
    found = may(document, "hob", TEN)

    assert (found.answer, found.then) == ("ask", "not_now")
    assert found.until_ms == pytest.approx(11 * HOUR_MS - 5 * MINUTE_MS, abs=1000)


def test_what_is_always_on_is_nobody_who_makes_the_difference() -> None:
    """A lamp that is on day and night, and a hob that is too much of itself beside it."""
    found = may(house(steady("lamp", 60), load("hob", 3980, 3600), inverter=QUICK), "hob")

    assert (found.answer, found.because) == ("not_now", None)


def test_its_own_planned_run_comes_back_once_after_a_power_cut() -> None:
    """Planned at three, asked about at half past two: that run is this one, moved, with its start and all."""
    saw = load(
        "saw", 1600, 3600, after_cut="starts", cycle={"on_s": 60, "period_s": 300},
        start={"va": 7000, "power_factor": 0.5, "duration_s": 1.0},
    )  # fmt: skip
    document = house(saw, runs={"saw": "15:00"}, inverter={"overload": [[9000, 1800], [13000, 5]]})

    assert may(document, "saw", 14 * HOUR_MS + 30 * MINUTE_MS).answer == "go"


def test_what_is_too_much_is_told_of_the_limit_as_it_is_then() -> None:
    """From 40 degrees at ten to 25 at eleven the limit rises from 3400 to 4000 W: at 10:30 it is 3700."""
    document = house(
        load("heater", 3783, 180),
        inverter={"overload": [[6000, 1800]], "room_offset_k": 0},
        day={"ambient_c": [[10, 40], [11, 25]]},
    )
    found = may(document, "heater", 10 * HOUR_MS + 30 * MINUTE_MS)

    assert (found.answer, found.verdict) == ("ask", "short_time")
    assert (found.use, found.most) == (pytest.approx(3783), pytest.approx(3700, abs=1))


def test_how_long_a_leg_may_be_passed_counts_its_volt_amperes() -> None:
    """Leg A carries 2500 VA for hours: 16 s of heat are more than that by far, and 60 s of a spin in VA alone."""
    stages = [
        {"duration_s": 16, "watts": 3000}, {"duration_s": 600, "watts": 100},
        {"duration_s": 60, "watts": 2100, "power_factor": 0.8},
    ]  # fmt: skip
    washer = {"id": "washer", "name": "washer", "stages": stages, "circuit": "a"}
    document = house(
        washer, inverter={"legs": 2, "rated_va": 5000, "continuous_w": [[25, 5000]], "overload": [[10_000, 1200]]},
        supply={"circuits": [{"id": "a", "name": "a", "leg": "A"}]},
    )  # fmt: skip
    found = may(document, "washer")

    assert (found.verdict, found.limit, found.above_s) == ("short_time", "leg:A", 60)


def test_what_is_fine_for_a_while_is_told_of_the_level_that_comes_nearest_to_its_time() -> None:
    """7 kW for 20 s: above 4 kW half an hour is allowed, above 6 kW 30 s."""
    levels = {"rated_va": 4000, "continuous_w": [[25, 4000]], "overload": [[6000, 1800], [8000, 30]]}
    found = may(house(load("press", 7000, 20), inverter=levels), "press")
    figures = found.verdict, found.limit, found.use, found.most, found.above_s, found.allowed_s

    assert figures == ("short_time", "inverter_overload", 7000, 6000, 20, 30)


def test_what_fits_for_half_a_minute_is_not_what_comes_then() -> None:
    """The heater goes off at ten, and half a minute later an oven makes it too much for hours."""
    document = house(
        load("heater", 3900, 1800), load("oven", 2500, 900), load("fan", 2500, 3600),
        inverter={"overload": [[6000, 1800]]}, runs={"heater": "09:30", "oven": "10:00:30"},
    )  # fmt: skip
    now, at_ten = may(document, "fan", 9 * HOUR_MS + 50 * MINUTE_MS), may(document, "fan", 10 * HOUR_MS)

    assert (now.answer, now.until_ms, now.then) == ("not_now", 10 * HOUR_MS, "ask")
    assert (at_ten.answer, at_ten.verdict) == ("ask", "short_time")


def test_each_leg_says_what_it_has_left() -> None:
    """Half of the inverter each: 2000 W on one of 2500 VA, nothing on the other."""
    document = house(
        steady("heater", 2000, circuit="a"), load("hob", 500, 600, circuit="a"),
        inverter={"legs": 2, "continuous_w": [[25, 5000]]},
        supply={"circuits": [{"id": "a", "name": "a", "leg": "A"}]},
    )  # fmt: skip

    assert dict(asked(document).room.legs_w) == {"A": pytest.approx(500), "B": pytest.approx(2500)}
    assert asked(house(HOB)).room.legs_w == ()
