"""Passings where more loads come and go than can be written down: states are drawn at random, and weighed.

Loads are drawn on more often than they are, so that the draw is about where a line stands, and each state drawn
counts by how much likelier it was drawn than it is (importance sampling with an exponential tilt, as any text on
rare events has it).
"""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.engine.draw import Draws
from app.engine.heat import Check
from app.engine.kinds import Flags, Floats
from app.engine.odds.loads import Loads
from app.engine.odds.under import Block, UnderRule

DRAWN = 128  # states for each cell


class Sample(NamedTuple):
    """States of one cell in which a line is passed.

    on: shape (loads, m), of all loads. by_load, by_plan: shape (m,), how often a day each stands for comes about by a
    load, and by the plan as the cell begins. trigger: the load it is.
    """

    cell: int
    on: Flags
    by_load: Floats
    by_plan: Floats
    trigger: NDArray[np.intp]


def sampled(
    under: UnderRule, block: Block, checks: Sequence[Check], counted: Floats, random: np.random.Generator
) -> Iterator[Sample]:
    """States drawn for each cell of a block."""
    about_w = reach_w(under, checks, float(block.cells.from_ms[0]))
    for place in range(len(block.cells)):
        yield _sampled(under, block, place, checks, counted, about_w, random)


def _sampled(
    under: UnderRule, block: Block, place: int, checks: Sequence[Check], counted: Floats, about_w: float,
    random: np.random.Generator,
) -> Sample:  # fmt: skip
    loads, some = under.loads, block.table.loads
    stretch, number = int(block.cells.stretch[place]), int(block.number[place])
    own = _of_loads(loads, stretch)
    certain = loads.scope.certain.take(stretch)
    middle_ms = float(block.cells.from_ms[place] + block.cells.to_ms[place]) / 2
    share = loads.share[some]
    tilted = _tilted(own.p_w[some], share, about_w - float(certain.p_w))
    on = np.zeros((len(loads.on_ms), DRAWN), dtype=bool)
    on[loads.off_ms <= 0] = True
    on[some] = random.random((len(some), DRAWN)) < tilted[:, None]
    likelier = np.where(on[some], (share / tilted)[:, None], ((1 - share) / (1 - tilted))[:, None]).prod(axis=0)
    passed = _passed(under, checks, certain + _sum(own, on), middle_ms)
    on, weight = on[:, passed], likelier[passed] / DRAWN
    # Each of the loads the other way round: where no line is passed then, it is that load's doing.
    flip = np.where(on[some], -1.0, 1.0)
    total = certain + _sum(own, on)
    p_w, q_var, d_va, spread_w2 = (_flipped(t, o[some], flip) for t, o in zip(_four(total), _four(own), strict=True))
    without = Draws(p_w, q_var, d_va, spread_w2)
    out = ~_passed(under, checks, without, middle_ms)
    rate = out * np.where(on[some], (counted / loads.on_ms[some])[:, None], (1 / loads.off_ms[some])[:, None])
    by_load = weight * rate.sum(axis=0) * float(block.cells.lasts_ms[place])
    reached = np.cumsum(rate, axis=0)
    which = (reached < random.random(rate.shape[1]) * reached[-1]).sum(axis=0)
    by_plan = weight * ~_before(under, number, checks, on, random)
    return Sample(number, on, by_load, by_plan, some[np.minimum(which, len(some) - 1)])


def _flipped(total: Floats, own: Floats, flip: Floats) -> Floats:
    return np.asarray(total + flip * own[:, None])


def _four(draws: Draws) -> tuple[Floats, Floats, Floats, Floats]:
    return draws.p_w, draws.q_var, draws.d_va, draws.spread_w2


def _of_loads(loads: Loads, stretch: int) -> Draws:
    """What each load draws in a stretch; nothing where it does not stand."""
    return Draws(*loads.each[:, :, stretch])


def _sum(own: Draws, on: Flags) -> Draws:
    return Draws(*(one @ on for one in _four(own)))


def _passed(under: UnderRule, checks: Sequence[Check], draws: Draws, at_ms: float) -> Flags:
    use = under.quantities(draws)
    found = np.zeros(draws.p_w.shape, dtype=bool)
    for check in checks:
        found |= use[check.quantity] > float(check.line.at(at_ms)) * (1 + 1e-9)
    return found


def _before(under: UnderRule, number: int, checks: Sequence[Check], on: Flags, random: np.random.Generator) -> Flags:
    """Whether a line was passed just before a cell began, in states of it; loads that are gone were on or off."""
    cells, loads = under.cells, under.loads
    if cells.follows[number]:
        before, place = cells, number - 1
    elif number == 0 and cells.from_ms[0] == 0:
        before, place = under.before_midnight, 0
    else:
        return np.zeros(on.shape[1], dtype=bool)
    stretch = int(before.stretch[place])
    gone = loads.stand[:, stretch] & ~loads.stand[:, int(cells.stretch[number])]
    on = np.where(gone[:, None], random.random(on.shape) < loads.share[:, None], on)
    draws = loads.scope.certain.take(stretch) + _sum(_of_loads(loads, stretch), on)
    return _passed(under, checks, draws, float(before.from_ms[place] + before.to_ms[place]) / 2)


def reach_w(under: UnderRule, checks: Sequence[Check], at_ms: float) -> float:
    """Watts at which some line is about to be passed: found by halving, for a rule may count amperes."""
    low, high = 0.0, 1e6
    for _ in range(40):
        middle = (low + high) / 2
        one = np.array([middle])
        passed = _passed(under, checks, Draws(one, 0 * one, 0 * one, 0 * one), at_ms)
        low, high = (low, middle) if passed[0] else (middle, high)
    return high


def _tilted(watts: Floats, share: Floats, wanted_w: float) -> Floats:
    """How often each load is drawn on so that together they draw about so much; no less often than they are."""
    low, high = 0.0, 50.0 / max(float(watts.max()), 1.0)

    def at(tilt: float) -> Floats:
        odds = share / (1 - share) * np.exp(np.minimum(tilt * watts, 50.0))
        return np.asarray(odds / (1 + odds))

    if float(at(low) @ watts) >= wanted_w:
        return at(low)
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (low, middle) if float(at(middle) @ watts) > wanted_w else (middle, high)
    return np.clip(at(low), 1e-9, 1 - 1e-9)
