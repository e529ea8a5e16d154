"""A household becomes what a file says, in one step, and can be had back as it was."""

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from app.household.checks import check_has_plan
from app.household.file import household_from
from app.store.commands.command import Command, Outcome
from app.store.commands.parts import as_it_is, as_they_were
from app.store.errors import Unreadable
from app.store.keys import run_key
from app.store.mapping import Piece, put_together, take_apart
from app.store.stored import StoredHousehold


@dataclass(frozen=True, kw_only=True)
class ReplaceHousehold(Command):
    """Make a household what a file says.

    document: the household file. Plans, runs and appliances of an id that is or was here keep their keys, so that
        open pages and links still find them; what the file lacks is removed and stays stored.
    """

    document: dict[str, Any]

    def subject(self) -> tuple[str, str | None]:
        """The household as a whole."""
        return self.household_key, "file"

    def instead_of(self, broken: Unreadable) -> StoredHousehold:
        """What is stored, with no plan that could be gone to: the file takes the place of all of it."""
        pieces = {piece.key: piece for piece in broken.pieces}
        return StoredHousehold(broken.key, broken.revision, household_from(self.document), (), {}, {}, pieces)

    def on(self, current: StoredHousehold) -> Outcome:
        """The household out of the file."""
        check_has_plan(household_from(self.document))
        pieces = pieces_of(current, self.document)
        inverse = as_before(self, current, pieces)
        return Outcome(current.with_pieces(*pieces), pieces, self, inverse, {}, {}, None)


@dataclass(frozen=True, kw_only=True)
class HouseholdAsBefore(Command):
    """Bring back everything a file replaced, to its place.

    parts: each key with its document, its position, and whether it was removed.
    """

    parts: list[dict[str, Any]]

    def subject(self) -> tuple[str, str | None]:
        """The household as a whole."""
        return self.household_key, "file"

    def on(self, current: StoredHousehold) -> Outcome:
        """The household with these parts as they were; what was changed since on another page is not lost by that."""
        pieces = tuple(as_they_were(current, self.parts))
        inverse = ReplaceHousehold(**self.next_envelope(), document=put_together(current.pieces.values()))
        return Outcome(current.with_pieces(*pieces), pieces, self, inverse, {}, {}, None)


def pieces_of(current: StoredHousehold, document: dict[str, Any]) -> tuple[Piece, ...]:
    """What has to be written for a household to be what a file says. document: checked."""
    return tuple(_changed(current, document))


def as_before(command: Command, current: StoredHousehold, pieces: Iterable[Piece]) -> HouseholdAsBefore:
    """What brings the household back as it is, after a command has changed some pieces."""
    parts = [_as_it_is(current.pieces.get(piece.key), piece) for piece in pieces]
    return HouseholdAsBefore(**command.next_envelope(), parts=parts)


def _as_it_is(before: Piece | None, after: Piece) -> dict[str, Any]:
    """A part before the file came, with its place, for a file puts things in its own order."""
    return as_it_is(before, after) | {"position": (before or after).position}


def _changed(current: StoredHousehold, document: dict[str, Any]) -> Iterator[Piece]:
    """The pieces that are not as the file has them."""
    revision = current.revision + 1
    wanted = {piece.key: piece for piece in _wanted(current, document, revision)}
    for piece in wanted.values():
        before = current.pieces.get(piece.key)
        if before is None or _is_other(before, piece):
            yield piece
    for key, piece in current.pieces.items():
        # The runs of a plan that goes stay with it, so that it can come back whole.
        with_its_plan = piece.kind == "run" and piece.within_key not in wanted
        # Records of sun are kept beside the file, which says nothing of them.
        beside_it = piece.kind == "weather"
        if key not in wanted and not piece.removed and not with_its_plan and not beside_it:
            yield replace(piece, removed=True, revision=revision)


def _wanted(current: StoredHousehold, document: dict[str, Any], revision: int) -> Iterator[Piece]:
    """The pieces of the file, under the keys that what they are about has or had here."""
    known = {(piece.kind, piece.name): piece.key for piece in current.pieces.values() if piece.kind != "run"}
    keys: dict[str, str] = {}
    for piece in take_apart(document, current.key, revision):
        if piece.kind == "run":
            plan_key = keys[piece.within_key]
            yield replace(piece, key=run_key(plan_key, piece.name), within_key=plan_key)
            continue
        keys[piece.key] = known.get((piece.kind, piece.name), piece.key)
        yield replace(piece, key=keys[piece.key])
        if piece.kind == "scenario":
            # Before its runs, so that those of which it says more take precedence.
            yield from _said_without_a_piece(current, keys[piece.key], piece.document, revision)


def _said_without_a_piece(
    current: StoredHousehold, plan_key: str, plan: dict[str, Any], revision: int
) -> Iterator[Piece]:
    """Runs of which a plan says null or nothing: a place for them is enough, but a piece that is there must agree."""
    for run_id, patch in ((plan.get("changes") or {}).get("runs") or {}).items():
        before = current.pieces.get(run_key(plan_key, run_id))
        if before is not None:
            yield replace(before, document=patch, removed=False, revision=revision)


def _is_other(before: Piece, after: Piece) -> bool:
    """Whether a piece has to be written; 1 and 1.0, and fields in another order, are not the same text."""
    same_place = (before.position, before.removed) == (after.position, after.removed)
    return not same_place or json.dumps(before.document) != json.dumps(after.document)
