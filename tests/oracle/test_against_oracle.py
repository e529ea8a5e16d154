"""The product against the oracle, on generated quarters of an hour."""

from __future__ import annotations

from hypothesis import given, note

from tests.households import assessed
from tests.oracle.compare import differences
from tests.oracle.profiles import examples
from tests.oracle.reading import Json
from tests.oracle.strategies import households


@examples(300)
@given(households())
def test_the_product_agrees_with_the_brute_force_oracle(household: Json) -> None:
    """Every limit, start, peak and any-time stretch is what plain loops over 10 ms cells find."""
    scenario = household["scenarios"][-1]["id"]
    found = differences(household, assessed(household, scenario), scenario)
    for difference in found:
        note(difference)
    assert not found
