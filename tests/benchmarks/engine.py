"""Engine benchmarks: ratios against the obvious approach, both timed in turn in one process."""

import time
from collections.abc import Callable, Iterator
from statistics import median
from typing import Any

import numpy as np
from numpy.typing import NDArray

from app.engine.assess import assess, assess_day
from app.engine.day import lay_day
from app.engine.draw import draw_of
from app.engine.results import Instants
from app.engine.stack import Deltas, Programmes, compile_programmes, stack_runs
from app.engine.sun import suns_of
from app.household.demo import demo_text
from app.household.file import household_from, read_household
from app.household.resolve import resolve
from tests.benchmarks.dense import dense_per_load, dense_total
from tests.benchmarks.mix import SEEDS, demo_mix, household, placed_runs, programmes


def steps_ms(stages: list[dict[str, Any]]) -> Iterator[tuple[int, int, complex]]:
    """A programme's stages and starts as changes over stretches, in ms from its beginning."""
    at_ms = 0
    for stage in stages:
        running = complex(*draw_of(stage["watts"], stage["power_factor"], "lagging")[:2])
        yield at_ms, at_ms + round(stage["duration_s"] * 1000), running
        if "start" in stage:
            start = stage["start"]
            kick = complex(*draw_of(start["va"] * start["power_factor"], start["power_factor"], "lagging")[:2])
            yield at_ms, at_ms + round(start["duration_s"] * 1000), kick - running
        at_ms += round(stage["duration_s"] * 1000)


def compiled(shapes: list[list[dict[str, Any]]]) -> Programmes:
    """The same programmes for the event-exact stack."""
    owner, offset, change = [], [], []
    for number, stages in enumerate(shapes):
        for begin_ms, end_ms, delta in steps_ms(stages):
            owner += [number, number]
            offset += [begin_ms, end_ms]
            change += [delta, -delta]
    return compile_programmes(np.array(owner), np.array(offset), np.array([change]), len(shapes))


def settled(t_ms: Instants) -> NDArray[np.intp]:
    """Places of the sums that really are: of each instant, the one after its last step."""
    last = np.empty(len(t_ms), dtype=bool)
    last[-1:] = True
    np.not_equal(t_ms[1:], t_ms[:-1], out=last[:-1])
    return last.nonzero()[0]


def peak_of(t_ms: Instants, sums: Deltas) -> float:
    """The largest magnitude that one channel ever has."""
    return float(np.abs(sums.take(settled(t_ms))).max(initial=0.0))


def seconds_of(call: Callable[[], object], repeats: int) -> float:
    """Seconds of a call: the mean of so many, timed together, so that the clock itself does not count."""
    begin = time.perf_counter()
    for _ in range(repeats):
        call()
    return (time.perf_counter() - begin) / repeats


def profile_ratios(runs: int, repeats: int) -> dict[str, float]:
    """Dense over event-exact, for the profile alone and with the running peak; medians over the seeds."""
    plain, with_peak, over_floor, sizes = [], [], [], []
    for seed in SEEDS:
        shapes = programmes(seed)
        placed = placed_runs(seed, runs)
        dense_runs = [(shapes[programme], start_s) for programme, start_s in placed]
        stack = compiled(shapes)
        which = np.array([programme for programme, _ in placed])
        begin_ms = np.array([start_s * 1000 for _, start_s in placed])
        events = len(stack_runs(stack, which, begin_ms)[0])
        sizes.append(events)
        rng = np.random.default_rng(seed)
        instants, changes = rng.integers(0, 86_400_000, events), rng.normal(size=events) + 0j
        spare = np.empty_like(instants)

        def floor(instants=instants, changes=changes, spare=spare) -> object:  # type: ignore[no-untyped-def]
            np.copyto(spare, instants)
            spare.sort()
            return np.cumsum(changes)

        def ours(stack=stack, which=which, begin_ms=begin_ms):  # type: ignore[no-untyped-def]
            return stack_runs(stack, which, begin_ms)

        def ours_peak(ours=ours) -> object:  # type: ignore[no-untyped-def]
            return peak_of(*ours())

        def theirs(dense_runs=dense_runs) -> object:  # type: ignore[no-untyped-def]
            return dense_total(dense_runs)

        def theirs_peak(dense_runs=dense_runs) -> object:  # type: ignore[no-untyped-def]
            return np.abs(dense_total(dense_runs)).max()

        # In turn, so that a slow moment of the machine falls on both.
        figures = {one: [] for one in (floor, ours, ours_peak, theirs, theirs_peak)}  # type: ignore[var-annotated]
        for _ in range(9):
            for call in figures:
                quick = call not in (theirs, theirs_peak)
                figures[call].append(seconds_of(call, 5 * repeats if quick else max(repeats // 10, 1)))
        took = {call: median(values) for call, values in figures.items()}
        plain.append(took[theirs] / took[ours])
        with_peak.append(took[theirs_peak] / took[ours_peak])
        over_floor.append(took[ours] / took[floor])
    return {
        "events": median(sizes),
        "dense_over_profile": median(plain),
        "dense_over_profile_with_peak": median(with_peak),
        "profile_over_sort_and_sum": median(over_floor),
    }


def assess_ratio(runs: int, repeats: int) -> dict[str, float]:
    """The whole of `assess` over the dense per-load stack of the same horizon alone."""
    ratios, milliseconds = [], []
    for seed in SEEDS:
        home = household_from(household(seed, runs))
        shapes = programmes(seed)
        dense_runs = [(shapes[programme], start_s) for programme, start_s in placed_runs(seed, runs)]
        assess(home)

        def theirs(dense_runs=dense_runs) -> object:  # type: ignore[no-untyped-def]
            return dense_per_load(dense_runs, 36 * 3600)

        ours_s, theirs_s = [], []
        for _ in range(repeats):
            ours_s.append(seconds_of(lambda home=home: assess(home), 1))  # type: ignore[misc]
            theirs_s.append(seconds_of(theirs, 1))
        ratios.append(median(ours_s) / median(theirs_s))
        milliseconds.append(median(ours_s) * 1000)
    return {"assess_over_dense_per_load": median(ratios), "assess_ms": median(milliseconds)}


def demo_figures(repeats: int) -> dict[str, float]:
    """Milliseconds of `assess` for each plan of the demo household, whatever comes out."""
    home = read_household(demo_text())
    return {
        scenario.id: median(seconds_of(lambda one=scenario.id: assess(home, one), 1) for _ in range(repeats)) * 1000  # type: ignore[misc]
        for scenario in home.scenarios
    }


def sun_ratios(runs: int, repeats: int) -> dict[str, float]:
    """Laying and assessing a day with its sun at hand, over the same without sun and bank.

    Of the demo's plans, and of a day of so many runs in the demo's supply; both in turn, medians.
    """
    home, busy = read_household(demo_text()), household_from(demo_mix(runs))
    plans = {one.id: resolve(home, one.id) for one in home.scenarios} | {f"{runs} runs": resolve(busy)}
    ratios = {}
    for name, resolved in plans.items():
        suns = suns_of(resolved)
        with_sun_s, without_s = [], []
        for _ in range(repeats):
            with_sun_s.append(seconds_of(lambda day=resolved, given=suns: assess_day(lay_day(day), given), 1))  # type: ignore[misc]
            without_s.append(seconds_of(lambda day=resolved: assess_day(lay_day(day), None), 1))  # type: ignore[misc]
        ratios[name] = median(with_sun_s) / median(without_s)
    return ratios
