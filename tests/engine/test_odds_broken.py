"""How often a limit is broken that one excursion breaks in several ways at once."""

from typing import Any

import pytest

from app.engine.assess import assess
from app.household.file import household_from
from app.web.words import how_often
from tests.oracle.test_oracle_stories import appliance, fold

ON_S = 300


def heaters_of(period_s: int, *others: dict[str, Any]) -> dict[str, Any]:
    """Two heaters that come and go and are too much together, beside others."""
    heaters = [
        appliance(name, 2000, 1.0, None, cycle={"on_s": ON_S, "period_s": period_s}) | {"always_on": True}
        for name in ("a", "b")
    ]
    document = fold([*heaters, *others], [])
    document["supply"]["inverter"] |= {
        "rated_va": 3000, "continuous_w": [[25, 3000]], "overload": [[3500, 60], [3900, 5]],
    }  # fmt: skip
    return document


@pytest.mark.parametrize(
    ("period_s", "verdict"), [(7300, "chance"), (11_384, "chance"), (16_000, "chance"), (7000, "over")]
)
def test_an_excursion_that_is_too_long_above_three_levels_is_one(period_s: int, verdict: str) -> None:
    """Two heaters that are too much together: they come together so often as two intervals on a circle overlap.

    A load comes on once a period, and then the other is on for its share of the time: twice 1/p times 300/p.
    """
    reading = assess(household_from(heaters_of(period_s))).limit("inverter_overload")

    assert reading is not None
    assert reading.broken_per_day == pytest.approx(86_400 * 2 * ON_S / period_s**2, rel=1e-6)
    assert reading.verdict == verdict


VITAL = [
    ("cpap", "Breathing aid"), ("cpap-2", "Breathing aid"), ("burglar-alarm", "Box"),
    ("box", "Burglar alarms"), ("box", "Fridge for Ada's medicine"), ("box", "CPAP by the bed"),
]  # fmt: skip


@pytest.mark.parametrize(("its_id", "name"), VITAL)
def test_no_odds_where_health_hangs_on_it(its_id: str, name: str) -> None:
    """With a medical device or an alarm on, what could cut out is told, and not how often."""
    vital = appliance(its_id, 60, 1.0, None) | {"name": name}
    reading = assess(household_from(heaters_of(16_000, vital))).limit("inverter_overload")

    assert reading is not None
    assert reading.verdict == "chance"
    assert reading.broken_per_day is None
    assert how_often(reading).startswith("How often is not told where a medical device, medicine or an alarm is on")


def test_what_is_too_much_daily_is_no_milder_for_a_device() -> None:
    """How often is not told; that it comes every day makes it too much all the same."""
    reading = assess(household_from(heaters_of(7000, appliance("cpap", 60, 1.0, None)))).limit("inverter_overload")

    assert reading is not None
    assert (reading.verdict, reading.broken_per_day, reading.is_vital, reading.by_chance) == ("over", None, True, True)


@pytest.mark.parametrize(("clock", "told"), [("00:30:00", False), ("09:00:00", True)])
def test_no_odds_of_hours_in_which_health_hangs_on_it(clock: str, *, told: bool) -> None:
    """Heaters that are too much together in two stretches of the day, of which the later is the worse.

    A device that is on in the earlier is no less at risk for that; one that is on in neither is not.
    """
    heat = {"duration_s": None, "watts": 2000, "cycle": {"on_s": ON_S, "period_s": 16_000}}
    document = heaters_of(16_000, appliance("cpap", 60, 1.0, 7200), appliance("kettle", 900, 1.0, 3600))
    for heater in document["appliances"][:2]:
        heater |= {"always_on": False, "stages": [heat | {"duration_s": 3600}]}
    document["scenarios"][0]["runs"] = [
        {"id": f"{of} {at}", "appliance": of, "start": at}
        for of, at in (
            ("a", "01:00:00"), ("b", "01:00:00"), ("a", "12:00:00"), ("b", "12:00:00"), ("kettle", "12:00:00"),
            ("cpap", clock),
        )
    ]  # fmt: skip
    reading = assess(household_from(document)).limit("inverter_overload")

    assert reading is not None
    assert reading.verdict == "chance"
    assert (reading.broken_per_day is not None) == told
    assert reading.is_vital != told


def test_no_odds_of_a_restart_where_health_hangs_on_it() -> None:
    """After a power cut as well, whatever else comes back."""
    vital = appliance("cpap", 60, 1.0, None)
    readings = [assess(household_from(heaters_of(7000, *more))).limit("cold_restart") for more in ([], [vital])]

    assert [one and (one.verdict, one.cut_share is None, one.is_vital) for one in readings] == [
        ("chance", False, False),
        ("chance", True, True),
    ]


def test_no_odds_of_a_restart_that_the_voltage_does_not_bear() -> None:
    """The inverter would carry it; the bank falls below the cut-off, of which no odds are told, only that it may."""
    document = heaters_of(7000)
    supply = document["supply"]
    supply["inverter"] |= {"continuous_w": [[25, 9000]], "rated_va": 9000, "overload": [[12_000, 5]]}
    # Some 80 A of 51.2 V, through 60 milliohms.
    supply["inverter"] |= {"cut_off_v": 48, "cut_off_delay_s": 0}
    supply["battery"] |= {"modules": 1, "module_resistance_ohm": 0.06}
    reading = assess(household_from(document)).limit("cold_restart")

    assert reading is not None
    assert (reading.verdict, reading.cut_share, reading.is_vital) == ("chance", None, False)
    assert reading.margin > 0
    assert "voltage" in how_often(reading)


def test_a_start_that_never_comes_is_not_told_to_come_by_what_stays_on() -> None:
    """What is always on, in a cycle that never ends, starts no more by itself."""
    kick: dict[str, Any] = {"va": 20_000, "power_factor": 0.5, "duration_s": 0.4}
    freezer = appliance("freezer", 150, 0.8, None, cycle={"on_s": 1800, "period_s": 1800}, start=kick)
    reading = assess(household_from(fold([freezer | {"always_on": True}], []))).limit("inverter_overload")

    assert reading is not None
    assert "only if something stays on, or off, for longer than usual" in how_often(reading)
