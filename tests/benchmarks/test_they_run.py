"""The benchmarks run, and what they time is exact. Nothing here judges a time."""

import json

import numpy as np
import pytest

from app.engine.stack import stack_runs
from app.planner.laundry.found import Proposal
from tests.benchmarks import laundry
from tests.benchmarks.engine import (
    assess_ratio,
    compiled,
    demo_figures,
    peak_of,
    profile_ratios,
    settled,
    steps_ms,
    sun_ratios,
)
from tests.benchmarks.mix import SEEDS, placed_runs, programmes
from tests.benchmarks.odds import odds_ratios
from tests.benchmarks.tap import tap_figures


@pytest.mark.parametrize("seed", SEEDS)
def test_the_stack_is_exact_at_every_instant(seed: int) -> None:
    """Every value equals a plain sum over all steps to 1e-9; so does the peak."""
    shapes, placed = programmes(seed), placed_runs(seed, 40)
    which = np.array([programme for programme, _ in placed])
    begin_ms = np.array([start_s * 1000 for _, start_s in placed])

    t_ms, all_sums = stack_runs(compiled(shapes), which, begin_ms)
    places = settled(t_ms)
    peak_va = peak_of(t_ms, all_sums)
    t_ms, sums = t_ms[places], all_sums[places]

    plain = np.zeros(len(t_ms), dtype=complex)
    for programme, start_s in placed:
        for begin, end, change in steps_ms(shapes[programme]):
            inside = (t_ms >= start_s * 1000 + begin) & (t_ms < start_s * 1000 + end)
            plain[inside] += change
    assert np.all(np.diff(t_ms) > 0)
    assert np.abs(sums - plain).max() < 1e-9
    assert abs(peak_va - np.abs(plain).max()) < 1e-9


def test_a_run_makes_about_nineteen_steps() -> None:
    """The mix is the one the foundations fix."""
    assert 18 <= profile_ratios(40, 3)["events"] / 40 <= 21


def test_the_measurements_run() -> None:
    """Each measurement gives a figure."""
    assert assess_ratio(4, 1)["assess_ms"] > 0
    assert set(demo_figures(1)) == {"ordinary", "laundry", "shed"}
    assert odds_ratios(loads=3, many=17, repeats=1, days=500)["simulated_over_odds"] > 0
    assert tap_figures(appliances=20, runs=4, taps=5)["p95_ms"] > 0
    assert set(sun_ratios(4, 1)) == {"ordinary", "laundry", "shed", "4 runs"}


def test_a_laundry_days_course_is_told() -> None:
    """Better and better, and never below the best known by more than rounding."""
    best = json.loads(laundry.BEST.read_text())
    told, found = laundry.course(0, 10, 0.5, 1, prove=False)
    assert isinstance(found, Proposal)
    assert [wh for _, wh in told] == sorted((wh for _, wh in told), reverse=True)
    assert laundry.after(told, 0.5) >= best["10"][0] - 10
    assert laundry.reached(told, told[-1][1]) == told[-1][0]
