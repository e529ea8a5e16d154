"""Changes to the household itself."""

from dataclasses import dataclass, replace

from app.store.commands.command import Command, Outcome
from app.store.stored import StoredHousehold


@dataclass(frozen=True, kw_only=True)
class SetHouseholdName(Command):
    """Give a household another name."""

    value: str

    def subject(self) -> tuple[str, str | None]:
        """The household's name."""
        return self.household_key, "name"

    def on(self, current: StoredHousehold) -> Outcome:
        """The household under its other name."""
        before = next(piece for piece in current.pieces.values() if piece.kind == "file")
        named = replace(before, document=before.document | {"name": self.value}, revision=current.revision + 1)
        following = current.with_pieces(named)
        inverse = SetHouseholdName(**self.next_envelope(), value=before.document["name"])
        return Outcome(following, (named,), self, inverse, {}, {}, None)
