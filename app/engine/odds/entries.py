"""Moments at which a level comes to be passed, drawn at random in proportion to how often each happens."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.engine.kinds import Flags, Floats
from app.engine.odds.passing import Passing
from app.engine.odds.tables import Table
from app.engine.odds.under import Block

SPARE = 3  # states drawn for each that is kept, so that rare and frequent comings weigh alike


class Entries(NamedTuple):
    """Moments, shape (m,) each; together they stand for `per_day` of them.

    cell, at_ms: where and when. on: shape (loads, m). trigger: the load that just came on or went off; -1 for
    the plan itself.
    """

    cell: NDArray[np.intp]
    at_ms: Floats
    on: Flags
    trigger: NDArray[np.intp]
    per_day: float


def entries_of(passing: Passing, count: int, random: np.random.Generator) -> Entries | None:
    """So many moments at which a level comes to be passed; None where it never does."""
    kinds = np.array([passing.by_load, passing.by_plan, passing.by_sample])
    if kinds.sum() <= 0:
        return None
    of_load, of_plan, of_sample = np.bincount(evenly(kinds, count, random), minlength=3).tolist()
    parts = []
    if of_load:
        wanted = np.bincount(evenly(passing.flow, of_load, random), minlength=len(passing.flow))
        parts += [part for block in passing.under.blocks() if (part := _by_loads(passing, block, wanted, random))]
    if of_plan:
        parts.append(_by_plan(passing, of_plan, random))
    if of_sample:
        parts.append(_by_sample(passing, of_sample, random))
    cell, at_ms, on, trigger = (np.concatenate(column, axis=-1) for column in zip(*parts, strict=True))
    return Entries(cell, at_ms, on, trigger, float(kinds.sum()))


def evenly(weight: Floats, count: int, random: np.random.Generator) -> NDArray[np.intp]:
    """So many places drawn in proportion to their weight, spread as evenly as can be, in order."""
    reached = np.cumsum(weight)
    steps = (np.arange(count) + random.random()) * (reached[-1] / count)
    return np.asarray(np.minimum(np.searchsorted(reached, steps, side="right"), len(weight) - 1))


Part = tuple[NDArray[np.intp], Floats, Flags, NDArray[np.intp]]


def _by_loads(passing: Passing, block: Block, wanted: NDArray[np.intp], random: np.random.Generator) -> Part | None:
    """Moments in the cells of a block at which a load takes the draw past a line."""
    loads, table = passing.under.loads, block.table
    rows = np.flatnonzero(wanted[block.number])
    if table.name is None or not len(rows):
        return None
    each = wanted[block.number[rows]]
    passed = block.passed(passing.checks)[rows]
    likely = passed * table.weight[: passed.shape[1]]
    likely *= (each / likely.sum(axis=1))[:, None]
    row, first = np.divmod(evenly(likely.ravel(), SPARE * int(each.sum()), random), passed.shape[1])
    # Each of the loads the other way round: where no line is passed then, it is that load's doing.
    names = table.names[first]
    on, flipped = table.on(names), names ^ (1 << np.arange(len(table.loads)))[:, None]
    often = np.where(
        on, (passing.counted(block) / loads.on_ms[table.loads])[:, None], (1 / loads.off_ms[table.loads])[:, None]
    )
    out = ~table.by_name(passed)[row, flipped] * often
    reached = np.cumsum(out, axis=0)
    of_row = np.bincount(row, weights=reached[-1], minlength=len(rows))
    kept = evenly(reached[-1] * (each / np.maximum(of_row, 1e-300))[row], int(each.sum()), random)
    which = (reached[:, kept] < random.random(len(kept)) * reached[-1, kept]).sum(axis=0)
    place = rows[row[kept]]
    found = np.zeros((len(loads.on_ms), len(kept)), dtype=bool)
    found[table.loads] = on[:, kept]
    at_ms = block.cells.from_ms[place] + random.random(len(kept)) * block.cells.lasts_ms[place]
    return block.number[place], at_ms, found, table.loads[which]


def _by_plan(passing: Passing, count: int, random: np.random.Generator) -> Part:
    """Moments at which the plan itself takes the draw past a line."""
    loads, steps = passing.under.loads, passing.steps
    lengths = [len(step.states) for step in steps]
    drawn = evenly(np.concatenate([step.weight for step in steps]), count, random)
    which = np.repeat(np.arange(len(steps)), lengths)[drawn]
    states = np.concatenate([step.states for step in steps])[drawn]
    cell = np.array([step.cell for step in steps])[which]
    on = np.zeros((len(loads.on_ms), count), dtype=bool)
    for number in np.unique(which).tolist():
        table: Table = passing.under.table_of_cell[steps[number].cell]
        on[np.ix_(table.loads, which == number)] = table.on(states[which == number])
    return cell, passing.under.cells.from_ms[cell], on, np.full(count, -1, dtype=np.intp)


def _by_sample(passing: Passing, count: int, random: np.random.Generator) -> Part:
    """Moments among states that were drawn at random, at which a load or the plan takes the draw past a line."""
    cells, samples = passing.under.cells, [one for one in passing.samples if len(one.by_load)]
    each = [len(one.by_load) for one in samples]
    drawn = evenly(np.concatenate([weight for one in samples for weight in (one.by_load, one.by_plan)]), count, random)
    first = np.cumsum([0, *(2 * length for length in each)])
    which = np.searchsorted(first, drawn, side="right") - 1
    place = drawn - first[which]
    length = np.array(each)[which]
    by_plan = place >= length
    column = np.cumsum([0, *each])[which] + np.where(by_plan, place - length, place)
    cell = np.concatenate([one.cell for one in samples])[column]
    at_ms = cells.from_ms[cell] + np.where(by_plan, 0.0, random.random(count) * cells.lasts_ms[cell])
    on = np.concatenate([one.on for one in samples], axis=1)[:, column]
    trigger = np.concatenate([one.trigger for one in samples])[column]
    return cell, at_ms, on, np.where(by_plan, -1, trigger)
