"""What a view can never come up to is not looked at closer: the bound that says so, on draws of every kind."""

import numpy as np
import pytest

from app.engine.columns import most_of
from app.engine.sums import Sums

UNCERTAIN = 0.3


def some_draws(random: np.random.Generator, count: int) -> Sums:
    """Watts, either side's reactive power, distortion and spread; many of them nothing at all."""
    watts = random.uniform(0, 3000, count) * random.integers(0, 2, count)
    sides = np.sort(random.uniform(-2000, 2000, (2, count)), axis=0)[::-1] * random.integers(0, 2, (1, count))
    distortion = random.uniform(0, 500, count) * random.integers(0, 2, count)
    return Sums.of(watts, sides[0], sides[1], distortion, np.square(watts * random.uniform(0, UNCERTAIN, count)))


@pytest.mark.parametrize("seed", range(20))
def test_no_two_draws_come_to_more_than_the_most_of_both(seed: int) -> None:
    """Every row with every column, as limits use them."""
    random = np.random.default_rng(seed)
    rows, columns = some_draws(random, 40), some_draws(random, 60)
    both = rows.upright() + columns.flat()
    own, there = most_of(rows), most_of(columns)

    assert both.use_w.max() <= own.use_w + there.use_w
    assert both.use_va[both.p_w > 0].max() <= (own.va + there.va) * (1 + UNCERTAIN) * (1 + 1e-12)


def test_of_no_draws_there_is_nothing() -> None:
    assert most_of(Sums(np.empty((5, 0)))) == (0.0, 0.0)
