"""Nothing fits: which limit, which runs are in each other's way, and the smallest thing that would make it possible."""

from collections.abc import Iterator
from dataclasses import replace
from time import monotonic

from app.household.errors import HouseholdFaults
from app.household.fields import wall_clock_s
from app.household.resolve import Resolved
from app.planner.laundry.asked import check_wish
from app.planner.laundry.found import Easing, Proposal, Stuck
from app.planner.laundry.look import Looked
from app.planner.laundry.placing import placed
from app.planner.laundry.reading import WAKING
from app.planner.laundry.wish import Wish

LOOK_S = 0.6  # for each question; what is not found in that time counts as not possible
LATER_H = (1, 2, 3, 4)
LATEST_H = 23
EASINGS = 3  # offered at most
WIDER_H = (1, 2, 4)
# How long people are let wait: for who is in whose way, for leaving something off, and for all that would help.
WAY_S, OFF_S, HELP_S = 4.0, 3.0, 7.0
LEAST_FIRST = ("done_by", "quiet", "window", "chance", "leave_off")


def why_stuck(resolved: Resolved, wish: Wish, seed: int) -> Stuck:
    """Why a wish for which no day was found has none, and what would help; every easing was assessed."""
    bare = placed(resolved, {}, off=wish.movable)
    looked = Looked(bare, wish, seed)
    looked.look(LOOK_S, lambda _proposal, _bound: True, prove=False)
    often = [limit for limit, _ in looked.refused.most_common() if limit]
    runs = _in_each_others_way(bare, wish, seed)
    easings = sorted(_easings(bare, wish, runs, seed), key=lambda easing: LEAST_FIRST.index(easing.kind))
    return Stuck(often[0] if often else None, runs, tuple(easings[:EASINGS]))


def _in_each_others_way(bare: Resolved, wish: Wish, seed: int) -> tuple[str, ...]:
    """A smallest set with no day of its own: whatever can be left out with the rest still stuck is left out.

    Of many runs, as small a set as is found in the time there is.
    """
    left, ends_at = list(wish.movable), monotonic() + WAY_S
    for one in wish.movable:
        gone = _with_waiting(bare, one, left)
        without = tuple(run for run in left if run not in gone)
        if one in left and without and _day(bare, replace(wish, movable=without), seed) is None:
            left = list(without)
        if monotonic() > ends_at:
            break
    return tuple(left)


def _with_waiting(bare: Resolved, run_id: str, among: list[str]) -> set[str]:
    """A run, what waits for it, and what waits for that."""
    found = {run_id}
    for run in bare.day.runs:
        if run.after == run_id and run.id in among:
            found |= _with_waiting(bare, run.id, among)
    return found


def _easings(bare: Resolved, wish: Wish, runs: tuple[str, ...], seed: int) -> Iterator[Easing]:
    """Changes of one thing: later, quiet hours, what could cut out, leaving off as few as can be, and a window."""
    ends_at = monotonic() + HELP_S
    if wish.done_by is not None:
        done_h = wall_clock_s(wish.done_by) / 3600
        for clock in (f"{int(done_h + more):02d}:{wish.done_by[3:5]}" for more in LATER_H if done_h + more <= LATEST_H):
            day = _day(bare, replace(wish, done_by=clock), seed)
            if day is not None:
                yield Easing("done_by", None, clock, day)
                break
    if wish.quiet:
        day = _day(bare, replace(wish, quiet=()), seed)
        if day is not None:
            yield Easing("quiet", None, None, day)
    if not wish.chance:
        day = _day(bare, replace(wish, chance=True), seed)
        if day is not None:
            yield Easing("chance", None, None, day)
    yield from _left_off(bare, wish, runs, seed)
    yield from _wider(bare, wish, runs, seed, ends_at)


def _left_off(bare: Resolved, wish: Wish, runs: tuple[str, ...], seed: int) -> Iterator[Easing]:
    """As few as can be left off: one of those in each other's way, or some of them, and others then."""
    begins_at = monotonic()
    in_turn = *reversed(runs), *(run for run in reversed(wish.movable) if run not in runs)
    for off in [*((one,) for one in reversed(runs)), *(in_turn[:count] for count in range(2, len(in_turn)))]:
        if monotonic() > begins_at + OFF_S * min(len(off), 2):
            continue  # for one there is half the time
        gone = {run for one in off for run in _with_waiting(bare, one, list(wish.movable))}
        left = tuple(run for run in wish.movable if run not in gone)
        day = _day(bare, replace(wish, movable=left), seed) if left else None
        if day is not None:
            yield Easing("leave_off", off[0], None, day)
            return


def _wider(bare: Resolved, wish: Wish, runs: tuple[str, ...], seed: int, ends_at: float) -> Iterator[Easing]:
    """The window that need be widened least, with where its run would begin."""
    for hours in WIDER_H:
        for one in runs:
            if monotonic() > ends_at:
                return
            day = _day(_with_window(bare, one, hours), wish, seed)
            if day is not None:
                yield Easing("window", one, day.starts[one], day)
                return


def _with_window(bare: Resolved, run_id: str, hours: int) -> Resolved:
    """The same plan with one run's window so much wider at both ends, within the day."""
    runs = []
    for run in bare.day.runs:
        if run.id == run_id:
            first_s, last_s = (wall_clock_s(edge) for edge in run.window or WAKING)
            last_s = last_s if last_s > first_s else 24 * 3600
            edges = max(first_s - hours * 3600, 0), min(last_s + hours * 3600, 24 * 3600) % (24 * 3600)
            run = run.model_copy(update={"window": tuple(f"{s // 3600:02d}:{s % 3600 // 60:02d}" for s in edges)})
        runs.append(run)
    return replace(bare, day=replace(bare.day, runs=tuple(runs)))


def _day(bare: Resolved, wish: Wish, seed: int) -> Proposal | None:
    """The first day that is found for a wish, if any is."""
    try:
        check_wish(bare, wish)
        return Looked(bare, wish, seed).look(LOOK_S, lambda one, _bound: one is None, prove=False)
    except HouseholdFaults:
        return None
