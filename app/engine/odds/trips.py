"""How often a rule is broken at all: what one excursion above its lowest level does, counts once.

Each way is known by itself (`app.engine.odds.lasting`, `passing`, `starting`). Of each, some moments are drawn, and for
each is seen whether the same excursion had broken the rule before: what counts is which came first.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.engine.compiled import compiled
from app.engine.draw import HAIR
from app.engine.kinds import Flags, Floats
from app.engine.odds.broken import Broken, since_at_random, thinned, together
from app.engine.odds.entries import BY_PLAN, Moments
from app.engine.odds.lasting import Lasted
from app.engine.odds.parted import parted
from app.engine.odds.passing import SEED, Passing
from app.engine.odds.past import Spans, past_of
from app.engine.odds.started import Starts
from app.engine.odds.under import UnderRule

OF_DAYS, FEWEST, MOST = 1600, 256, 1536  # moments of each way that are looked at: of so many days, within these
ROUNDS, SURE = (1, 4, 16), 0.08  # so many times as many, until what came first is known to so large a part of itself
SAFELY = 2.0  # standard deviations
LEAST = 64  # of each way, where more would have too many spans
SELDOM = 0.002  # of all that happens: such a way counts for itself
SPANS, MOST_SPANS = 1 << 17, 1 << 20  # that are walked back together, and of one way
A_MOMENT_MS = 2e-3  # twice as long as what lasts too long is followed beyond what is allowed
TOP, START = -1, -2  # ways that are no store's; TOP is the last row of what is passed as well
NO_STORE = -3


class Way(NamedTuple):
    """One way of breaking a rule.

    store: of which level; TOP where it is the top, START where it is a start. per_day: how often. moments: some at
    which it happens; None where none are known, and each counts for itself.
    """

    store: int
    per_day: float
    moments: Broken | None


def trips_per_day(starts: Starts, top: Passing, lasted: Sequence[Lasted], lowest: Passing) -> float:
    """How often a rule is broken by starts, by what passes its top, and by what stays above a level for too long.

    lasted: per store of the rule. lowest: passing the level of the first. Where few of many moments came first, more
    are drawn; if it is still unsure how many did, as many count as there may be, the safe side.
    """
    most = _most(starts.under)
    for times in ROUNDS:
        found = _counted(starts, top, lasted, np.random.default_rng(SEED), times)
        sure = found.error <= SURE * found.inside
        if sure or 4 * times * most * spans_of_one(starts.under) > MOST_SPANS:
            break
    at_most = min(found.most, lowest.per_day, found.inside + SAFELY * found.error)
    return found.outside + (found.inside if sure else at_most)


def _most(under: UnderRule) -> int:
    """How many moments of a way are looked at, at most."""
    return min(MOST, max(int(MOST_SPANS / spans_of_one(under)), LEAST))


class _Counted(NamedTuple):
    """How often a rule is broken a day.

    outside: by starts outside any excursion, and in ways that count for themselves. inside: by what came first in its
    excursion. error: how far off that may be, one standard deviation. most: if everything inside came first.
    """

    outside: float
    inside: float
    error: float
    most: float


def _counted(
    starts: Starts, top: Passing, lasted: Sequence[Lasted], random: np.random.Generator, times: int
) -> _Counted:
    """As far as moments tell, of which so many times as many are drawn."""
    outside, inside, variance, most, known = 0.0, 0.0, 0.0, 0.0, list[tuple[Way, Broken]]()
    for way in _ways(starts, top, lasted, random, times):
        if way.moments is None:
            outside += way.per_day
        else:
            known.append((way, way.moments))
    if known:
        count = [len(moments.at_ms) for _, moments in known]
        store = np.repeat([way.store for way, _ in known], count)
        all_first, all_alone = came_first(starts, together([moments for _, moments in known]), store, random)
        for (way, moments), first, alone in zip(known, parted(all_first, count), parted(all_alone, count), strict=True):
            weight = moments.weight / moments.weight.sum()
            of_alone, of_inside = float(weight @ (first * alone)), float(weight @ (first * ~alone))
            outside += way.per_day * of_alone
            inside += way.per_day * of_inside
            most += way.per_day * (1 - float(weight @ alone))
            # Of none or all, as if half a moment were otherwise.
            as_many = 1 / float(weight @ weight)
            part = min(max(of_inside, 0.5 / as_many), 1 - 0.5 / as_many)
            variance += way.per_day**2 * part * (1 - part) / as_many
    return _Counted(outside, inside, math.sqrt(variance), most)


def _ways(
    starts: Starts, top: Passing, lasted: Sequence[Lasted], random: np.random.Generator, times: int
) -> Iterator[Way]:
    """The ways in which the rule is ever broken, with so many moments of each as are wanted, so many times over."""
    by_load, planned = sum(starts.by_load.values()), sum(starts.planned.values())
    whole = by_load + planned + top.per_day + sum(one.per_day for one in lasted)
    # With interlocks what was drawn is looked up by what was on, which must have been written down.
    unknown = starts.under.loads.scope.interlocked and any(
        block.table.gain_per_ms is not None for block in starts.under.blocks()
    )
    most = _most(starts.under)

    def moments(per_day: float, drawn: Callable[[int], Broken | None], unsure: float = 0.5) -> Broken | None:
        """unsure: so large a part of them, at most, came second while most came first, or the other way round."""
        if unknown or per_day <= SELDOM * whole:
            return None
        wanted = max(4 * unsure * (1 - unsure) * per_day * OF_DAYS, FEWEST)
        return drawn(math.ceil(min(wanted, most)) * times)

    if by_load:
        yield Way(START, by_load, moments(by_load, partial(starts.moments_by_load, random=random)))
    if planned:
        yield Way(START, planned, moments(planned, partial(starts.moments_planned, random=random)))
    if top.per_day:
        of_top = None if top.all_day else moments(top.per_day, partial(_of_top, top, random=random))
        yield Way(TOP, top.per_day, of_top)
    for store, one in enumerate(lasted):
        if one.per_day:
            # An excursion is above the lowest level once: where it comes second, another way has come first.
            unsure = 0.5 if store else min((whole - one.per_day) / one.per_day, 0.5)
            known = None if one.moments is None else partial(thinned, one.moments, random=random)
            yield Way(store, one.per_day, None if known is None else moments(one.per_day, known, unsure))


def _of_top(top: Passing, count: int, random: np.random.Generator) -> Broken | None:
    """Moments at which the running draw comes to pass the top; None where it is so rare that none could be drawn."""
    entries = Moments(top, 0.0).drawn(count, random)
    if entries is None:
        return None
    loads, by_load = top.under.loads, np.flatnonzero(entries.trigger != BY_PLAN)
    on = entries.on.T
    since_ms = since_at_random(loads, on, random)
    since_ms[by_load, entries.trigger[by_load]] = 0
    return Broken(entries.at_ms, top.under.cells.stretch[entries.cell], on, since_ms, entries.weight)


def spans_of_one(under: UnderRule) -> float:
    """How many spans one moment may have, as reckoned: what changes while the lowest level may be passed."""
    loads, scope = under.loads, under.loads.scope
    changes_per_ms = 2 * (1 / (loads.on_ms + loads.off_ms)[loads.off_ms > 0]).sum()
    edges_per_ms = (len(scope.t_ms) if under.flat else len(under.cells)) / float(scope.t_ms[-1])
    return 1 + 1000 * under.rule.allowed_s[0] * float(changes_per_ms + edges_per_ms)


def came_first(
    starts: Starts, broken: Broken, store: NDArray[np.intp], random: np.random.Generator
) -> tuple[Floats, Flags]:
    """1 of moments at which nothing had broken the rule since its lowest level came to be passed, else 0; shape (m,).

    Of starts of one instant, their equal parts. Then which are starts outside any excursion. store: as in `Way`.
    """
    under = starts.under
    allowed_ms = np.array(under.rule.allowed_s) * 1000 * (1 + HAIR)
    longest_ms = float(allowed_ms[0]) + 2 * A_MOMENT_MS  # by then the lowest level has been passed for too long
    parts, size = list[tuple[Floats, Flags]](), max(int(SPANS / spans_of_one(under)), 1)
    for begin in range(0, len(store), size):
        some = np.arange(begin, min(begin + size, len(store)))
        count, past = past_of(under, broken.of(some), longest_ms, random)
        passed, began = _passed(under, past), starts.began(past)
        parts.append(nothing_before(count, past.to_ms - past.from_ms, passed, began, store[some], allowed_ms))
    first, alone = (np.concatenate(column) for column in zip(*parts, strict=True))
    return first, alone


def _passed(under: UnderRule, past: Spans) -> Flags:
    """Whether the level of each store is passed in spans, and the top at last; shape (stores + 1, spans)."""
    use, middle_ms = under.used(past.draws), (past.from_ms + past.to_ms) / 2
    found = np.zeros((len(under.rule.allowed_s) + 1, len(middle_ms)), dtype=bool)
    for check in under.rule.checks:
        line = check.line.value[0] if check.line.is_flat else check.line.at(middle_ms)
        found[TOP if check.store is None else check.store] |= use[check.quantity] > line * (1 + HAIR)
    return found


@compiled
def nothing_before(
    count: NDArray[np.intp],
    lasts_ms: Floats,
    passed: Flags,
    began: NDArray[np.intp],
    store: NDArray[np.intp],
    allowed_ms: Floats,
) -> tuple[Floats, Flags]:
    """1 of those of m moments at which nothing had broken a rule before in the same excursion above its lowest level.

    Then which are starts that begin no excursion and are in none.

    count: how many spans each has, shape (m,). lasts_ms: of each span. passed: shape (stores + 1, spans). began: with
    how many starts that were too much each began. store: as in `Way`. Of what comes to be too much at once, a start
    comes first, then the top, then stores in order; starts of one instant have equal parts in it.
    """
    stores, moments = len(allowed_ms), len(store)
    found, alone, first = np.ones(moments), np.zeros(moments, dtype=np.bool_), 0
    for moment in range(moments):
        # How long each level had been passed; that of the moment itself has been so for as long as is allowed.
        held_ms, own = np.zeros(stores), store[moment]
        alone[moment] = store[moment] == START and not passed[0, first]
        for span in range(first, first + count[moment]):
            is_past = lasts_ms[span] > 0
            if is_past:
                if not passed[0, span]:
                    break
                if passed[stores, span]:
                    found[moment] = 0.0
                    break
                for one in range(stores):
                    if not passed[one, span]:
                        held_ms[one] = 0.0
                        if one == own:
                            own = NO_STORE
                        continue
                    held_ms[one] += lasts_ms[span]
                    sooner = A_MOMENT_MS if one < store[moment] else -A_MOMENT_MS
                    if one != own and held_ms[one] + sooner > allowed_ms[one]:
                        found[moment] = 0.0
                if found[moment] == 0:
                    break
            if began[span] and not is_past and store[moment] == START:
                found[moment] = 1 / began[span]
            elif began[span]:
                found[moment] = 0.0
                break
        first += count[moment]
    return found, alone
