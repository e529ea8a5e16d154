"""Guests that an interlock keeps apart from others: on itself, it keeps those off; or they are on, and it is not."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from app.engine.day import PlannedDay
from app.engine.everything import everything_on, most_on
from app.engine.guests import Guests
from app.engine.interlocks import joined, placed
from app.engine.readings import View
from app.engine.results import Flags, Instants
from app.engine.sums import Sums

Members = frozenset[int]  # places of the appliances of an interlock


class Locked(NamedTuple):
    """Guests that are members of one interlock of which one at most may be on, and so are not asked beside the others.

    which: these guests. members: of the interlock.
    """

    which: tuple[int, ...]
    members: Members


@dataclass(frozen=True)
class Side:
    """What a day has beside such a guest: with the others off, or as it would be without it.

    Where another member is surely on, whoever put it on breaks the interlock by hand: there all count.
    """

    members: Members
    others_off: bool

    def worst(self, view: View) -> Sums:
        """Everything that may be on, figures of shape (5, stretches)."""
        scope = view.scope
        if self.others_off:
            pieces = view.laid.pieces
            ours = np.isin(pieces.appliance, list(self.members)).nonzero()[0]
            others = tuple(one for one in scope.interlocked if not np.isin(one.piece, ours).any())
            cyclers = scope.cyclers.take(~np.isin(scope.cyclers.piece, ours))
            found = everything_on(replace(scope, cyclers=cyclers, interlocked=others), kept_apart=True)
        else:
            found = everything_on(scope, kept_apart=True)
        return Sums(np.where(self.by_hand(view), most_on(scope).figures, found.figures))

    def by_hand(self, view: View) -> Flags:
        """In which stretches a member is surely on; shape (stretches,)."""
        pieces, begin_ms = view.laid.pieces, view.scope.begin_ms
        sure = np.flatnonzero(np.isin(pieces.appliance, list(self.members)) & ~pieces.cycling)
        return np.asarray(
            ((pieces.begin_ms[sure][:, None] <= begin_ms) & (pieces.end_ms[sure][:, None] > begin_ms)).any(axis=0)
        )

    def may_start(self, view: View, place: int, stretch: Instants) -> Flags:
        """Whether an appliance at a place may start by itself in stretches: no other member beside the guest."""
        if not self.others_off or place not in self.members:
            return np.ones(len(stretch), dtype=bool)
        return self.by_hand(view)[stretch]


def locked(day: PlannedDay, guests: Guests, from_ms: float) -> Iterator[Locked]:
    """Those of some guests of whom this is known; of no guest whose own part in the interlock the day has already."""
    interlocks = joined(placed(day.resolved, day.rows.appliances), day.house.scope.weight)
    together = [(at_most, frozenset(of.tolist())) for at_most, of in interlocks]
    pieces = day.laid.pieces
    there = frozenset(pieces.appliance[pieces.end_ms > from_ms].tolist())
    found = dict[Members, list[int]]()
    for which, guest in enumerate(guests.guests):
        machines = frozenset(guest.machine.tolist())
        of = [(at_most, members) for at_most, members in together if members & machines]
        if len(of) == 1 and of[0][0] == 1 == len(machines & of[0][1]) and not machines & of[0][1] & there:
            found.setdefault(of[0][1], []).append(which)
    for members, which_of in found.items():
        yield Locked(tuple(which_of), members)


def rows_in(guests: Guests, members: Members) -> Flags:
    """Rows in which a member is on; shape (rows,)."""
    ours = np.isin(guests.machine[guests.entry_piece], list(members))
    return np.bincount(guests.entry_row[ours], minlength=len(guests.which)) > 0


def starting_in(guests: Guests, members: Members) -> Flags:
    """Rows in which a member starts; shape (rows,)."""
    return (guests.starting >= 0) & np.isin(guests.machine[guests.starting], list(members))


def without(guests: Guests, members: Members) -> Guests:
    """The same rows, in which no member draws anything."""
    left = ~np.isin(guests.machine[guests.entry_piece], list(members))
    return replace(
        guests, entry_row=guests.entry_row[left], entry_piece=guests.entry_piece[left],
        entry_starts=guests.entry_starts[left],
    )  # fmt: skip
