"""Whether a wish can be at all, before anything is searched: each fault at the run, or the field, it belongs to."""

from graphlib import CycleError, TopologicalSorter

import numpy as np

from app.household.errors import Faults
from app.household.fields import wall_clock_s
from app.household.resolve import Resolved
from app.household.scenario import Run
from app.planner.laundry.reading import WAKING, begins_of, bounds_ms, length_ms
from app.planner.laundry.task import SLOT_MS
from app.planner.laundry.wish import MOST_RUNS, Wish


def check_wish(resolved: Resolved, wish: Wish) -> None:
    """Raise HouseholdFaults for what cannot be; paths are `<run>.window`, `<run>.after`, `<run>.within`,
    `<run>.appliance`, `movable`, `done_by` and `quiet`.
    """  # fmt: skip
    faults = Faults()
    runs = {run.id: run for run in resolved.day.runs}
    if not wish.movable:
        faults.add("movable", "choose at least one load to be placed")
    if len(wish.movable) > MOST_RUNS:
        faults.add("movable", f"{len(wish.movable)} loads are too many for one day; choose {MOST_RUNS} at most")
    for one in wish.movable:
        if one not in runs:
            faults.add(f"{one}.appliance", "the plan has no such run; it may have been removed meanwhile")
        elif runs[one].appliance in resolved.day.off:
            faults.add(f"{one}.appliance", f"{_name(resolved, runs[one])!r} is switched off in this plan")
    faults.raise_if_any()
    _check_order(faults, resolved, wish, runs)
    faults.raise_if_any()
    _check_clocks(faults, wish)
    for one in wish.movable:
        _check_gap(faults, resolved, wish, runs, runs[one])
    faults.raise_if_any()
    for one in wish.movable:
        _check_window(faults, resolved, wish, runs[one])
    faults.raise_if_any()
    _check_machines(faults, resolved, wish, runs)
    faults.raise_if_any()


def _name(resolved: Resolved, run: Run) -> str:
    appliance = resolved.appliance(run.appliance)
    return run.appliance if appliance is None else appliance.name


def _check_order(faults: Faults, resolved: Resolved, wish: Wish, runs: dict[str, Run]) -> None:
    for one in wish.movable:
        before = runs[one].after
        if before is None:
            continue
        if before not in runs or not (runs[before].on or before in wish.movable):
            what = _name(resolved, runs[before]) if before in runs else before
            faults.add(
                f"{one}.after", f"it waits for {what!r}, which is off; place that too, or let it wait for nothing"
            )
    waits = {one: {runs[one].after} - {None} for one in runs}
    try:
        TopologicalSorter(waits).prepare()
    except CycleError as circle:
        ring = [one for one in circle.args[1] if one in runs]
        names = " -> ".join(_name(resolved, runs[one]) for one in ring)
        at = next((one for one in ring if one in wish.movable), None)
        if at is not None:
            faults.add(
                f"{at}.after", f"these wait for each other in a circle: {names}; let one of them wait for nothing"
            )


def _check_clocks(faults: Faults, wish: Wish) -> None:
    for first, last in wish.quiet:
        if first == last:
            faults.add("quiet", "quiet hours from one time to the same leave no time at all; give another end")
    if wish.done_by is not None and wish.not_before is not None:
        done_s = wall_clock_s(wish.done_by) or 24 * 3600
        if done_s <= wall_clock_s(wish.not_before):
            faults.add(
                "done_by", f"it is {wish.not_before[:5]} already; give a time after that, or plan for another day"
            )


def _check_gap(faults: Faults, resolved: Resolved, wish: Wish, runs: dict[str, Run], run: Run) -> None:
    """Both begin on full five minutes, so what follows a load of another length waits for the next ones."""
    if run.after not in wish.movable or run.within_s is None:
        return
    waits_ms = -length_ms(resolved, runs[run.after]) % SLOT_MS
    if run.within_s * 1000 < waits_ms:
        faults.add(
            f"{run.id}.within",
            f"loads begin on full five minutes, and the first after {_name(resolved, runs[run.after])!r} come"
            f" {_length(waits_ms)} after its end; give at least that",
        )


def _check_window(faults: Faults, resolved: Resolved, wish: Wish, run: Run) -> None:
    takes_ms = length_ms(resolved, run)
    first, last = run.window or WAKING
    first_s, last_s = wall_clock_s(first), wall_clock_s(last)
    window_ms = ((last_s - first_s) % (24 * 3600) or 24 * 3600) * 1000
    takes = _length(takes_ms)
    if window_ms < takes_ms:
        faults.add(
            f"{run.id}.window",
            f"it runs for {takes}, and from {first[:5]} to {last[:5]} is only {_length(window_ms)}; widen the window",
        )
        return
    if begins_of(resolved, run, wish).any():
        return
    begin_ms, end_ms = bounds_ms(resolved, run, wish)
    if end_ms - begin_ms < takes_ms:
        where = "done_by" if wish.done_by is not None else f"{run.id}.window"
        left = "no time is left" if end_ms <= begin_ms else f"only {_length(end_ms - begin_ms)} is left"
        faults.add(where, f"{_name(resolved, run)!r} runs for {takes}, and {left} for it; give it more time")
    elif wish.quiet and begins_of(resolved, run, Wish(wish.movable, (), wish.not_before, wish.done_by)).any():
        faults.add("quiet", f"{_name(resolved, run)!r} runs for {takes}, and the quiet hours leave it no such time")
    else:
        faults.add(
            f"{run.id}.after", f"it runs for {takes}, and what it waits for, or what waits for it, leaves no such time"
        )


def _check_machines(faults: Faults, resolved: Resolved, wish: Wish, runs: dict[str, Run]) -> None:
    """One machine has to do all its runs one after the other, whatever the limits say."""
    by_machine: dict[str, list[Run]] = {}
    for one in wish.movable:
        by_machine.setdefault(runs[one].appliance, []).append(runs[one])
    for mine in by_machine.values():
        slots = np.zeros(0, dtype=bool)
        needed = 0
        for run in mine:
            begins = begins_of(resolved, run, wish)
            takes = -(-length_ms(resolved, run) // SLOT_MS)
            reached = np.convolve(begins, np.ones(takes)) > 0
            slots = np.pad(slots, (0, max(len(reached) - len(slots), 0)))
            slots[: len(reached)] |= reached
            needed += takes
        there = int(slots.sum())
        if needed > there:
            faults.add(
                f"{mine[-1].id}.appliance",
                f"there is one {_name(resolved, mine[-1])!r}: {len(mine)} runs take {_length(needed * SLOT_MS)}, and"
                f" their windows hold {_length(there * SLOT_MS)}; take fewer, or widen the windows",
            )


def _length(ms: float) -> str:
    hours, minutes = divmod(-(-round(ms) // 60_000), 60)
    if not hours:
        return f"{minutes} min"
    return f"{hours} h {minutes} min" if minutes else f"{hours} h"
