"""Changes to the figures of one part: of an appliance, of a piece of the supply, of a section of the file."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal

from app.household.errors import Fault, HouseholdFaults
from app.household.paths import Path, value_at
from app.store.commands.carrying import carrying
from app.store.commands.command import Command, Outcome
from app.store.commands.entries import refuse_what_is_in_the_way
from app.store.commands.refusing import naming_plans
from app.store.commands.unwired import still_on, taken_out
from app.store.errors import Gone, NotThere
from app.store.keys import new_key
from app.store.mapping import Kind, Piece
from app.store.stored import StoredHousehold

PartKind = Literal["appliance", "supply", "section"]


@dataclass(frozen=True, kw_only=True)
class ChangePart(Command):
    """Give some figures of one part; a part that is not there yet begins with them.

    kind, name: which part; an appliance by its id, a piece of the supply or a section by its name in the file.
    changes: pairs of a path inside the part and the value there, as the file has it. Null takes the field out, and
        what held nothing else with it; an empty path is the whole part.
    what: a word for the log's reader where the figures alone do not say it, as `stage_added`.
    """

    kind: PartKind
    name: str
    changes: list[list[Any]]
    what: str | None = None

    def subject(self) -> tuple[str, str | None]:
        """The part's figures."""
        return self.household_key, f"{self.kind}.{self.name}"[:100]

    def overtaken_by(self, sequence: int, done: Mapping[str, Any]) -> bool:
        """Only what the page said later of the same figure stands, and a piece is not added or moved twice by one tap.

        Under the same number, a page that was gone back to without its script says something else: the later one wins.
        """
        if sequence == self.sequence:
            return self.what is not None and done.get("what") == self.what
        others = [path for path, _ in done.get("changes") or ()]
        return self.what is not None or any(_overlap(path, other) for path, _ in self.changes for other in others)

    def on(self, current: StoredHousehold) -> Outcome:
        """The household with the figures in the part."""
        before = part_named(current, self.kind, self.name)
        if before is None and self.kind == "appliance":
            raise NotThere("there is no such appliance")
        if before is not None and before.removed and self.kind == "appliance":
            raise Gone(current, (before.key,))
        document = before.document if before is not None and not before.removed else None
        was = [value_at(document, path) for path, _ in self.changes]
        for path, value in self.changes:
            document = changed(document, path, value)
        if self.kind == "appliance":
            refuse_what_is_in_the_way(current, self.name, document)
        revision = current.revision + 1
        if before is None:
            place = 1 + max((one.position for one in current.pieces.values() if one.kind == self.kind), default=-1)
            piece = Piece(new_key(), current.key, self.kind, self.name, place, revision, document)
        elif document is None:
            piece = replace(before, removed=True, revision=revision)
        else:
            piece = replace(before, document=document, removed=False, revision=revision)
        words = {"title": title_of(before or piece), "was": was} | _which(piece, self.changes) | _rested_on(before)
        return outcome(self, current, carrying(current, (piece,)), words)


@dataclass(frozen=True, kw_only=True)
class PutBack(Command):
    """Parts as they were before a change: what undoes one.

    parts: each key with its document and whether it was removed. what: as of the change that is taken back.
    """

    parts: list[dict[str, Any]]
    what: str | None = None

    def subject(self) -> tuple[str, str | None]:
        """The first of them."""
        return self.household_key, str(self.parts[0]["key"])

    def on(self, current: StoredHousehold) -> Outcome:
        """The household with these parts as they were."""
        pieces = tuple(as_they_were(current, self.parts))
        return outcome(self, current, pieces, {"title": title_of(pieces[0])})


def as_they_were(current: StoredHousehold, parts: list[dict[str, Any]]) -> Iterator[Piece]:
    """The pieces that bring parts back; one whose position is told comes back to that too.

    Raises NotThere; HouseholdFaults where one was changed since on another page, which would be lost.
    """
    for part in parts:
        now = current.pieces.get(part["key"])
        if now is None:
            raise NotThere("there is no such part")
        _refuse_if_changed(now, part)
        was = {name: part[name] for name in ("document", "position", "removed") if name in part}
        yield replace(now, **was, revision=current.revision + 1)


def _overlap(one: Path, other: Path) -> bool:
    """Whether one path leads to where the other does, or to something inside it."""
    shorter = min(len(one), len(other))
    return one[:shorter] == other[:shorter]


def _which(piece: Piece, changes: list[list[Any]]) -> dict[str, Any]:
    """The name of the one piece of a list that figures were given to, for who reads the log: lists have several."""
    places = {path[0] if len(path) > 1 else None for path, _ in changes}
    place = places.pop() if len(places) == 1 else None
    one = value_at(piece.document, [place]) if isinstance(place, int) and isinstance(piece.document, list) else None
    name = (one.get("name") or one.get("id")) if isinstance(one, dict) else None
    return {"which": name} if isinstance(name, str) else {}


def _rested_on(before: Piece | None) -> dict[str, Any]:
    """What an appliance's figures rested on before a change, for their history."""
    if before is None or before.kind != "appliance":
        return {}
    return {"rested_on": {name: before.document[name] for name in ("basis", "source") if before.document.get(name)}}


def outcome(command: Command, current: StoredHousehold, pieces: tuple[Piece, ...], words: dict[str, Any]) -> Outcome:
    """What a change of some parts comes to, with the parts as they are now as the way back.

    Raises HouseholdFaults when the household would not be possible.
    """
    try:
        following = current.with_pieces(*pieces)
    except HouseholdFaults as refused:
        needed = still_on(current, _circuits_gone(current, pieces))
        raise HouseholdFaults([*needed] or naming_plans(current, refused.faults)) from refused
    inverse = PutBack(
        **command.next_envelope(),
        parts=[as_it_is(current.pieces.get(piece.key), piece) for piece in pieces],
        what=getattr(command, "what", None),
    )
    return Outcome(following, pieces, command, inverse, words, words, None)


def _circuits_gone(current: StoredHousehold, pieces: tuple[Piece, ...]) -> dict[str, str]:
    after = next((one for one in pieces if (one.kind, one.name) == ("supply", "circuits")), None)
    before = current.pieces.get(after.key) if after is not None else None
    if after is None or before is None or before.removed:
        return {}
    return taken_out(before.document, None if after.removed else after.document)


def _refuse_if_changed(piece: Piece, part: dict[str, Any]) -> None:
    """Refuse to put back what a page that has steps of its own changed since: that would go with it, unsaid.

    Raises HouseholdFaults.
    """
    left = part.get("left")
    if left is not None and (piece.document, piece.removed) != (left["document"], left["removed"]):
        why = f"{title_of(piece)!r} was changed since, by a step on another plan's page; undo or redo that there first"
        raise HouseholdFaults([Fault("", why)])


def as_it_is(before: Piece | None, after: Piece) -> dict[str, Any]:
    """A part before a change, and as it was left by it; one that was not there is one that was removed."""
    left = {"document": after.document, "removed": after.removed}
    shown = before or replace(after, removed=True)
    return {"key": shown.key, "document": shown.document, "removed": shown.removed, "left": left}


def part_named(current: StoredHousehold, kind: Kind, name: str) -> Piece | None:
    """The part of that kind and name, removed or not; None if there never was one."""
    return next((one for one in current.pieces.values() if one.kind == kind and one.name == name), None)


def document_of(current: StoredHousehold, kind: Kind, name: str) -> Any:
    """A part as the file has it; None for one that is not there."""
    piece = part_named(current, kind, name)
    return None if piece is None or piece.removed else piece.document


def title_of(piece: Piece) -> str:
    """What people call a part: an appliance by its name, another by its field in the file."""
    named = piece.kind in ("appliance", "scenario", "weather") and isinstance(piece.document, dict)
    name = piece.document.get("name") if named else None
    return name if isinstance(name, str) else piece.name


def changed(document: Any, path: Path, value: Any) -> Any:
    """A document with a value at a path; what it was made of stays as it is.

    Null takes out a field, or a place of a list; an object that is left empty by that goes too.

    >>> changed({"cycle": {"on_s": 60, "period_s": 300}}, ["cycle", "on_s"], 90)
    {'cycle': {'on_s': 90, 'period_s': 300}}
    >>> changed({"watts": 5, "cycle": {"on_s": 60}}, ["cycle", "on_s"], None)
    {'watts': 5}
    >>> changed([{"va": 1}, {"va": 2}], [1, "va"], 3)
    [{'va': 1}, {'va': 3}]
    """
    if not path:
        return value
    step, rest = path[0], path[1:]
    if isinstance(step, int):
        places = list(document) if isinstance(document, list) else []
        held = places[step] if step < len(places) else None
        held = changed(held, rest, value)
        places[step : step + 1] = [] if held is None else [held]
        return places
    fields = dict(document) if isinstance(document, dict) else {}
    held = changed(fields.get(step), rest, value)
    if held is None or (rest and held == {}):
        fields.pop(step, None)
    else:
        fields[step] = held
    return fields
