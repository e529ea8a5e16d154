"""How long a level may be passed at most: never less than in any order that is drawn at random; and what it decides."""

import numpy as np
import pytest

from app.engine.assess import assess_day
from app.engine.at_most import Cycles, at_most
from app.engine.day import lay_day
from app.engine.heat import store_s
from app.household.file import household_from
from app.household.resolve import resolve
from tests.engine.home import Document, house, steady

SECOND_MS = 1000
COOLING = 1800.0


def test_no_order_fills_a_store_more() -> None:
    """Loads of random periods, each at a random point of its own, beside certain draws that change, by seconds."""
    rng = np.random.default_rng(11)
    tight = 0
    for _ in range(150):
        loads, parts = int(rng.integers(1, 6)), int(rng.integers(1, 5))
        period_s = rng.integers(60, 900, loads)
        on_s = np.maximum((period_s * rng.uniform(0.1, 0.9, loads)).astype(int), 1)
        watts, edges_s = rng.integers(1, 8, loads), np.cumsum(np.append(0, rng.integers(30, 1500, parts)))
        certain_w, most_w = rng.integers(0, 12, parts), 10
        sums = certain_w[None, :] + np.vstack((np.full(1, watts.sum()), (watts.sum() - watts)[:, None]))
        allowed_s = float(rng.integers(60, 900))
        share = np.minimum(watts[:, None] / np.maximum(most_w + 1 - certain_w, 1e-9), 1.0)
        t_ms, flags = at_most(
            edges_s.astype(float) * SECOND_MS, sums[0] > most_w, certain_w > most_w, sums[1:] > most_w, share,
            Cycles(*(one * 1000.0 for one in (on_s, period_s, on_s))),
        )  # fmt: skip
        bound_s = store_s(np.diff(t_ms)[None] / 1000, flags[None], allowed_s, COOLING).max()

        second = np.arange(int(edges_s[-1]))
        certain = certain_w[edges_s.searchsorted(second, side="right") - 1]
        worst_s = 0.0
        for _ in range(60):
            phase = rng.integers(0, period_s)
            on = (second[:, None] + phase) % period_s < on_s
            passed = certain + on @ watts > most_w
            worst_s = max(worst_s, store_s(np.ones((1, len(second))), passed[None], allowed_s, COOLING).max())
        assert worst_s <= bound_s + 1e-6
        tight += worst_s > 0.7 * bound_s > 0

    assert tight > 30


def in_turn(allowed_s: int) -> Document:
    """3000 W, two heaters of 600 W that together pass 4000 W, and one of 1500 W that does so alone.

    The inverter cools at once.
    """
    on = {"on_s": 600, "period_s": 3600}
    loads = [steady("a", 600, cycle=on), steady("b", 600, cycle=on), steady("c", 1500, cycle=on)]
    inverter = {"rated_va": 6000, "overload": [[9000, allowed_s, 1], [12000, 5]]}
    return house(steady("base", 3000), *loads, inverter=inverter)


def test_what_only_an_order_that_is_not_tried_breaks_is_left_to_the_odds() -> None:
    """Two together, then the third: twenty minutes, where fifteen are allowed. All at once, or one by one, it is ten.

    Two overlap for x of their ten minutes, and the third goes on for as long after them, or before: more than fifteen
    in all in 2 (300 / 3600)^2 of the hours.
    """
    day = lay_day(resolve(household_from(in_turn(900))))
    found = {one.id: one for one in assess_day(day, None).limits}

    assert found["inverter_continuous"].verdict == "chance"
    assert found["inverter_continuous"].broken_per_day == pytest.approx(24 * 2 * (300 / 3600) ** 2, rel=0.1)


def test_what_no_order_breaks_is_fine_for_a_while() -> None:
    """Thirty minutes above a level are more than those three come to."""
    day = lay_day(resolve(household_from(in_turn(1900))))
    found = {one.id: one for one in assess_day(day, None).limits}

    assert (found["inverter_continuous"].verdict, found["inverter_continuous"].broken_per_day) == ("short_time", None)
