"""Moments that are followed where no line moves and the same loads stand all day: each by itself, in compiled loops.

There a state and a stretch say what is passed: nothing is added up on the way. What is held and how it is weighed is
as in `app.engine.odds.followed`, which says why. Loads that come on in time keep it going where others go off; they are
drawn more often than they come, and count for less. (Importance sampling; see any text on simulation.)
"""

import numpy as np
from numpy.typing import NDArray

from app.engine.compiled import compiled
from app.engine.kinds import Flags, Floats
from app.engine.odds.broken import Broken, Lasting
from app.engine.odds.entries import Entries
from app.engine.odds.passing import Passing
from app.engine.odds.under import AT_ONCE, UnderRule

MOST_EVENTS = 2000  # of one moment; what goes on after so many is taken to last
A_MOMENT_MS = 1e-3
# How much more often what comes on in time is drawn, of loads that matter: measured, a fifth less variance, and with
# twice as much more than without. What comes as often as `OFTEN` by itself needs no help.
MORE_OFTEN, OFTEN = 0.5, 0.25
RARE = 1e-9
NEVER = -1  # a place below all others: nothing is passed there


def by_state(under: UnderRule) -> bool:
    """Whether passings may be followed so."""
    whole = under.whole if under.flat else None
    if whole is None or whole.table.gain_per_ms is not None:
        return False
    return len(whole.table.weight) * len(whole.stairs.height) <= AT_ONCE


class ByState:
    """Follows moments of a passing of which `by_state` says that it may."""

    def __init__(self, passing: Passing) -> None:
        whole, loads = passing.under.whole, passing.under.loads
        assert whole is not None, "by_state was not asked"
        self._loads, self._some, self._rises = loads, whole.table.loads, whole.rises
        self._stretch, self._width = passing.under.cells.stretch, whole.stairs.width
        self._here = np.full(len(loads.scope.begin_ms), NEVER, dtype=np.int32)
        self._here[whole.cells.stretch] = whole.stairs.of_item
        self._place = np.full(len(loads.on_ms) + 1, len(self._some))  # of no load, such as BY_PLAN, at the end
        self._place[self._some] = np.arange(len(self._some))
        each_of = [
            whole.passed([check for check in passing.checks if check.quantity == one])
            for one in sorted({check.quantity for check in passing.checks})
        ]
        period_ms = loads.on_ms + loads.off_ms
        takes_past = (passing.by_each_load * period_ms)[self._some]  # as likely as each does where it may
        self._matters = np.minimum(takes_past * len(self._some) / max(float(takes_past.sum()), RARE), 1.0)
        self._any_of, self._each_of = whole.passed(passing.checks).short, np.array([one.short for one in each_of])

    def follow(self, entries: Entries, allowed_ms: float, random: np.random.Generator) -> Lasting:
        """Those that last too long, of some that are all followed."""
        loads, some = self._loads, self._some
        weight, own, on, since_ms, stretch, at_ms = follow_all(
            entries.on[some],
            self._stretch[entries.cell],
            entries.at_ms,
            self._place[entries.trigger],
            entries.weight,
            loads.on_ms[some],
            loads.off_ms[some],
            self._matters,
            loads.scope.t_ms.astype(float),
            self._here,
            self._width,
            self._any_of,
            self._each_of,
            self._rises,
            float(allowed_ms),
            random.random((len(entries.cell), len(some))),
        )
        if len(some) < len(loads.on_ms):
            on_of_all = np.repeat((loads.off_ms <= 0)[None], len(weight), axis=0)
            since_of_all_ms = np.zeros(on_of_all.shape)
            on_of_all[:, some], since_of_all_ms[:, some] = on, since_ms
            on, since_ms = on_of_all, since_of_all_ms
        return Lasting(own, Broken(at_ms, stretch, on, since_ms, weight))


@compiled
def follow_all(
    on_at_first: Flags,
    stretch: NDArray[np.intp],
    begin_ms: Floats,
    trigger: NDArray[np.intp],
    weight: Floats,
    on_ms: Floats,
    off_ms: Floats,
    matters: Floats,
    t_ms: Floats,
    here: NDArray[np.int32],
    width: int,
    any_of: NDArray[np.int32],
    each_of: NDArray[np.int32],
    rises: bool,
    allowed_ms: float,
    parts: Floats,
) -> tuple[Floats, Floats, Flags, Floats, NDArray[np.intp], Floats]:
    """Which of m moments last too long: what each counts for, and whether each quantity is still passed then.

    Returns weights, shape (m,), nothing where it does not last; 1 or 0, shape (quantities, m); and of those that last,
    when it becomes too long, which loads are on and for how long each has been so, shape (m, n), the stretch and the
    instant.

    on_at_first: shape (n, m). stretch, begin_ms, weight: of each moment, shape (m,). trigger: which of the n loads
    changed just then; n where none did. on_ms, off_ms: shape (n,). matters: 0 to 1, how much it matters that each load
    comes on, shape (n,). t_ms: edges of stretches. here: the place of each stretch on its stair. width: places of a
    stair. any_of: from which place on a line is passed, shape (states, stairs); each_of: the same per quantity. rises:
    no load that comes on ends it. parts: how much of its time on, or off, each load has had, at random from 0 to 1,
    shape (m, n); drawn together, which takes a third of the time.
    """
    loads, quantities, moments = len(on_ms), len(each_of), len(begin_ms)
    weights, own = np.zeros(moments), np.zeros((quantities, moments))
    on_at_last, since_ms = np.empty((moments, loads), dtype=np.bool_), np.empty((moments, loads))
    where, when_ms = np.zeros(moments, dtype=np.intp), np.zeros(moments)
    next_ms, latest_ms, last_ms = np.empty(loads), np.empty(loads), np.empty(quantities)
    # Without a sign: what may count from an array's end is looked up more slowly.
    held, acting = np.empty(loads, dtype=np.uint32), np.empty(loads, dtype=np.uint32)
    # Of each that is off: how likely it is to come on in time, how often it is drawn to, and what it then counts for.
    # Load by load and not as arrays, which take the compiler three times as long.
    likely, drawn, weighs_in_time, weighs_late = np.empty(loads), np.empty(loads), np.empty(loads), np.empty(loads)
    for load in range(loads):
        likely[load] = min(allowed_ms / off_ms[load], 1.0)
        drawn[load] = (1 + MORE_OFTEN * matters[load] if likely[load] < OFTEN else 1.0) * likely[load]
        weighs_in_time[load] = likely[load] / drawn[load]
        weighs_late[load] = (1 - likely[load]) / max(1 - drawn[load], RARE)
    stair_of = np.empty(len(here), dtype=np.intp)
    for at in range(len(here)):
        stair_of[at] = max(here[at], 0) // width
    for moment in range(moments):
        at, counts, on, many_acting = stretch[moment], weight[moment], 0, 0
        now_ms = begin_ms[moment]
        until_ms = now_ms
        stop_ms = now_ms + allowed_ms + A_MOMENT_MS
        for load in range(loads):
            on |= on_at_first[load, moment] << load
            lasts_ms = on_ms[load] if on >> load & 1 else off_ms[load]
            latest_ms[load] = now_ms + lasts_ms
            # How much of it is left, as a part: what comes on in time is drawn more often than it does.
            left = 1 - parts[moment, load]
            if load == trigger[moment]:
                left = 1.0
            elif on >> load & 1 == 0 and drawn[load] > likely[load]:
                in_time = left < drawn[load]
                weighs = weighs_in_time[load] if in_time else weighs_late[load]
                left = left * weighs if in_time else 1 - (1 - left) * weighs
                counts *= weighs
            next_ms[load] = now_ms + left * lasts_ms
            # What stays off until it has lasted is not looked at before.
            if not rises or on >> load & 1 or next_ms[load] <= stop_ms:
                acting[many_acting] = load
                many_acting += 1
        for one in range(quantities):
            last_ms[one] = 0.0
        for event in range(MOST_EVENTS):
            place, stair = here[at], stair_of[at]
            if any_of[on, stair] > place or counts <= 0:
                break
            edge_ms = t_ms[at + 1]
            waiting = now_ms < stop_ms
            then_ms = min(stop_ms, edge_ms) if waiting else edge_ms
            which, many = loads, 0
            # Loads whose change would end it are held; of the others one changes next, or the plan does.
            for number in range(many_acting):
                load = acting[number]
                # All of it is looked at, for which way it goes is at random, and a wrong guess costs more.
                would_end_it = any_of[on ^ (1 << load), stair] > place
                if would_end_it & waiting & (next_ms[load] < latest_ms[load]):
                    held[many] = load
                    many += 1
                elif next_ms[load] <= then_ms:
                    then_ms, which = next_ms[load], load
            for number in range(many):
                load = held[number]
                stays = max(latest_ms[load] - then_ms, 0.0) / (latest_ms[load] - now_ms)
                counts *= stays
                next_ms[load] = latest_ms[load] - stays * (latest_ms[load] - next_ms[load])
            until_ms = now_ms = then_ms
            if waiting and (now_ms >= stop_ms or event == MOST_EVENTS - 1):
                where[moment], when_ms[moment] = at, now_ms
                many_acting = loads
                for load in range(loads):
                    acting[load] = load
                    on_at_last[moment, load] = on >> load & 1
                    lasts_ms = on_ms[load] if on >> load & 1 else off_ms[load]
                    since_ms[moment, load] = lasts_ms - (next_ms[load] - now_ms)
            long = True
            for one in range(quantities):
                if each_of[one, on, stair] <= place:
                    last_ms[one] = now_ms - begin_ms[moment]
                long = long and last_ms[one] > allowed_ms
            if long:
                break
            if which < loads:
                on ^= 1 << which
                next_ms[which] += on_ms[which] if on >> which & 1 else off_ms[which]
                latest_ms[which] = next_ms[which]
            if edge_ms <= now_ms:
                at += 1
                if at + 1 >= len(t_ms):
                    break
        else:
            until_ms = np.inf
            for one in range(quantities):
                last_ms[one] = np.inf
        if until_ms - begin_ms[moment] > allowed_ms:
            weights[moment] = counts
            for one in range(quantities):
                own[one, moment] = 1.0 if last_ms[one] > allowed_ms else 0.0
    return weights, own, on_at_last, since_ms, where, when_ms
