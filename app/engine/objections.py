"""What speaks against guests though no limit is passed by themselves: an interlock, the reserve, the generator."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from app.engine.beside import Beside, Passing
from app.engine.results import Assessment, Flags, Floats
from app.engine.shortfall import STEP_MS, short_of_charge
from app.engine.sooner import started_sooner
from app.engine.told import CAREFUL, NEVER, UNSURE


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


def below_the_reserve(beside: Beside, assessment: Assessment, told: int) -> Iterator[Passing]:
    """When beginning would take the charge below the reserve, half hour by half hour."""
    begins_ms, below = short_of_charge(beside.day, assessment, beside.guests.guests, beside.from_ms)
    for which in np.flatnonzero(below.any(axis=1)).tolist():
        at_ms = begins_ms[below[which]]
        # Between two half hours it is as bad as at the worse of them.
        around = (at_ms - STEP_MS, at_ms + STEP_MS)
        yield _flagged(beside, which, around, around, told, UNSURE)


def into_the_generator(
    beside: Beside, assessment: Assessment, members: Flags, told: int, unknown: int
) -> Iterator[Passing]:
    """When beginning would have the generator start sooner, into what is too much for it.

    unknown: the number under which it is told where nobody knows.
    """
    for one in started_sooner(beside, assessment, (~members).tolist()):
        begins, there = (one.after_ms, one.before_ms), (one.at_ms, one.to_ms)
        spans = [(np.array([after_ms]), np.array([before_ms])) for after_ms, before_ms in (begins, there)]
        found = _flagged(beside, one.which, spans[0], spans[1], told if one.is_known else unknown, NEVER)
        yield replace(found, use=np.array([one.use_w]))


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
