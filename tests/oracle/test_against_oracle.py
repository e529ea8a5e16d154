"""The product against the oracle, on generated quarters of an hour."""

from __future__ import annotations

import pytest
from hypothesis import given, note

from tests.households import assessed
from tests.oracle.compare import differences
from tests.oracle.profiles import examples, seeded
from tests.oracle.reading import Json
from tests.oracle.strategies import households

PARTS = 4  # each with households of its own, so that two processes share the work


@pytest.mark.parametrize("part", range(PARTS))
def test_the_product_agrees_with_the_brute_force_oracle(part: int) -> None:
    """Every limit, start, peak and any-time stretch is what plain loops over 10 ms cells find."""

    @seeded(part)
    @examples(300 // PARTS)
    @given(households())
    def compare(household: Json) -> None:
        scenario = household["scenarios"][-1]["id"]
        found = differences(household, assessed(household, scenario), scenario)
        for difference in found:
            note(difference)
        assert not found

    compare()
