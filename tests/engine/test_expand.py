"""What stands on a day: follow-ons, the pump, midnight, days of 23 and 25 hours."""

import pytest

from app.engine.day import lay_day
from app.engine.rows import CycleMs
from app.engine.spans import Span, one_machine
from app.household.errors import HouseholdFaults
from app.household.file import household_from
from app.household.resolve import resolve
from tests.engine.home import clock, house, limits, load, steady
from tests.households import assessed

SHORT, LONG = CycleMs(10, 100, 10), CycleMs(30, 100, 30)


def span(begin_ms: int, end_ms: int, cycle: CycleMs | None = None) -> Span:
    return Span(begin_ms, end_ms, cycle, -1, -1, True)


def test_overlapping_and_touching_spans_of_one_machine_are_one() -> None:
    """Three spans, one of them apart."""
    made = one_machine([span(0, 10), span(5, 20), span(20, 30), span(40, 50)])

    assert [(one.begin_ms, one.end_ms) for one in made] == [(0, 30), (40, 50)]


def test_what_runs_throughout_wins_then_the_longest_run() -> None:
    """A short cycle all along, a longer one for a while, and for a moment no cycle at all."""
    made = one_machine([span(0, 100, SHORT), span(20, 60, LONG), span(30, 40)])

    assert [(one.begin_ms, one.end_ms, one.cycle) for one in made] == [
        (0, 20, SHORT), (20, 30, LONG), (30, 40, None), (40, 60, LONG), (60, 100, SHORT),
    ]  # fmt: skip


EXTRACTOR = load("extractor", 900, None, start={"va": 3000, "power_factor": 0.5, "duration_s": 1})


def test_a_follow_on_without_a_length_lasts_as_long_as_what_sets_it_off() -> None:
    """An hour of sawing, an hour of extracting, two seconds later."""
    saw = load("saw", 1100, sets_off=[{"appliance": "extractor", "after_s": 2}])
    report = assessed(house(saw, EXTRACTOR, runs={"saw": "14:00"}))

    assert report["demand"]["energy_wh"] == pytest.approx(2000)
    assert [(clock(surge["at"]), surge["appliance"]) for surge in report["surges"]] == [("14:00:02", "extractor")]


def test_what_one_machine_sets_off_in_its_turn_is_set_off_once_by_each_who_wants_it() -> None:
    """An extractor for a planer that comes and goes, and throughout for a saw; its lamp has a blower on for 20 minutes.

    After the saw the planer's extractor goes on as before, and sets off no blower anew.
    """
    calls = [{"appliance": "extractor", "after_s": 0}]
    extractor = load("extractor", 300, None, sets_off=[{"appliance": "lamp", "after_s": 0}])
    lamp = load("lamp", 20, None, sets_off=[{"appliance": "blower", "after_s": 0}])
    planer = load("planer", 200, 7200, cycle={"on_s": 600, "period_s": 900}, sets_off=calls)
    document = house(
        planer, load("saw", 300, 600, sets_off=calls), extractor, lamp, load("blower", 1500, 1200),
        runs={"planer": "09:00", "saw": "10:00"},
    )  # fmt: skip
    pieces = lay_day(resolve(household_from(document))).laid.pieces
    spans = [
        [(begin_ms // 60_000, end_ms // 60_000) for begin_ms, end_ms in zip(
            pieces.begin_ms[pieces.appliance == place], pieces.end_ms[pieces.appliance == place], strict=True
        )]
        for place in (2, 3, 4)
    ]  # fmt: skip

    assert spans == [*[[(540, 600), (600, 610), (610, 660)]] * 2, [(540, 560), (600, 620)]]


def test_what_two_set_off_one_after_the_other_comes_with_the_machine_that_sets_it_off() -> None:
    """An extractor with a cycle of its own, for two saws in turn: its blower comes on with it for either."""
    calls = [{"appliance": "extractor", "after_s": 0}]
    extractor = load("extractor", 1500, None, cycle={"on_s": 60, "period_s": 600})
    extractor["stages"][0]["sets_off"] = [{"appliance": "blower", "after_s": 0}]
    saws = [load(name, 100, 600, sets_off=calls) for name in ("a", "b")]
    document = house(*saws, extractor, load("blower", 1500, 300), runs={"a": "09:00", "b": "09:10"})
    pieces = lay_day(resolve(household_from(document))).laid.pieces

    assert len(pieces.load[pieces.appliance == 2]) == 1
    assert set(pieces.load[pieces.appliance == 3].tolist()) == set(pieces.load[pieces.appliance == 2].tolist())
    assert (pieces.appliance == 3).sum() == 2


def test_two_saws_share_one_extractor_with_one_start() -> None:
    """Overlapping runs of a follow-on are one run."""
    saws = [load(name, 1100, sets_off=[{"appliance": "extractor"}]) for name in ("saw", "planer")]
    report = assessed(house(*saws, EXTRACTOR, runs={"saw": "14:00", "planer": "14:30"}))

    assert report["demand"]["energy_wh"] == pytest.approx(2 * 1100 + 1.5 * 900)
    assert len(report["surges"]) == 1


def test_a_follow_on_of_a_cycling_stage_shares_its_cycle() -> None:
    """The saw is on for a quarter of the time, and so is the extractor; its start comes at no known instant."""
    saw = load("saw", 1100, cycle={"on_s": 15, "period_s": 60}, sets_off=[{"appliance": "extractor"}])
    report = assessed(house(saw, EXTRACTOR, runs={"saw": "14:00"}))

    assert report["demand"]["energy_wh"] == pytest.approx(2000 / 4)
    assert report["demand"]["peak_certain_w"] == 0
    assert report["demand"]["peak_worst_w"] == 2000


def test_what_is_off_is_off_as_a_follow_on_too() -> None:
    """`off` silences an appliance everywhere."""
    saw = load("saw", 1100, sets_off=[{"appliance": "extractor"}])
    report = assessed(house(saw, EXTRACTOR, runs={"saw": "14:00"}, day={"off": ["extractor"]}))

    assert report["demand"]["peak_worst_w"] == 1100


def test_a_run_past_midnight_goes_on_into_the_next_morning() -> None:
    """Its energy counts until midnight, its draw goes on."""
    report = assessed(house(load("heater", 1000, 7200), runs={"heater": "23:00"}))

    assert report["demand"]["energy_wh"] == pytest.approx(1000)
    assert report["demand"]["peak_worst_w"] == 1000


@pytest.mark.parametrize(("date", "hours"), [("2026-03-29", 23), ("2026-05-12", 24), ("2026-10-25", 25)])
def test_the_days_energy_is_that_of_its_hours(date: str, hours: int) -> None:
    """100 W all day."""
    report = assessed(house(steady("base", 100), day={"date": date}))

    assert report["demand"]["energy_wh"] == pytest.approx(100 * hours)


def test_the_pump_follows_the_vessel_and_not_the_fill() -> None:
    """12 l in 120 s: 0.1 l/s; the pump runs 24/(0.5-0.1) = 60 s, then rests 240 s, until 48 s after the fill."""
    pump = load("pump", 900, 60, power_factor=0.78)
    washer = load("washer", 20, 120, water_l=12)
    water = {"pump": "pump", "vessel_l": 24, "pump_l_per_min": 30}
    report = assessed(house(washer, pump, runs={"washer": "10:00"}, supply={"water": water}))

    expected_wh = 20 * 120 / 3600 + 900 * (60 / 300) * (120 + 48) / 3600
    assert report["demand"]["energy_wh"] == pytest.approx(expected_wh)
    assert report["demand"]["peak_worst_w"] == 920
    assert report["demand"]["peak_certain_w"] == 20


def test_a_draw_as_large_as_the_pump_keeps_it_on_throughout() -> None:
    """60 l in 60 s is more than it lifts: on without a cycle, with a start at a known instant."""
    pump = load("pump", 900, 60, start={"va": 3800, "power_factor": 0.5, "duration_s": 0.6})
    report = assessed(
        house(
            load("hose", 1, 60, water_l=60), pump, runs={"hose": "10:00"},
            supply={"water": {"pump": "pump", "vessel_l": 24, "pump_l_per_min": 30}},
        )
    )  # fmt: skip

    assert report["demand"]["peak_certain_w"] == 901
    assert clock(report["surges"][0]["at"]) == "10:00"


def test_a_run_before_its_turn_or_too_late_is_a_caution() -> None:
    """The dryer waits for the washer, at most half an hour."""

    def codes(start: str) -> list[str]:
        document = house(load("washer", 500), load("dryer", 700), runs={"washer": "10:00", "dryer": start})
        document["scenarios"][0]["runs"][1] |= {"after": "run-washer", "within_s": 1800}
        return [caution["code"] for caution in assessed(document)["cautions"]]

    assert codes("10:30") == ["runs_before_its_turn"]
    assert codes("11:15") == []
    assert codes("11:45") == ["runs_too_late"]


def test_a_start_that_is_over_at_once_is_only_a_caution() -> None:
    """Ten milliseconds: left out of every figure."""
    charger = load("charger", 500, start={"va": 8000, "power_factor": 0.5, "duration_s": 0.01})
    document = house(charger, runs={"charger": "10:00"})

    assert limits(document)["inverter_overload"]["use"] == 500
    assert [caution["code"] for caution in assessed(document)["cautions"]] == ["start_too_short"]


def test_a_pump_on_throughout_does_not_follow_a_cycle_of_its_own() -> None:
    """Its programme's cycle is the vessel's business."""
    pump = load("pump", 900, 60, cycle={"on_s": 5, "period_s": 60})
    report = assessed(
        house(
            load("hose", 1, 60, water_l=60), pump, runs={"hose": "10:00"},
            supply={"water": {"pump": "pump", "vessel_l": 24, "pump_l_per_min": 30}},
        )
    )  # fmt: skip

    assert report["demand"]["peak_certain_w"] == 901


def test_a_draw_a_hair_below_the_pump_is_computed() -> None:
    """It runs for a very long time."""
    report = assessed(
        house(
            load("hose", 1, 600, water_l=299.99999999999994), load("pump", 900, 60), runs={"hose": "10:00"},
            supply={"water": {"pump": "pump", "vessel_l": 24, "pump_l_per_min": 30, "taps_l_per_day": 1e-9,
                              "taps_between": ["06:00", "07:00"]}},
        )
    )  # fmt: skip

    assert report["demand"]["peak_worst_w"] == 901


def test_runs_an_interlock_forbids_are_judged_stage_by_stage() -> None:
    """A follow-on that runs before and after the other does not run with it."""
    stages = [
        {"duration_s": 60, "watts": 10, "sets_off": [{"appliance": "extractor"}]},
        {"duration_s": 600, "watts": 10},
    ]
    saw = {"id": "saw", "name": "Saw", "stages": [*stages, stages[0]]}
    extractor = load("extractor", 900, 5)
    document = house(saw, extractor, load("a, b", 500, 60), runs={"saw": "10:00", "a, b": "10:05"},
                     interlocks=[{"of": ["extractor", "a, b"]}])  # fmt: skip

    assert assessed(document)["cautions"] == []


def test_many_follow_ons_of_follow_ons_stay_few() -> None:
    """Sixteen levels, each set off twice: spans of one machine are joined before they call on."""
    chain = [
        load(f"m{level}", 1, 60, sets_off=[{"appliance": f"m{level + 1}", "after_s": s} for s in (0, 30)])
        for level in range(16)
    ]
    report = assessed(house(*chain, load("m16", 1, 60), runs={"m0": "10:00"}))

    assert report["demand"]["peak_worst_w"] == 17


def test_what_would_be_set_off_thousands_of_times_is_refused() -> None:
    """Twelve levels, each set off twice by the one before at other delays: four thousand times the last."""
    chain = [
        load(f"m{level}", 1, 60, sets_off=[{"appliance": f"m{level + 1}", "after_s": s} for s in (0, 2**level)])
        for level in range(12)
    ]

    with pytest.raises(HouseholdFaults, match=r"would be set off more than 2,000 times in a day"):
        assessed(house(*chain, load("m12", 1, 60), runs={"m0": "10:00"}))
