"""Passings where more loads come and go than can be written down: states are drawn at random, and weighed.

Loads are drawn on more often than they are, so that the draw is about where a line stands, and each state drawn
counts by how much likelier it was drawn than it is (importance sampling with an exponential tilt, as any text on
rare events has it).
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.engine.draw import HAIR, Draws
from app.engine.heat import Check
from app.engine.kinds import Flags, Floats
from app.engine.odds.block import Block
from app.engine.odds.loads import Loads
from app.engine.odds.passing import Passing
from app.engine.odds.under import UnderRule

SPARE = 1  # states drawn for each moment that is wanted
FEWEST = 8  # states for each cell in which a line may be passed
ROUNDS = 2


class Sample(NamedTuple):
    """States in which a line is passed, shape (m,) each.

    cell: where. on: shape (loads, m), of all loads. by_load, by_plan: how often a day each stands for comes about by
    a load, and by the plan as the cell begins. trigger: the load it is.
    """

    cell: NDArray[np.intp]
    on: Flags
    by_load: Floats
    by_plan: Floats
    trigger: NDArray[np.intp]


def sampled(passing: Passing, block: Block, wanted: int, random: np.random.Generator) -> Sample:
    """States drawn for the cells of a block, more of them where a line is passed more often."""
    under, checks = passing.under, passing.checks
    loads, some, cells = under.loads, block.table.loads, block.cells
    passed = block.passed(checks)
    often = passed.likely * cells.lasts_ms
    drawn = np.where(often > 0, FEWEST + np.ceil(SPARE * wanted * often / max(often.sum(), 1e-300)), 0).astype(int)
    share, each = loads.share[some], loads.each[:, some]
    certain = loads.scope.certain.take(cells.stretch).figures
    at_each = toward(under, checks, certain, each[:, :, cells.stretch], share, cells.middle_ms)
    tilted = np.repeat(at_each, drawn, axis=1)
    place = np.repeat(np.arange(len(cells)), drawn)
    stretch, middle_ms = cells.stretch[place], cells.middle_ms[place]
    on = np.zeros((len(loads.on_ms), len(place)), dtype=bool)
    on[loads.off_ms <= 0] = True
    on[some] = random.random(tilted.shape) < tilted
    total = _drawn(loads, stretch, on)
    kept = passes(under, checks, total, middle_ms)
    on, weight = on[:, kept], (likelier(on[some], share, tilted) / drawn[place])[kept]
    place, stretch, middle_ms = place[kept], stretch[kept], middle_ms[kept]
    # Each of the loads the other way round: where no line is passed then, it is that load's doing.
    flip = np.where(on[some], -1.0, 1.0) * each[:, :, stretch]
    out = ~passes(under, checks, total.take(kept) + Draws(*flip), middle_ms)
    rate = out * np.where(on[some], 1 / loads.on_ms[some][:, None], 1 / loads.off_ms[some][:, None])
    reached = np.cumsum(rate, axis=0)
    which = (reached < random.random(len(place)) * reached[-1]).sum(axis=0)
    by_load = weight * reached[-1] * cells.lasts_ms[place]
    by_plan = weight * ~_before(under, block.number[place], checks, on, random)
    return Sample(block.number[place], on, by_load, by_plan, some[np.minimum(which, len(some) - 1)])


def _drawn(loads: Loads, stretch: NDArray[np.intp], on: Flags) -> Draws:
    """What is drawn in stretches with some loads on; interlocks are left out, the safe side."""
    figures: Floats = np.einsum("klm,lm->km", loads.each[:, :, stretch], on.astype(float))
    return loads.scope.certain.take(stretch) + Draws(*figures)


def passes(under: UnderRule, checks: Sequence[Check], draws: Draws, at_ms: Floats) -> Flags:
    """Whether some line is passed at instants, shape (m,)."""
    found = np.zeros(draws.p_w.shape, dtype=bool)
    for check in checks:
        found |= under.quantities[check.quantity](draws) > check.line.at(at_ms) * (1 + HAIR)
    return found


def _before(
    under: UnderRule, number: NDArray[np.intp], checks: Sequence[Check], on: Flags, random: np.random.Generator
) -> Flags:
    """Whether a line was passed just before cells began, in states of them; loads that are gone were on or off."""
    cells, loads, last = under.cells, under.loads, under.before_midnight
    near = cells.follows[number]
    wraps = (number == 0) & (cells.from_ms[0] == 0)
    stretch = np.where(wraps, last.stretch[0], cells.stretch[number - near])
    middle_ms = cells.middle_ms[number - near]
    middle_ms = np.where(wraps, (last.from_ms[0] + last.to_ms[0]) / 2, middle_ms)
    gone = loads.stand[:, stretch] & ~loads.stand[:, cells.stretch[number]]
    on = np.where(gone, random.random(on.shape) < loads.share[:, None], on)
    return np.asarray(passes(under, checks, _drawn(loads, stretch, on), middle_ms) & (near | wraps))


def toward(
    under: UnderRule, checks: Sequence[Check], certain: Floats, each: Floats, share: Floats, at_ms: Floats
) -> Floats:
    """How often each load is drawn on so that at each of m instants together they just pass a line; shape (loads, m).

    certain: what is drawn without them, shape (4, m). each: what each draws, shape (4, loads, m). share: (loads,).
    Each counts by how much it adds to what the line limits there, which for volt-amperes is a part of its watts and
    one of its var. (The dominating point of large deviations; its mix of loads is found in two rounds.)
    """
    tilted = np.repeat(share[:, None], len(at_ms), axis=1)
    for _ in range(ROUNDS):
        mix = np.einsum("klc,lc->kc", each, tilted)
        point = certain + mix * _reach(under, checks, certain, mix, at_ms)
        slope = _slope(under, checks, point, at_ms)
        adds = np.einsum("kc,klc->lc", slope, each)
        tilted = _tilted(adds, share, np.einsum("kc,kc->c", slope, point - certain))
    return tilted


def likelier(on: Flags, share: Floats, tilted: Floats) -> Floats:
    """How much likelier states are than they were drawn; on, tilted: shape (loads, m)."""
    return np.asarray(np.where(on, share[:, None] / tilted, (1 - share)[:, None] / (1 - tilted)).prod(axis=0))


def _reach(under: UnderRule, checks: Sequence[Check], certain: Floats, mix: Floats, at_ms: Floats) -> Floats:
    """How many times a mix takes what is certain to the first line; found by halving, for a rule may count amperes."""
    low, high = np.zeros(len(at_ms)), 1e6 / np.maximum(np.abs(mix[:3]).max(axis=0), 1e-3)
    for _ in range(40):
        middle = (low + high) / 2
        passed = passes(under, checks, Draws(*(certain + middle * mix)), at_ms)
        low, high = np.where(passed, low, middle), np.where(passed, middle, high)
    return np.asarray(high)


def _slope(under: UnderRule, checks: Sequence[Check], point: Floats, at_ms: Floats) -> Floats:
    """How fast what the nearest line limits rises with each figure of what is drawn; shape (4, cells)."""
    nearest, found = np.full(len(at_ms), -np.inf), np.zeros_like(point)
    for check in checks:
        quantity = under.quantities[check.quantity]
        used, line = quantity(Draws(*point)), check.line.at(at_ms)
        near = used / line > nearest
        nearest = np.where(near, used / line, nearest)
        for figure in range(len(point)):
            more = point.copy()
            more[figure] += 1.0
            found[figure] = np.where(near, (quantity(Draws(*more)) - used) / line, found[figure])
    return found


def _tilted(adds: Floats, share: Floats, wanted: Floats) -> Floats:
    """How often each load is drawn on so that together they add about so much; on the whole no less than they do.

    adds: shape (loads, cells). share: shape (loads,). wanted: shape (cells,). Returns shape (loads, cells).
    """
    low, high = np.zeros(len(wanted)), np.full(len(wanted), 50.0 / max(float(adds.max()), 1e-9))
    odds = (share / (1 - share))[:, None]

    def at(factor: Floats) -> Floats:
        tilted = odds * np.exp(np.minimum(factor * adds, 50.0))
        return np.asarray(tilted / (1 + tilted))

    for _ in range(30):
        middle = (low + high) / 2
        more = np.einsum("lc,lc->c", at(middle), adds) > wanted
        low, high = np.where(more, low, middle), np.where(more, middle, high)
    return np.clip(at(low), 1e-9, 1 - 1e-9)
