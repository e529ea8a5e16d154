"""The product against the oracle, on generated quarters of an hour."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, note

from tests.households import assessed, report_without_odds
from tests.oracle.compare import differences
from tests.oracle.profiles import examples, seeded
from tests.oracle.reading import Json
from tests.oracle.strategies import households

PARTS = 4  # each with households of its own, so that two processes share the work


@pytest.mark.parametrize("part", range(PARTS))
def test_the_product_agrees_with_the_brute_force_oracle(part: int) -> None:
    """Every limit, start, peak and any-time stretch is what plain loops over 10 ms cells find."""

    drawn = itertools.count()

    @seeded(part)
    @examples(300 // PARTS)
    @given(households())
    def compare(household: Json) -> None:
        scenario = household["scenarios"][-1]["id"]
        # What the odds add is compared by test_chance.py; that they can be worked out for anything is seen at times.
        with_odds = part == 0 and next(drawn) % 3 == 0
        report = assessed(household, scenario) if with_odds else report_without_odds(household, scenario)
        found = differences(household, report, scenario)
        for difference in found:
            note(difference)
        assert not found

    compare()
