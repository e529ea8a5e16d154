"""What comes and goes and sets off another at the same instant: both starts at once, every time. By hand."""

import math
from typing import Any

import pytest

from app.engine.switching import switching
from tests.engine.home import house, load
from tests.engine.test_moment import inspected
from tests.households import assessed

SAW_START = {"va": 4000, "power_factor": 0.5, "duration_s": 0.5}
FAN_START = {"va": 5000, "power_factor": 0.4, "duration_s": 0.6}
# Oven 4000 W; the saw's start is 2000 W and 3464 var, the fan's 2000 W and 4583 var.
BOTH_VA = math.hypot(4000 + 2000 + 2000, 4000 * math.sqrt(0.75) + 5000 * math.sqrt(0.84))
SAW_VA = math.hypot(4000 + 2000 + 900, 4000 * math.sqrt(0.75) + 900 / 0.8 * 0.6)
FAN_VA = math.hypot(4000 + 1500 + 2000, 5000 * math.sqrt(0.84))
TEN = 10 * 3_600_000


def workshop(*, cycle: dict[str, int] | None, after_s: float = 0, runs: bool = True) -> dict[str, Any]:
    more = {} if cycle is None else {"cycle": cycle}
    return house(
        load("oven", 4000, 7200),
        load("saw", 1500, start=SAW_START, sets_off=[{"appliance": "fan", "after_s": after_s}], **more),
        load("fan", 900, None, power_factor=0.8, start=FAN_START),
        runs={"oven": "09:30", **({"saw": "10:00"} if runs else {})},
        battery={"modules": 40},
        inverter={"overload": [[7000, 1800], [9000, 5]]},
    )


def surges(document: dict[str, Any]) -> dict[str, float]:
    return {one["appliance"]: one["total_va"] for one in assessed(document)["surges"]}


@pytest.mark.parametrize("cycle", [None, {"on_s": 20, "period_s": 60}])
def test_both_starts_make_one_total(cycle: dict[str, int] | None) -> None:
    assert surges(workshop(cycle=cycle)) == pytest.approx({"saw": BOTH_VA, "fan": BOTH_VA}, rel=1e-9)


def test_one_that_is_over_by_then_does_not_count() -> None:
    """The fan follows after a second, when the saw's start is over."""
    document = workshop(cycle={"on_s": 20, "period_s": 60}, after_s=1)

    assert surges(document) == pytest.approx({"saw": SAW_VA, "fan": FAN_VA}, rel=1e-9)


def test_each_time_is_one_event() -> None:
    """An hour of one cut a minute: sixty starts that are too much, not a hundred and twenty."""
    report = assessed(workshop(cycle={"on_s": 20, "period_s": 60}))

    assert report["odds"]["overloading_starts_per_day"] == pytest.approx(60)
    overload = next(one for one in report["limits"] if one["id"] == "inverter_overload")
    assert (overload["verdict"], overload["use"]) == ("over", pytest.approx(BOTH_VA, rel=1e-9))


@pytest.mark.parametrize("cycle", [None, {"on_s": 20, "period_s": 60}])
def test_switch_on_says_the_same_before_it_is_on(cycle: dict[str, int] | None) -> None:
    answers = switching(inspected(workshop(cycle=cycle, runs=False)), TEN).may
    saw = next(one for one in answers if one.appliance == "saw")

    assert saw.answer != "go"
    assert (saw.limit, saw.use) == ("inverter_overload", pytest.approx(BOTH_VA, rel=1e-9))
