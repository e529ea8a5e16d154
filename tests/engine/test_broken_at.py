"""When a limit is first known to be broken: where the start breaks it, not where the load begins to be there."""

from typing import Any

import pytest

from app.engine.assess import assess
from app.engine.sure import is_broken_at
from app.household.file import household_from
from tests.engine.test_moment import inspected
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


@pytest.mark.parametrize(("kiln_at", "sure_since"), [("18:00", 18), ("12:20", 12 + 20 / 60), ("12:05", None)])
def test_what_surely_breaks_it_may_do_so_at_another_hour(kiln_at: str, sure_since: float | None) -> None:
    """A hob beside a boiler that comes and goes could be too much at noon; a kiln is, at its own hour or just then."""
    boiler = appliance("boiler", 2500, 1.0, None, cycle={"on_s": 60, "period_s": 600, "longest_on_s": 600})
    boiler["always_on"] = True
    hob, kiln = appliance("hob", 3600, 1.0, 600), appliance("kiln", 5200, 1.0, 900)
    document = fold([boiler, hob, kiln], [("hob", "12:00"), ("kiln", kiln_at)])
    document["supply"]["inverter"] |= {"overload": [[9000, 300, 300]]}
    reading = assess(household_from(document)).limit("inverter_continuous")

    assert reading is not None
    assert (reading.verdict, reading.verdict_certain) == ("over", "over")
    assert reading.heat is not None
    assert reading.heat.since_ms == 12 * 3_600_000
    if sure_since is None:
        assert reading.sure is None
    else:
        assert reading.sure is not None
        assert (reading.sure.verdict, reading.sure.verdict_certain) == ("over", "over")
        assert reading.sure.heat is not None
        assert reading.sure.heat.since_ms == pytest.approx(sure_since * 3_600_000, abs=1)
        assert {one.appliance for one in reading.sure.heat.contributors} == {"kiln", "boiler"}


def test_what_is_broken_without_it_is_so_at_that_instant() -> None:
    """A dip shorter than the inverter waits is none; what a kiln breaks at eight it does not break at ten."""
    kick: dict[str, Any] = {"va": 12_000, "power_factor": 0.9, "duration_s": 0.3}
    motor, kiln = appliance("motor", 100, 1.0, 60, start=kick), appliance("kiln", 9000, 1.0, 5)
    document = fold([motor, kiln], [("motor", "10:00"), ("kiln", "20:00")])
    supply = document["supply"]
    supply["inverter"] |= {"overload": [[20_000, 300], [30_000, 5]], "cut_off_v": 46, "cut_off_delay_s": 1.0}
    supply["battery"] |= {"module_resistance_ohm": 0.3, "peak_discharge_a": 4000, "continuous_discharge_a": 2000}
    supply["battery"]["modules"] = 10
    inspection = inspected(document)

    assert inspection.assessment.limit("battery_voltage") is not None
    at_ten, at_eight = 10 * 3_600_000, 20 * 3_600_000
    assert not is_broken_at(inspection, "battery_voltage", at_ten, surely=True)
    assert is_broken_at(inspection, "battery_voltage", at_eight + 1000, surely=True)
    assert not is_broken_at(inspection, "inverter_continuous", at_ten, surely=True)
