"""Records of sun that come and go. A removed one stays stored, so that it can be had back; plans keep their days."""

from dataclasses import dataclass, replace
from typing import ClassVar

from app.household.names import free_name
from app.store.commands.command import Command, Outcome
from app.store.commands.parts import outcome
from app.store.errors import Gone, NotThere
from app.store.mapping import Piece
from app.store.stored import StoredHousehold


@dataclass(frozen=True, kw_only=True)
class AddWeather(Command):
    """Keep a record whose days are in the table of records already.

    record: its key there. title: what people call it; one that is taken gets a number.
    """

    record: str
    title: str

    may_come_late: ClassVar[bool] = True

    def subject(self) -> tuple[str, str | None]:
        """The household's records."""
        return self.household_key, "weather"

    def on(self, current: StoredHousehold) -> Outcome:
        """The household with it."""
        there = [one for one in current.pieces.values() if one.kind == "weather"]
        title = free_name(self.title, [one.document["name"] for one in there if not one.removed])
        place = 1 + max((one.position for one in there), default=-1)
        document = {"name": title}
        revision = current.revision + 1
        piece = Piece(self.record, current.key, "weather", self.record, place, revision, document)
        return outcome(replace(self, title=title), current, (piece,), {"title": title})


@dataclass(frozen=True, kw_only=True)
class RemoveWeather(Command):
    """Keep a record no longer; the days that plans took out of it are theirs and stay."""

    record: str

    def subject(self) -> tuple[str, str | None]:
        """The record."""
        return self.household_key, f"weather.{self.record}"[:100]

    def on(self, current: StoredHousehold) -> Outcome:
        """The household without it."""
        piece = current.pieces.get(self.record)
        if piece is None or piece.kind != "weather":
            raise NotThere("there is no such record")
        if piece.removed:
            raise Gone(current, (piece.key,))
        removed = replace(piece, removed=True, revision=current.revision + 1)
        return outcome(self, current, (removed,), {"title": piece.document["name"]})
