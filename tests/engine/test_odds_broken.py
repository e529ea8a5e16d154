"""How often a limit is broken that one excursion breaks in several ways at once."""

import pytest

from app.engine.assess import assess
from app.household.file import household_from
from tests.oracle.test_oracle_stories import appliance, fold

ON_S = 300


@pytest.mark.parametrize(
    ("period_s", "verdict"), [(7300, "chance"), (11_384, "chance"), (16_000, "chance"), (7000, "over")]
)
def test_an_excursion_that_is_too_long_above_three_levels_is_one(period_s: int, verdict: str) -> None:
    """Two heaters that are too much together: they come together so often as two intervals on a circle overlap.

    A load comes on once a period, and then the other is on for its share of the time: twice 1/p times 300/p.
    """
    heaters = [
        appliance(name, 2000, 1.0, None, cycle={"on_s": ON_S, "period_s": period_s}) | {"always_on": True}
        for name in ("a", "b")
    ]
    document = fold(heaters, [])
    document["supply"]["inverter"] |= {
        "rated_va": 3000, "continuous_w": [[25, 3000]], "overload": [[3500, 60], [3900, 5]],
    }  # fmt: skip
    reading = assess(household_from(document)).limit("inverter_overload")

    assert reading is not None
    assert reading.broken_per_day == pytest.approx(86_400 * 2 * ON_S / period_s**2, rel=1e-6)
    assert reading.verdict == verdict
