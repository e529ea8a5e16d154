"""Stairs of certain draws say what flags for every state and step would; moments are followed alike either way."""

from dataclasses import replace
from functools import partial

import numpy as np
import pytest

from app.engine.assess import assess_day
from app.engine.day import PlannedDay, lay_day
from app.engine.draw import Draws
from app.engine.odds.by_state import ByState, by_state
from app.engine.odds.entries import Moments
from app.engine.odds.first_step import first_passed
from app.engine.odds.followed import Followed
from app.engine.odds.lasting import _side_by_side
from app.engine.odds.odds import OddsOfDay
from app.engine.odds.passing import Passing
from app.engine.odds.quantities import OF_INVERTER
from app.engine.odds.stairs import stairs_of
from app.engine.odds.starting import _slowly, _where_too_much
from app.household.file import household_from
from app.household.resolve import resolve
from tests.benchmarks.odds import LIMITS, household


def some_draws(count: int, random: np.random.Generator) -> Draws:
    """Draws of round figures, so that some are alike, and none mostly reactive."""
    p_w, q_var, spread_w2 = (random.integers(low, low + 10, count).astype(np.float64) for low in (6, 0, 0))
    return Draws(100 * p_w, 80 * q_var, 0 * p_w, 900 * spread_w2)


@pytest.mark.parametrize("alone", [False, True])
@pytest.mark.parametrize("seed", range(4))
def test_stairs_only_rise_and_hold_every_item(seed: int, *, alone: bool) -> None:
    """Items that are alike share a step; from step to step no figure falls."""
    certain = some_draws(60, np.random.default_rng(seed))
    figures = certain.figures
    stairs = stairs_of(figures, alone=alone)

    assert stairs.height.sum() == len(np.unique(figures, axis=1).T)
    stair, step = np.divmod(stairs.of_item, stairs.width)
    assert (step < stairs.height[stair]).all()
    assert (figures[:, stairs.item[stair, step]] == figures).all()
    for number, height in enumerate(stairs.height):
        assert (np.diff(figures[:, stairs.item[number, :height]], axis=1) >= 0).all()
    assert (stairs.height == 1).all() or not alone


@pytest.mark.parametrize("alone", [False, True])
@pytest.mark.parametrize("quantity", OF_INVERTER)
def test_the_first_step_that_is_passed_is_that_of_all_flags(quantity: object, *, alone: bool) -> None:
    """Every state with every item, one by one, against the place that was found by halving."""
    assert callable(quantity)
    random = np.random.default_rng(5)
    certain, states = some_draws(40, random), some_draws(64, random)
    stairs = stairs_of(certain.figures, alone=alone)
    limits = [np.full(40, limit) for limit in (0.0, 1300.0, 2000.0, 2345.6, 1e6)]
    if alone:  # a line that moves sinks from step to step, and is looked up otherwise
        limits[1] = np.where(stairs.of_item // stairs.width % 2, 1300.0, 1350.0)
    places = first_passed(states, certain, stairs, quantity, limits) + stairs.first

    use = quantity(states.with_each(certain))
    for place, limit in zip(places, limits, strict=True):
        found = place[:, stairs.of_item // stairs.width] <= stairs.of_item
        assert (found == (use > limit)).all()


@pytest.fixture(scope="module")
def day() -> PlannedDay:
    """Eight loads that come and go, beside a machine of many stages."""
    laid = lay_day(resolve(household_from(household(8))))
    assess_day(laid, None)
    return laid


@pytest.mark.parametrize("store", [0, 1, 2])
def test_followed_by_state_as_by_draw(day: PlannedDay, store: int) -> None:
    """What is looked up one by one comes to what is added up side by side, within four errors of both; so does how far
    off each is.
    """
    under, count = OddsOfDay(day, LIMITS)._house.under, 8000
    passing, allowed_ms = Passing(under, under.rule.of_store(store)), under.rule.allowed_s[store] * 1000
    assert by_state(under)
    found = []
    for follow in (partial(_side_by_side, passing), ByState(passing).follow):
        random = np.random.default_rng(3)
        entries = Moments(passing, allowed_ms).drawn(count, random)
        assert entries is not None
        found.append(np.array(follow(entries, allowed_ms, random).sums()) / count)

    (drawn, of_drawn), (looked_up, of_looked_up) = found
    assert drawn[0] > 0
    errors = np.sqrt((of_drawn - drawn**2 + of_looked_up - looked_up**2) / count)
    assert (np.abs(drawn - looked_up) <= 4 * errors).all()
    assert of_looked_up == pytest.approx(of_drawn, rel=0.2)


def test_holding_loads_changes_no_mean(day: PlannedDay, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is weighed comes to what is counted, within four of its errors."""
    under = OddsOfDay(day, LIMITS)._house.under
    passing, allowed_ms = Passing(under, under.rule.of_store(1)), under.rule.allowed_s[1] * 1000
    parts = []
    for held in (True, False):
        if not held:
            monkeypatch.setattr("app.engine.odds.followed.MOST_HELD", 0)
        random = np.random.default_rng(4)
        entries = Moments(passing, allowed_ms).drawn(6000, random)
        assert entries is not None
        followed = Followed(passing, entries, allowed_ms, random)
        followed.run()
        weights, squares = followed.lasting.sums()
        parts.append((weights[0] / 6000, squares[0] / 6000))

    (weighed, square), (counted, _) = parts
    assert square < weighed  # no weight above one, and most below
    assert weighed == pytest.approx(counted, abs=4 * np.sqrt(counted * (1 - counted) / 6000))


def test_watts_alone_are_looked_up() -> None:
    """On one stair the first step passed is told by what a state leaves of each line; a line that is met is not."""
    certain_w, states_w = np.array([0.0, 100.0, 100.0, 250.0, 400.0]), np.array([0.0, 50.0, 149.5, 300.0])
    certain, states = (Draws(one, 0 * one, 0 * one, 0 * one) for one in (certain_w, states_w))
    stairs = stairs_of(certain.figures, alone=False)
    limits = [np.full(5, limit) for limit in (-1.0, 300.0, 450.0, 1e6)]
    steps = first_passed(states, certain, stairs, OF_INVERTER[0], limits)

    for step, limit in zip(steps, limits, strict=True):
        assert ((step <= stairs.of_item) == (states_w[:, None] + certain_w > limit)).all()


def test_cells_of_the_day_stand_on_the_stairs_of_all(day: PlannedDay) -> None:
    """Worked out with what comes after midnight or by itself, a block says the same."""
    under = OddsOfDay(day, LIMITS)._house.under
    (block,) = under.blocks()
    alone = replace(block, part_of=None, _asked={})
    assert block.part_of is not None
    for store in (None, 0, 1, 2):
        checks = under.rule.of_store(store)
        assert block.likely(checks) == pytest.approx(alone.likely(checks), rel=1e-12)
        assert block.passed(checks).of_state_ms == pytest.approx(alone.passed(checks).of_state_ms, rel=1e-12)


def test_starts_at_once_as_state_by_state(day: PlannedDay) -> None:
    """All starts of a view together come to what each comes to with every state and every stretch."""
    under = OddsOfDay(day, LIMITS)._house.under
    checks = tuple(under.rule.of_store(None))
    starts = list(day.house.unscheduled)
    at_once = [sum(one.held_ms.sum() for one in where) for where in _where_too_much(under, starts, checks)]

    assert len(starts) > 1 and min(at_once) > 0
    for start, ms in zip(starts, at_once, strict=True):
        slowly_ms = sum(one.held_ms.sum() for one in _slowly(under, start, checks, start.stretch))
        assert ms == pytest.approx(slowly_ms, rel=1e-9)
