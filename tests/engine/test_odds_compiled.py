"""Compiled loops: made ready for what comes, the same as they are written, and at work where nothing can be kept."""

from typing import Any

import numpy as np
import pytest

from app.engine.assess import assess_day
from app.engine.day import lay_day
from app.engine.odds import by_state, entries
from app.engine.odds.by_state import ByState
from app.engine.odds.compiled import compiled
from app.engine.odds.entries import Moments
from app.engine.odds.odds import OddsOfDay
from app.engine.odds.passing import Passing
from app.engine.odds.ready import get_ready
from app.household.file import household_from
from app.household.resolve import resolve
from tests.benchmarks.odds import LIMITS, everything, household

LOOPS: tuple[Any, ...] = (by_state.follow_all, entries.instants)


def test_made_ready_nothing_is_compiled_any_more() -> None:
    """Odds of days of some kinds meet each loop in the kinds of numbers for which it was made ready."""
    get_ready()
    for document in (household(12, supply=1.15), household(8, seed=3), household(5)):
        day = lay_day(resolve(household_from(document)))
        assess_day(day, None)
        everything(day)

    for loop in LOOPS:
        assert len(loop.in_machine_code().signatures) == 1


@pytest.mark.parametrize("store", [0, 1])
def test_compiled_as_written(store: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """The loops run by Python itself, number by number, find and follow the same moments."""
    day = lay_day(resolve(household_from(household(8))))
    under = OddsOfDay(day, LIMITS)._house.under
    passing, allowed_ms = Passing(under, under.rule.of_store(store)), under.rule.allowed_s[store] * 1000

    def found() -> tuple[Any, ...]:
        random = np.random.default_rng(9)
        drawn = Moments(passing, allowed_ms).drawn(300, random)
        assert drawn is not None
        return *drawn, *ByState(passing).sums(drawn, allowed_ms, random)

    fast = found()
    monkeypatch.setattr(entries, "instants", LOOPS[1].__wrapped__)
    monkeypatch.setattr(by_state, "follow_all", LOOPS[0].__wrapped__)
    for one, other in zip(fast, found(), strict=True):
        assert one == pytest.approx(other, rel=1e-9)


def test_without_a_place_to_keep_it() -> None:
    """A loop of no file, as in a read-only installation, is compiled each time."""
    scope: dict[str, Any] = {}
    exec("def twice(figure):\n    return 2 * figure", scope)

    assert compiled(scope["twice"])(21) == 42
