"""What is left of a day: what is over by now is no trouble, what stores hold by now is."""

import pytest

from app.engine.rest import rest_of
from tests.engine.home import house, load, steady
from tests.engine.test_moment import HOUR_MS, MINUTE_MS, inspected

KILN, HOB = load("kiln", 9900, 60), load("hob", 4500, 240)


@pytest.mark.parametrize(("hour", "verdict"), [(6, "over"), (12, "fits"), (17, "fits")])
def test_what_is_over_is_no_trouble(hour: int, verdict: str) -> None:
    """A kiln above the top at seven; the hob in the evening is beside nothing."""
    inspection = inspected(house(KILN, load("lamp", 50), runs={"kiln": "07:00", "lamp": "18:00"}))

    assert inspection.assessment.verdict == "over"
    assert rest_of(inspection, hour * HOUR_MS).verdict == verdict


def test_what_is_still_to_come_is() -> None:
    """At six in the evening."""
    inspection = inspected(house(KILN, runs={"kiln": "18:00"}))
    left = rest_of(inspection, 12 * HOUR_MS)

    assert left.verdict == "over"
    reading = left.limit("inverter_overload")
    assert reading is not None
    assert reading.broken_at_ms == 18 * HOUR_MS


def test_what_stores_hold_by_now_counts() -> None:
    """The hob for four minutes, and again two minutes later, where five are allowed and fifty let it cool."""
    again = load("grill", 4500, 240)
    document = house(HOB, again, runs={"hob": "12:00", "grill": "12:06"}, inverter={"overload": [[6000, 300, 3000]]})
    inspection = inspected(document)

    assert rest_of(inspection, 12 * HOUR_MS + 5 * MINUTE_MS).verdict == "over"
    assert rest_of(inspection, 12 * HOUR_MS + 30 * MINUTE_MS).verdict == "fits"  # still hot, and nothing more to come


def test_what_may_be_hot_by_now_counts_as_a_chance() -> None:
    """Beside a heater that comes and goes the oven may have been above for four of five minutes as the hob begins."""
    heater = steady("heater", 2500, cycle={"on_s": 600, "period_s": 3600})
    oven, hob = load("oven", 2500, 240), load("hob", 2500, 120)
    document = house(heater, oven, hob, runs={"oven": "12:00", "hob": "12:04"}, inverter={"overload": [[6000, 300]]})
    inspection = inspected(document)

    assert inspection.assessment.verdict == "chance"
    assert rest_of(inspection, 12 * HOUR_MS + 4 * MINUTE_MS).verdict == "chance"
    assert rest_of(inspection, 12 * HOUR_MS + 7 * MINUTE_MS).verdict == "fits"


def test_odds_are_those_of_what_is_left() -> None:
    """What could be too much beside the oven in the morning is not by noon."""
    heater = steady("heater", 2500, cycle={"on_s": 600, "period_s": 3600})
    document = house(heater, load("oven", 2500, 3600), runs={"oven": "08:00"}, inverter={"overload": [[6000, 300]]})
    inspection = inspected(document)
    morning, noon = (rest_of(inspection, hour * HOUR_MS).limit("inverter_continuous") for hour in (7, 12))
    whole = inspection.assessment.limit("inverter_continuous")

    assert morning is not None
    assert noon is not None
    assert whole is not None
    assert morning.broken_per_day == pytest.approx(whole.broken_per_day, rel=0.02)
    assert noon.verdict == "fits"
    assert noon.broken_per_day is None
