"""What is wanted of a laundry day: which runs are to be placed, and what must hold wherever they go."""

from dataclasses import dataclass

MOST_RUNS = 20


@dataclass(frozen=True, slots=True)
class Wish:
    """Runs of a plan whose starts are to be found.

    movable: their ids; each run's own `window`, `after`, `within_s` and `duration_s` hold, and a window holds the
    whole run.
    quiet: stretches of wall clock (from, to) in which none of them may run; they may pass midnight.
    not_before: the wall clock now, None for any time of the day. done_by: when all have ended, None for no such time;
    a `done_by` at or before 00:00 is the next midnight.
    chance: whether a plan that could cut out is allowed.
    """

    movable: tuple[str, ...]
    quiet: tuple[tuple[str, str], ...] = ()
    not_before: str | None = None
    done_by: str | None = None
    chance: bool = False
