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
        found = at_most(
            edges_s.astype(float) * SECOND_MS, sums[0] > most_w, certain_w > most_w, sums[1:] > most_w, share,
            Cycles(*(one * 1000.0 for one in (on_s, period_s, on_s))),
        )  # fmt: skip
        bound_s = store_s(np.diff(found.t_ms)[None] / 1000, found.passed[None], allowed_s, COOLING).max()

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


def test_what_a_guest_makes_too_much_is_found_wherever_the_rest_comes() -> None:
    """A run among such loads: where in one order it alone makes a store hold too much, it is known, and no later."""
    rng = np.random.default_rng(23)
    made = spared = 0
    for _ in range(200):
        loads, parts = int(rng.integers(1, 4)), int(rng.integers(1, 7))
        period_s = rng.integers(60, 900, loads)
        on_s = np.maximum((period_s * rng.uniform(0.1, 0.9, loads)).astype(int), 1)
        watts, edges_s = rng.integers(1, 8, loads), np.cumsum(np.append(0, rng.integers(300, 2500, parts)))
        lasts_s = int(edges_s[-1])
        begin_s, end_s = np.sort(rng.choice(lasts_s, 2, replace=False)).tolist()
        certain_w, most_w, guest_w = rng.integers(0, 8, parts), 10, int(rng.integers(1, 8))
        cut_s = np.unique(np.append(edges_s, (begin_s, end_s)))
        part = edges_s.searchsorted(cut_s[:-1], side="right") - 1
        is_on = (cut_s[:-1] >= begin_s) & (cut_s[:-1] < end_s)
        sure_w = certain_w[part] + guest_w * is_on
        sums = sure_w + np.vstack((np.full(1, watts.sum()), (watts.sum() - watts)[:, None]))
        allowed_s = float(rng.integers(30, 900))
        found = at_most(
            cut_s.astype(float) * SECOND_MS, sums[0] > most_w, sure_w > most_w, sums[1:] > most_w,
            np.minimum(watts[:, None] / np.maximum(most_w + 1 - sure_w, 1e-9), 1.0),
            Cycles(*(one * 1000.0 for one in (on_s, period_s, on_s))),
        )  # fmt: skip
        may_matter = is_on & (sums[0] > most_w) & (certain_w[part] <= most_w)
        not_before_ms = found.holds_more_by(cut_s[:-1][may_matter] * 1000.0, allowed_s, COOLING)

        second = np.arange(lasts_s)
        certain = certain_w[edges_s.searchsorted(second, side="right") - 1]
        guest = guest_w * ((second >= begin_s) & (second < end_s))
        for _ in range(20):
            on = (second[:, None] + rng.integers(0, period_s)) % period_s < on_s
            was_w = certain + on @ watts
            passed = np.array([was_w > most_w, was_w + guest > most_w])
            was_s, held_s = store_s(np.ones(passed.shape), passed, allowed_s, COOLING)
            if held_s.max() > allowed_s >= was_s.max():
                made += 1
                assert not_before_ms is not None
                assert (int(np.argmax(held_s > allowed_s)) + 1) * SECOND_MS >= not_before_ms
        spared += not_before_ms is None and found.holds_more(allowed_s, COOLING)

    assert made > 50
    assert spared


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
