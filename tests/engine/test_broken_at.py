"""When a limit is first known to be broken: where the start breaks it, not where the load begins to be there."""

from typing import Any

import pytest

from app.engine.assess import assess
from app.household.file import household_from
from tests.oracle.test_oracle_stories import appliance, fold


def test_a_start_by_itself_breaks_a_limit_only_beside_what_makes_it_too_much() -> None:
    """A freezer that is there all day is too much while the oven runs: the limit breaks at 10:00, not at midnight."""
    kick: dict[str, Any] = {"va": 8500, "power_factor": 0.5, "duration_s": 0.4}
    freezer = appliance("freezer", 150, 0.8, None, cycle={"on_s": 600, "period_s": 1800}, start=kick)
    freezer["always_on"] = True
    household = household_from(fold([freezer, appliance("oven", 2500, 1.0, 3600)], [("oven", "10:00")]))
    assessment = assess(household)
    reading = assessment.limit("inverter_overload")

    assert reading is not None
    assert reading.broken_per_day == pytest.approx(2)  # every half hour, for an hour
    assert reading.verdict == "over"
    assert reading.broken_at_ms == 10 * 3_600_000


def test_where_a_limit_sinks_through_a_start_it_breaks_there() -> None:
    """The top sinks from 9.0 kVA at 10:00 by 675 VA an hour; a pump's 8.5 kVA pass it 44 min 27 s later."""
    kick: dict[str, Any] = {"va": 8500, "power_factor": 0.5, "duration_s": 0.4}
    pump = appliance("pump", 150, 0.8, 6 * 3600, cycle={"on_s": 600, "period_s": 1800}, start=kick)
    document = fold([pump], [("pump", "09:00")])
    document["supply"]["inverter"] |= {"continuous_w": [[25, 4000], [45, 3000]], "overload": [[6000, 1800], [9000, 5]]}
    document["supply"]["inverter"]["room_offset_k"] = 0
    document["scenarios"][0]["ambient_c"] = [[0, 25], [10, 25], [14, 49]]
    reading = assess(household_from(document)).limit("inverter_overload")

    assert reading is not None
    assert reading.broken_at_ms is not None
    assert abs(reading.broken_at_ms - (10 * 3_600_000 + 500 / 675 * 3_600_000)) < 2
