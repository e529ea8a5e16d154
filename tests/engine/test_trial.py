"""One more run of an appliance, tried at an instant."""

import copy
import json
from typing import Any

import pytest
from hypothesis import given

from app.engine.results import LADDER
from app.household.clocks import clock_of
from app.household.demo import demo_text
from tests.engine.home import Document, house, load, steady
from tests.engine.test_moment import HOUR_MS, MINUTE_MS, inspected
from tests.engine.trying import Trial, could_start
from tests.households import assessed
from tests.oracle.profiles import examples
from tests.oracle.strategies import households

NOON = 12 * HOUR_MS
OVEN = load("oven", 3000, 3600)
HOB = load("hob", 2500, 600)
LONG_START = {"start": {"va": 5500, "power_factor": 0.5, "duration_s": 3.0}}


def tried(document: Document, appliance: str, at_ms: int, **more: Any) -> Trial:
    """A run of an appliance in the first plan."""
    return could_start(inspected(document), appliance, at_ms, **more)


def answer(trial: Trial) -> tuple[str | None, str | None]:
    """Verdict and limit."""
    return trial.verdict, trial.limit


def test_a_run_that_fits_presses_on_nothing() -> None:
    """Once the oven is off there is room; the run's own times are told."""
    trial = tried(house(OVEN, HOB, runs={"oven": "10:00"}), "hob", NOON)

    assert trial == Trial("hob", NOON, NOON + 10 * MINUTE_MS, "fits", None)


def test_a_run_beside_another_is_too_much() -> None:
    """3000 and 2500 W are above 4000 for the ten minutes, where 300 s are allowed."""
    trial = tried(house(OVEN, HOB, runs={"oven": "12:00"}, inverter={"overload": [[6000, 300]]}), "hob", NOON)

    assert answer(trial) == ("over", "inverter_continuous")


def test_it_begins_within_the_second() -> None:
    """A plan's clock has whole seconds."""
    assert tried(house(HOB), "hob", NOON + 999).begin_ms == NOON


def test_trouble_at_another_time_is_not_its_doing() -> None:
    """The plan is over at six; at noon the hob fits all the same."""
    document = house(load("kiln", 5000, 3600), HOB, runs={"kiln": "18:00"})

    assert assessed(document)["verdict"] == "over"
    assert answer(tried(document, "hob", NOON)) == ("fits", None)


def test_larger_trouble_at_another_time_hides_nothing() -> None:
    """Over at six by more: at noon the hob beside the oven is over too, and does not pass for fine."""
    kiln = load("kiln", 8000, 3600)
    runs = {"oven": "12:00", "kiln": "08:00"}
    document = house(OVEN, kiln, HOB, runs=runs, inverter={"overload": [[6000, 300]]})

    assert answer(tried(document, "hob", NOON)) == ("over", "inverter_continuous")


def test_a_start_that_takes_too_long_is_not_hidden_either() -> None:
    """3 s above 5000 VA where 2 are allowed, while another start is far above the top at six."""
    motor = load("motor", 300, **LONG_START)
    crane = load("crane", 300, start={"va": 9500, "power_factor": 0.5, "duration_s": 3.0})
    document = house(motor, crane, runs={"crane": "06:00"}, inverter={"overload": [[9000, 2]]})

    assert answer(tried(document, "motor", NOON)) == ("over", "inverter_overload")


def test_a_breaker_above_its_cable_is_not_its_doing() -> None:
    """That circuit is over whatever is drawn."""
    circuits = [{"id": "shed", "breaker_a": 32, "cable_a": 27}]
    lamp = load("lamp", 50, circuit="shed")

    assert answer(tried(house(lamp, supply={"circuits": circuits}), "lamp", NOON)) == ("fits", None)


def test_what_it_sets_off_counts() -> None:
    """The saw alone fits behind its breaker; with the extractor it does not."""
    saw = load("saw", 1500, 600, circuit="shed", sets_off=[{"appliance": "extractor"}])
    extractor = load("extractor", 1200, None, circuit="shed")
    document = house(saw, extractor, supply={"circuits": [{"id": "shed", "breaker_a": 10}]})

    assert answer(tried(document, "saw", NOON)) == ("over", "circuit:shed")
    assert answer(tried(document, "extractor", NOON, duration_s=600)) == ("fits", None)


def test_one_machine_does_not_run_twice() -> None:
    """Neither while it runs nor so that it would still run when its own run begins."""
    document = house(OVEN, runs={"oven": "12:00"})

    assert answer(tried(document, "oven", NOON + MINUTE_MS)) == (None, None)
    assert answer(tried(document, "oven", NOON - MINUTE_MS)) == (None, None)
    assert answer(tried(document, "oven", NOON - HOUR_MS))[0] is not None


def test_a_machine_that_was_just_set_off_goes_on() -> None:
    """The extractor after the saw is one run with it; the trial ends when that ends."""
    saw = load("saw", 500, 600, sets_off=[{"appliance": "extractor"}])
    document = house(saw, load("extractor", 300, None), runs={"saw": "11:50"})

    assert tried(document, "extractor", NOON, duration_s=300).end_ms == NOON + 5 * MINUTE_MS


def test_an_interlock_is_a_caution() -> None:
    """Two at once that a switch forbids."""
    document = house(
        load("oven", 300), load("stove", 300), runs={"oven": "12:00"}, interlocks=[{"of": ["oven", "stove"]}]
    )
    trial = tried(document, "stove", NOON)

    assert [caution.code for caution in trial.cautions] == ["interlocked_at_once"]


def test_an_hour_that_comes_twice_has_one_start() -> None:
    """01:30 means the first; a run cannot be placed an hour later on a day of 25 hours."""
    resolved = inspected(house(HOB, day={"date": "2026-10-25"})).day.resolved
    half_past_one = HOUR_MS + 30 * MINUTE_MS

    assert clock_of(resolved, half_past_one) == "01:30:00"
    assert clock_of(resolved, half_past_one + HOUR_MS) is None
    assert clock_of(resolved, half_past_one + 2 * HOUR_MS) == "02:30:00"
    assert clock_of(resolved, 25 * HOUR_MS) is None


@pytest.mark.parametrize(
    ("appliance", "at_ms", "duration_s"),
    [("base", NOON, None), ("ghost", NOON, None), ("fan", NOON, None), ("hob", 25 * HOUR_MS, None),
     ("lamp", NOON, None), ("washer", NOON, 60)],
)  # fmt: skip
def test_what_no_plan_could_have_is_refused(appliance: str, at_ms: int, duration_s: float | None) -> None:
    """Always on, unknown, off, after the day, without a length, with one too many."""
    washer = {"id": "washer", "name": "Washer", "stages": [{"duration_s": 60, "watts": 10}] * 2}
    document = house(steady("base", 100), HOB, load("fan", 40), load("lamp", 8, None), washer, day={"off": ["fan"]})

    with pytest.raises(ValueError, match=r"no run|how long"):
        tried(document, appliance, at_ms, duration_s=duration_s)


def test_a_plan_with_a_parent_is_tried_with_all_it_changes() -> None:
    """In the demo's shed plan the compressor, which only that plan has, could trip the inverter while sawing."""
    inspection = inspected(json.loads(demo_text()), "shed")
    sawing = next(piece for piece in inspection.assessment.pieces if piece.appliance == "bandsaw")

    assert answer(could_start(inspection, "iron", sawing.begin_ms)) == ("chance", "inverter_overload")


@examples(60)
@given(households())
def test_the_verdict_is_that_of_the_plan_with_the_run(household: Document) -> None:
    """Where the plan alone fits, a trial's verdict is the whole plan's with the run written into it."""
    plain = copy.deepcopy(household)
    plain["appliances"].append({"id": "guest", "name": "Guest", "stages": [{"duration_s": 90, "watts": 900}]})
    day = plain["scenarios"][0]
    plain["scenarios"], day["runs"] = [day], day["runs"][:1]
    placed = copy.deepcopy(plain)
    placed["scenarios"][0]["runs"].append({"id": "more", "appliance": "guest", "start": "10:01"})
    inspection = inspected(plain)
    at_ms = inspection.day.resolved.frame.at_ms(10 * 3600 + 60)
    trial, whole = could_start(inspection, "guest", at_ms), assessed(placed)

    assert trial.verdict is not None
    if inspection.assessment.verdict == "fits":
        assert trial.verdict == whole["verdict"]
    assert LADDER.index(trial.verdict) <= LADDER.index(whole["verdict"])
    if trial.limit is not None:
        named = next(limit for limit in whole["limits"] if limit["id"] == trial.limit)
        assert named["verdict"] == trial.verdict
