"""When a kettle may not be on."""

from typing import Any

from tests.engine.home import clock, house, load, steady
from tests.households import assessed

KETTLE = load("kettle", 2200, 180)


def refused(document: dict[str, Any]) -> list[tuple[str, str, str]]:
    """(from, to, limit) of the first any-time load."""
    spans = assessed({**document, "any_time": ["kettle"]})["any_time"][0]["not"]
    return [(clock(span["from"]), clock(span["to"]), span["limit"]) for span in spans]


def test_neighbouring_stretches_are_joined() -> None:
    """Above 5 kVA at any time: two stages of one oven, one stretch."""
    oven = {
        "id": "oven",
        "name": "Oven",
        "stages": [{"duration_s": 600, "watts": 3500}, {"duration_s": 600, "watts": 3400}],
    }
    found = refused(house(oven, KETTLE, runs={"oven": "12:00"}, inverter={"overload": [[5500, 1800]]}))

    assert found == [("12:00", "12:20", "inverter_overload")]


def test_more_than_half_of_a_short_time_allowance_is_not_left_to_chance() -> None:
    """180 s of 300 s above the level is more than half, 180 s of 400 s is not."""
    oven = load("oven", 2500, 3600)

    def with_allowed(seconds: float) -> list[tuple[str, str, str]]:
        return refused(house(oven, KETTLE, runs={"oven": "12:00"}, inverter={"overload": [[6000, seconds]]}))

    assert with_allowed(300) == [("12:00", "13:00", "inverter_continuous")]
    assert with_allowed(400) == []


def test_its_own_planned_run_is_left_out() -> None:
    """It is one machine: it cannot be switched on twice."""
    document = house(steady("base", 1000), KETTLE, runs={"kettle": "12:00"}, inverter={"overload": [[5500, 300]]})

    assert refused(document) == []


def test_a_stretch_ends_where_a_warm_inverter_gives_less() -> None:
    """2000 W and the kettle make 4200 W; the limit of 4300 W sinks from noon on by 300 W an hour: at 12:20."""
    document = house(
        steady("base", 2000), KETTLE, inverter={"continuous_w": [[25, 4300], [40, 3400]], "overload": [[6000, 200]]},
        day={"ambient_c": [[0, 25], [12, 25], [15, 40], [18, 25]]},
    )  # fmt: skip

    assert refused(document) == [("12:20", "17:40", "inverter_continuous")]


def test_a_breaker_refuses_it() -> None:
    """9.6 A on a B6; and what the kettle does not touch does not count."""
    kettle = load("kettle", 2200, 180, circuit="kitchen")
    circuits = [{"id": "kitchen", "breaker_a": 6}, {"id": "shed", "breaker_a": 6}]
    document = house(steady("heater", 1500, circuit="shed"), kettle, supply={"circuits": circuits})

    assert refused(document) == [("00:00", "12:00", "circuit:kitchen")]


def test_what_is_silenced_is_not_asked_about() -> None:
    """`off` holds here too."""
    document = {**house(KETTLE, day={"off": ["kettle"]}), "any_time": ["kettle"]}

    assert assessed(document)["any_time"] == []


def only(found: list[tuple[str, str, str]]) -> list[tuple[str, str]]:
    return [(begin, end) for begin, end, _ in found]


def test_a_late_cycling_stage_ends_with_its_programme() -> None:
    """300 s on, 10 off, 290 on above 4 kW: 580 s of 1800 are under half."""
    guest = {
        "id": "kettle", "name": "Kettle",
        "stages": [
            {"duration_s": 3000, "watts": 0},
            {"duration_s": 600, "watts": 1000, "cycle": {"on_s": 300, "period_s": 310}},
        ],
    }  # fmt: skip

    assert refused(house(steady("base", 3500), guest, inverter={"overload": [[6000, 1800]]})) == []


def test_stretches_end_where_the_limit_passes_what_is_left_when_a_cycle_rests() -> None:
    """3800 W of 40 minutes against a limit of 4000 to 3400 W: it passes 3800 at 01:00 and at 09:00."""
    document = house(
        steady("base", 3500), steady("fan", 600, cycle={"on_s": 60, "period_s": 600}), load("kettle", 300, 2400),
        inverter={"overload": [[6000, 1800]]}, day={"ambient_c": [[6, 25], [15, 40]]},
    )  # fmt: skip

    # From 15:00 to 06:00 the room cools by 1 K an hour: 3800 W at 30 degC, at 01:00; warming, at 09:00.
    assert only(refused(document)) == [("00:00", "01:00"), ("09:00", "01:00"), ("09:00", "12:00")]


EXTRACTOR = load("extractor", 1000, 120, circuit="c")
ON_5_A = {"circuits": [{"id": "c", "breaker_a": 5}]}


def test_what_it_sets_off_twice_is_one_machine() -> None:
    """Two stages that set off one extractor: 4.3 A on a breaker of 5."""
    stage = {"duration_s": 60, "watts": 10, "sets_off": [{"appliance": "extractor"}]}
    saw = {"id": "kettle", "name": "Saw", "stages": [stage, stage]}

    assert refused(house(EXTRACTOR, saw, supply=ON_5_A)) == []


def test_what_it_sets_off_and_already_runs_is_one_machine() -> None:
    """Another saw runs the extractor already."""
    other = load("other", 10, 600, sets_off=[{"appliance": "extractor"}])
    saw = load("kettle", 10, 60, sets_off=[{"appliance": "extractor"}])

    assert refused(house(EXTRACTOR, other, saw, runs={"other": "10:00"}, supply=ON_5_A)) == []


def test_the_pump_it_starts_counts() -> None:
    """2000 W, 2200 W and a pump of 3000 W are above 6 kW, of which 5 s are allowed."""
    pump = load("pump", 3000, 60)
    washer = load("kettle", 2200, 600, water_l=60)
    document = house(
        steady("base", 2000), washer, pump, inverter={"overload": [[6000, 1800], [9000, 5]]},
        supply={"water": {"pump": "pump", "vessel_l": 24, "pump_l_per_min": 30}},
    )  # fmt: skip

    assert only(refused(document)) == [("00:00", "12:00")]


def test_a_circuit_that_idles_all_day_still_has_its_own_breaker() -> None:
    """Two idle circuits; the kettle is on the second, whose breaker is too small for it."""
    circuits = [{"id": "attic", "breaker_a": 16}, {"id": "kitchen", "breaker_a": 6}]
    document = house(load("lamp", 5, circuit="attic"), load("kettle", 2200, 180, circuit="kitchen"),
                     supply={"circuits": circuits})  # fmt: skip

    assert refused(document) == [("00:00", "12:00", "circuit:kitchen")]


def test_what_may_be_off_does_not_help_a_guest_that_leads() -> None:
    """1380 W that lead are 10 A on a breaker of 9; 1840 var that lag would cancel theirs only while they are on."""
    motor = load("motor", 200, 3600, circuit="c", power_factor=0.108, cycle={"on_s": 60, "period_s": 600})
    drive = load("kettle", 1380, 180, circuit="c", power_factor=0.6, power_factor_kind="leading")
    document = house(motor, drive, runs={"motor": "10:00"}, supply={"circuits": [{"id": "c", "breaker_a": 9}]})

    assert only(refused(document)) == [("00:00", "12:00")]


def test_a_guest_that_comes_and_goes_does_not_help_what_leads() -> None:
    """Beside it a leading drive of 10 A on a breaker of 9 that nothing has to do with: refused while that runs."""
    drive = load("drive", 1380, 3600, circuit="c", power_factor=0.6, power_factor_kind="leading",
                 cycle={"on_s": 60, "period_s": 600})  # fmt: skip
    motor = load("kettle", 200, 180, circuit="c", power_factor=0.108, cycle={"on_s": 60, "period_s": 600})
    document = house(motor, drive, runs={"drive": "10:00"}, supply={"circuits": [{"id": "c", "breaker_a": 9}]})

    assert only(refused(document)) == [("10:00", "11:00")]
