"""What speaks against guests though no limit is passed by themselves: an interlock, the reserve, the generator."""

from collections.abc import Iterator

import numpy as np

from app.engine.beside import Beside, Passing
from app.engine.charge import BankDay
from app.engine.later_on import Kind, later_on
from app.engine.results import Flags, Floats
from app.engine.told import CAREFUL, NEVER, UNSURE

# What is about later only can be gone into knowingly; what it would do beside the generator cannot.
LEVEL: dict[Kind, int] = {
    "reserve": UNSURE, "reserve?": UNSURE, "later": UNSURE, "generator": NEVER, "generator?": NEVER
}  # fmt: skip


def members_of(beside: Beside) -> Flags:
    """Guests of whom some part is in an interlock; shape (guests,)."""
    day = beside.day
    names = {one for interlock in day.resolved.household.interlocks for one in interlock.of}
    places = {place for place, one in enumerate(day.rows.appliances) if one.id in names}
    return np.array([bool(places & set(guest.machine.tolist())) for guest in beside.guests.guests], dtype=bool)


def kept_apart(beside: Beside, told: int) -> Iterator[Passing]:
    """Where an interlock forbids a guest beside runs that are on then; told: as what it is told."""
    day = beside.day
    pieces = day.laid.pieces
    place_of = {one.id: place for place, one in enumerate(day.rows.appliances)}
    for interlock in day.resolved.household.interlocks:
        members = [place_of[one] for one in interlock.of if one in place_of]
        placed = np.flatnonzero((pieces.run >= 0) & np.isin(pieces.appliance, members))
        for which, guest in enumerate(beside.guests.guests):
            own = np.flatnonzero(np.isin(guest.machine, members))
            others = placed[pieces.appliance[placed] != guest.place]
            if not len(own) or not len(others):
                continue
            t_ms = np.unique(np.concatenate([pieces.begin_ms[others], pieces.end_ms[others]])).astype(float)
            on = (pieces.begin_ms[others][:, None] <= t_ms[:-1]) & (pieces.end_ms[others][:, None] > t_ms[:-1])
            at_once = sum(on[pieces.appliance[others] == one].any(axis=0).astype(int) for one in members)
            crowded = np.flatnonzero(at_once >= interlock.at_most)
            from_ms, to_ms = t_ms[:-1][crowded], t_ms[1:][crowded]
            begin_ms, end_ms = float(guest.pieces.begin_ms[own].min()), float(guest.pieces.end_ms[own].max())
            yield _flagged(beside, which, (from_ms - end_ms, to_ms - begin_ms), (from_ms, to_ms), told, CAREFUL)


def through_the_bank(
    beside: Beside, battery: BankDay | None, members: Flags, told: dict[Kind, int]
) -> Iterator[Passing]:
    """What guests lead to later on, by what comes of the charge; told: as what each kind of it is told."""
    found = list(later_on(beside, battery, (~members).tolist()))
    if not found:
        return
    which, numbers, levels = (
        np.array(each, dtype=np.int64)
        for each in zip(*((one.which, told[one.kind], LEVEL[one.kind]) for one in found), strict=True)
    )
    after_ms, before_ms, at_ms, to_ms, use_w = np.array([one[2:] for one in found]).T
    row = np.array([int(np.flatnonzero(beside.guests.which == one)[0]) for one in range(len(beside.guests.guests))])
    ones = np.ones(len(found))
    yield Passing(which, after_ms, before_ms, levels, numbers, row[which], at_ms, to_ms, use_w, ones, ones)


def _flagged(
    beside: Beside, which: int, begins_ms: tuple[Floats, Floats], there_ms: tuple[Floats, Floats], told: int, level: int
) -> Passing:
    """begins_ms: between what beginning is so. there_ms: when what speaks against it is there."""
    count = len(begins_ms[0])
    row = int(np.flatnonzero(beside.guests.which == which)[0])
    ones = np.ones(count)
    return Passing(
        np.full(count, which), *begins_ms, np.full(count, level), np.full(count, told), np.full(count, row),
        *there_ms, ones, ones, ones,
    )  # fmt: skip
