"""Appliances that come and go. A removed one stays stored, so that it comes back with its place and all its runs."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from itertools import count
from typing import Any, ClassVar

from app.household.errors import Fault, HouseholdFaults
from app.household.names import free_name
from app.store.commands.command import Command, Outcome
from app.store.commands.entries import names_of_appliances
from app.store.commands.parts import outcome, part_named
from app.store.commands.traces import rules_among, who_needs, without
from app.store.errors import Gone, NotThere
from app.store.keys import new_key
from app.store.mapping import Piece
from app.store.stored import StoredHousehold


@dataclass(frozen=True, kw_only=True)
class AddAppliance(Command):
    """Add an appliance, and what it sets off.

    documents: entries as the file has them, the appliance itself first. An id that is taken gets a number, in what
        sets it off too; a name that is taken gets one as well.
    """

    documents: list[dict[str, Any]]

    may_come_late: ClassVar[bool] = True

    def subject(self) -> tuple[str, str | None]:
        """The household's appliances."""
        return self.household_key, "appliances"

    def on(self, current: StoredHousehold) -> Outcome:
        """The household with them in its library."""
        place = 1 + max((one.position for one in current.pieces.values() if one.kind == "appliance"), default=-1)
        pieces = [
            Piece(new_key(), current.key, "appliance", entry["id"], position, current.revision + 1, entry)
            for position, entry in enumerate(fresh_entries(current, self.documents), place)
        ]
        carried_out = replace(self, documents=[piece.document for piece in pieces])
        return outcome(carried_out, current, tuple(pieces), {"title": pieces[0].document["name"]})


@dataclass(frozen=True, kw_only=True)
class RemoveAppliance(Command):
    """Take an appliance out of the library, with its runs in every plan."""

    name: str

    def subject(self) -> tuple[str, str | None]:
        """The appliance."""
        return self.household_key, f"appliance.{self.name}"[:100]

    def overtaken_by(self, sequence: int, done: Mapping[str, Any]) -> bool:
        """By what its page said of it later; under the same number, a page was gone back to and says something else."""
        return sequence > self.sequence

    def on(self, current: StoredHousehold) -> Outcome:
        """The household without it."""
        piece = part_named(current, "appliance", self.name)
        if piece is None:
            raise NotThere("there is no such appliance")
        if piece.removed:
            raise Gone(current, (piece.key,))
        if needed := list(who_needs(current, self.name)):
            raise HouseholdFaults([Fault("appliances", why) for why in needed])
        revision = current.revision + 1
        pieces = [replace(one, revision=revision) for one in without(current, self.name)]
        runs = sum(1 for one in pieces if one.removed)
        gone = replace(piece, removed=True, revision=revision)
        words = {"title": piece.document["name"], "runs": runs, "rules": rules_among(pieces)}
        return outcome(self, current, (gone, *pieces), words)


def fresh_entries(current: StoredHousehold, documents: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """Entries under ids and names that nothing has or had in this household, what sets them off among them too."""
    # What a plan brings under an id of its own counts too: the plan would take the new one for it.
    there = list(names_of_appliances(current.household))
    used = {piece.name for piece in current.pieces.values() if piece.kind == "appliance"}
    used |= {one for one, _ in there}
    taken = [name for _, name in there]
    wanted, ids = list(documents), {}
    for document in wanted:
        ids[document["id"]] = _fresh_id(document["id"], used)
        used.add(ids[document["id"]])
    entries = []
    for document in wanted:
        name = free_name(document["name"], taken) if isinstance(document.get("name"), str) else document.get("name")
        taken.append(str(name))
        stages = [_renamed(stage, ids) for stage in document["stages"]]
        entries.append(document | {"id": ids[document["id"]], "name": name, "stages": stages})
    return entries


def _fresh_id(wanted: str, used: set[str]) -> str:
    base = re.sub(r"[^\w-]+", "-", wanted.lower()).strip("-")[:90] or "appliance"
    return base if base not in used else next(one for n in count(2) if (one := f"{base}-{n}") not in used)


def _renamed(stage: dict[str, Any], ids: dict[str, str]) -> dict[str, Any]:
    """A stage whose followers go by their new ids."""
    if not stage.get("sets_off"):
        return stage
    return stage | {
        "sets_off": [one | {"appliance": ids.get(one["appliance"], one["appliance"])} for one in stage["sets_off"]]
    }
