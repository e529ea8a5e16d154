"""What adds up over many passings, none of which need last too long: a store that fills on the mean.

How often one passing lasts too long says nothing of stores that are still warm from the last. Where a level is passed
for so much of the time that its store gains more than it loses, it comes to hold too much, whatever the points at which
the loads come on: on every such day, if there are many passings while it fills, and on no more days than there is one.
"""

from typing import NamedTuple

import numpy as np

from app.engine.heat import Check, Rule
from app.engine.kinds import Floats
from app.engine.odds.cells import Cells
from app.engine.odds.lasting import Lasted
from app.engine.odds.passing import Passing
from app.engine.odds.under import UnderRule


def filled(passing: Passing, store: int) -> Lasted:
    """How often a day a store comes to hold too much by what flows into it on the mean.

    It fills by the part of the time in which the level is passed, and empties in the rest. A quantity has its part in
    it where it passes its own line at all while the store holds too much.
    """
    under = passing.under
    rule, cells = under.rule, under.cells
    checks = rule.of_store(store)
    quantities = sorted({check.quantity for check in checks})
    of = {quantity: [check for check in checks if check.quantity == quantity] for quantity in quantities}
    likely = _likely(under, checks)
    allowed_s = rule.allowed_s[store]
    if not len(cells) or float(likely @ cells.lasts_ms) <= allowed_s * 1000:
        return Lasted(0.0, dict.fromkeys(quantities, 0.0))
    times = _times_full(under, rule, store, likely)
    own = {one: _likely(under, of[one]) > 0 for one in quantities}
    often = [min(float(passing.per_day_in_cells[time.filling].sum()), 1.0) for time in times]
    return Lasted(
        sum(often),
        {
            one: sum(each for each, time in zip(often, times, strict=True) if own[one][time.full].any())
            for one in quantities
        },
    )


def _likely(under: UnderRule, checks: list[Check]) -> Floats:
    """How likely a line is passed, per cell."""
    found = np.zeros(len(under.cells))
    for block in under.blocks():
        found[block.number] = block.likely(checks)
    return found


class _Time(NamedTuple):
    """A time in which a store holds too much, as cells. filling: since it was empty; full: from when it does."""

    filling: slice
    full: slice


def _times_full(under: UnderRule, rule: Rule, store: int, share: Floats) -> list[_Time]:
    """Each time in which the store holds too much, up to when it is empty again."""
    cells = under.cells
    allowed_s = rule.allowed_s[store]
    empties = allowed_s / rule.cooling_s[store]  # seconds per second
    if not _ever_full(cells, allowed_s, empties, share):
        return []
    held_s, until_ms, since, full = 0.0, 0.0, 0, -1  # full: from which cell on, if it is
    found: list[_Time] = []
    for place, (from_ms, to_ms, part) in enumerate(
        zip(cells.from_ms.tolist(), cells.to_ms.tolist(), share.tolist(), strict=True)
    ):
        held_s = max(held_s - (from_ms - until_ms) / 1000 * empties, 0.0)
        if held_s <= 0:
            since, full = place, -1
        held_s = max(held_s + (to_ms - from_ms) / 1000 * (part - (1 - part) * empties), 0.0)
        until_ms = to_ms
        if full < 0 and held_s > allowed_s * (1 + 1e-9):
            full = place
            found.append(_Time(slice(since, place), slice(place, place)))
        if full >= 0:
            found[-1] = _Time(slice(since, place + 1), slice(full, place + 1))
    return found


def _ever_full(cells: Cells, allowed_s: float, empties: float, share: Floats) -> bool:
    """Whether a store ever holds too much, which most never do: that is told at once; as `heat.store_s` has it."""
    rests_s = (np.concatenate((cells.from_ms[1:], cells.to_ms[-1:])) - cells.to_ms) / 1000
    flowed_s = cells.lasts_ms / 1000 * (share - (1 - share) * empties)
    summed = np.array((flowed_s, -rests_s * empties)).T.ravel().cumsum()
    held_s = summed - np.minimum(np.minimum.accumulate(summed), 0.0)
    return bool(held_s.max() > allowed_s * (1 + 1e-9))
