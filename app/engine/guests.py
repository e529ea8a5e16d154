"""Many guests at once: every phase and every start of each, as rows of figures, whenever they come."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain, combinations, pairwise
from typing import NamedTuple

import numpy as np

from app.engine.day import PlannedDay
from app.engine.guest import Guest
from app.engine.results import Flags, Floats, Instants
from app.engine.sums import Sums, sums_of

MANY_MACHINES = 3  # that one phase sets off; of more, none is taken to stand already: the safe side


@dataclass(frozen=True, slots=True, eq=False)
class _Shape:
    """The rows of one guest; entries are (row, piece) pairs.

    seconds: how long a start lasts, 0 for a phase. starting: the piece that starts, -1 for a phase. entry_starts: its
    entry, and those of what starts with it.
    standing, coming: of each row, the machines (`as_called`) that must stand already where it applies, and that must
    not. is_answered: something comes and goes in it that stands already, perhaps for shorter. is_on_terms: it does not
    apply everywhere.
    """

    from_ms: Floats
    until_ms: Floats
    seconds: Floats
    starting: Instants
    entry_row: Instants
    entry_piece: Instants
    entry_starts: Flags
    standing: tuple[frozenset[int], ...]
    coming: tuple[frozenset[int], ...]
    is_answered: Flags
    is_on_terms: Flags


@lru_cache(maxsize=512)
def _shape_of(guest: Guest, start_ms: tuple[int, ...]) -> _Shape:
    """start_ms: per piece of the guest, how long its start lasts."""
    rows = list(_rows_of(guest, start_ms))
    entries = [(row, piece, piece in one.in_start) for row, one in enumerate(rows) for piece in one.pieces]
    return _Shape(
        np.array([one.from_ms for one in rows], dtype=float),
        np.array([one.until_ms for one in rows], dtype=float),
        np.array([one.seconds for one in rows], dtype=float),
        np.array([one.starting for one in rows], dtype=np.int64),
        np.array([row for row, _, _ in entries], dtype=np.int64),
        np.array([piece for _, piece, _ in entries], dtype=np.int64),
        np.array([starts for _, _, starts in entries], dtype=bool),
        tuple(one.standing for one in rows),
        tuple(one.coming for one in rows),
        np.array([any(called >= 0 for called in one.standing) for one in rows], dtype=bool),
        np.array([bool(one.standing or one.coming) for one in rows], dtype=bool),
    )


def as_called(guest: Guest, piece: int) -> int:
    """A machine as it is set off: one that is on throughout is answered only by one that is on throughout."""
    machine = int(guest.machine[piece])
    return machine if guest.pieces.cycling[piece] else -1 - machine


def called_as(called: int) -> tuple[int, bool]:
    """The other way round: the machine, and whether it is on throughout."""
    return (called, False) if called >= 0 else (-1 - called, True)


class _Row(NamedTuple):
    """A row of one guest: from when to when, `_Shape`'s figures of it, its pieces, and which of them start."""

    from_ms: float
    until_ms: float
    seconds: float
    starting: int
    pieces: list[int]
    standing: frozenset[int]
    coming: frozenset[int]
    in_start: frozenset[int]


def _rows_of(guest: Guest, start_ms: tuple[int, ...]) -> Iterator[_Row]:
    pieces, nobody = guest.pieces, frozenset[int]()
    together = {piece: frozenset(others.tolist()) for _, piece, others in guest.starts}
    for phase in range(len(guest.edge_ms) - 1):
        from_ms, until_ms = float(guest.edge_ms[phase]), float(guest.edge_ms[phase + 1])
        on = np.flatnonzero(guest.on[:, phase]).tolist()
        called_for = {piece: as_called(guest, piece) for piece in on if guest.machine[piece] != guest.place}
        called = sorted(set(called_for.values()))
        subsets = chain.from_iterable(combinations(called, size) for size in range(len(called) + 1))
        for subset in subsets if len(called) <= MANY_MACHINES else [()]:
            standing = frozenset(subset)
            coming = frozenset(called) - standing if len(called) <= MANY_MACHINES else frozenset()
            there = [piece for piece in on if called_for.get(piece) not in standing]
            yield _Row(from_ms, until_ms, 0.0, -1, there, standing, coming, nobody)
            for piece in there:
                begin_ms, lasts_ms = float(pieces.begin_ms[piece]), start_ms[piece]
                if not lasts_ms:
                    continue
                if pieces.cycling[piece]:
                    yield _Row(from_ms, until_ms, lasts_ms / 1000, piece, there, standing, coming, together[piece])
                elif begin_ms < until_ms and begin_ms + lasts_ms > from_ms:
                    over_ms = min(begin_ms + lasts_ms, float(pieces.end_ms[piece]))
                    seconds = (over_ms - begin_ms) / 1000
                    for since_ms, to_ms, starting in _under_way(guest, start_ms, together[piece], begin_ms, over_ms):
                        span_ms = max(since_ms, from_ms), min(to_ms, until_ms)
                        if span_ms[0] < span_ms[1]:
                            yield _Row(*span_ms, seconds, piece, there, standing, coming, starting)


def _under_way(
    guest: Guest, start_ms: tuple[int, ...], together: frozenset[int], begin_ms: float, over_ms: float
) -> Iterator[tuple[float, float, frozenset[int]]]:
    """A start from beginning to end, and which of those that start with it are still under way: some are shorter."""
    ends_ms = {one: float(guest.pieces.begin_ms[one]) + start_ms[one] for one in together}
    edges_ms = [begin_ms, *sorted({end_ms for end_ms in ends_ms.values() if begin_ms < end_ms < over_ms}), over_ms]
    for since_ms, to_ms in pairwise(edges_ms):
        yield since_ms, to_ms, frozenset(one for one, end_ms in ends_ms.items() if end_ms > since_ms)


@dataclass(frozen=True, slots=True, eq=False)
class Guests:
    """Rows of all guests, shape (rows,) each; pieces of all of them one after another.

    which: the guest of each row. from_ms, until_ms: when, from its beginning. seconds, starting, entry_starts,
    standing, coming, is_answered, is_on_terms: as in `_Shape`. machine, row, cycling: of each piece.
    """

    guests: tuple[Guest, ...]
    which: Instants
    from_ms: Floats
    until_ms: Floats
    seconds: Floats
    starting: Instants
    entry_row: Instants
    entry_piece: Instants
    entry_starts: Flags
    standing: tuple[frozenset[int], ...]
    coming: tuple[frozenset[int], ...]
    is_answered: Flags
    is_on_terms: Flags
    machine: Instants
    row: Instants
    cycling: Flags

    def draws(self, day: PlannedDay, weight: Floats, *, certain: bool = False, cold: bool = False) -> Sums:
        """What each row draws as a scope sees it; in a start, with the start in place of the running draw.

        cold: what comes back after a power cut instead.
        """
        rows, share = day.rows, weight[self.machine]
        own = sums_of((rows.cold if cold else rows.running).take(self.row).times(share), self.cycling)
        each = own.figures.take(self.entry_piece, axis=1)
        starts = self.entry_starts.nonzero()[0]
        each[:, starts] = 0.0
        if not cold and len(starts):
            piece = self.entry_piece[starts]
            each[0, starts] = (rows.start_p_w[self.row] * share)[piece]
            each[1:3, starts] = (rows.start_q_var[self.row] * share)[piece]
        if certain:
            each[:, self.cycling[self.entry_piece]] = 0.0
        count = len(self.which)
        place = (np.arange(5)[:, None] * count + self.entry_row).ravel()
        sums = np.bincount(place, each.ravel(), 5 * count).astype(float)  # whole numbers where there are no entries
        return Sums(sums.reshape(5, count))

    def applies(self, rows: Instants, stands: dict[int, Flags]) -> Flags | None:
        """Where rows apply: shape (rows, n); None for everywhere.

        stands: per machine that some guest sets off (`called_as`), whether it stands in each of n stretches.
        """
        asked = [row for row in rows.tolist() if self.standing[row] or self.coming[row]]
        if not asked or not stands:
            return None
        place = {row: number for number, row in enumerate(rows.tolist())}
        flags = np.ones((len(rows), len(next(iter(stands.values())))), dtype=bool)
        for row in asked:
            for machine in self.standing[row]:
                flags[place[row]] &= stands[machine]
            for machine in self.coming[row]:
                flags[place[row]] &= ~stands[machine]
        return flags

    @property
    def called(self) -> set[int]:
        """Machines that some of them set off, as `called_as` reads them."""
        return set().union(*self.standing, *self.coming)


def guests_of(day: PlannedDay, guests: Sequence[Guest]) -> Guests:
    """The rows of some guests."""
    start_ms = day.rows.start_ms
    shapes = [_shape_of(one, tuple(start_ms[one.pieces.row].tolist())) for one in guests]
    of_rows, of_pieces = [len(one.from_ms) for one in shapes], [len(one.machine) for one in guests]
    first_row, first_piece = np.cumsum([0, *of_rows]), np.cumsum([0, *of_pieces])

    def floats(name: str) -> Floats:
        return np.concatenate([np.empty(0), *(getattr(one, name) for one in shapes)])

    def flags(name: str) -> Flags:
        return np.concatenate([np.empty(0, dtype=bool), *(getattr(one, name) for one in shapes)])

    def joined(parts: list[Instants]) -> Instants:
        return np.concatenate([np.empty(0, dtype=np.int64), *parts])

    return Guests(
        guests=tuple(guests),
        which=np.repeat(np.arange(len(guests)), of_rows),
        from_ms=floats("from_ms"),
        until_ms=floats("until_ms"),
        seconds=floats("seconds"),
        starting=joined(
            [np.where(one.starting >= 0, one.starting + at, -1) for one, at in zip(shapes, first_piece, strict=False)]
        ),
        entry_row=joined([one.entry_row + at for one, at in zip(shapes, first_row, strict=False)]),
        entry_piece=joined([one.entry_piece + at for one, at in zip(shapes, first_piece, strict=False)]),
        entry_starts=flags("entry_starts"),
        standing=tuple(chain.from_iterable(one.standing for one in shapes)),
        coming=tuple(chain.from_iterable(one.coming for one in shapes)),
        is_answered=flags("is_answered"),
        is_on_terms=flags("is_on_terms"),
        machine=joined([one.machine for one in guests]),
        row=joined([one.pieces.row for one in guests]),
        cycling=np.concatenate([np.empty(0, dtype=bool), *(one.pieces.cycling for one in guests)]),
    )
