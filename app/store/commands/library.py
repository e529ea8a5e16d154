"""Appliances that come and go. A removed one stays stored, so that it comes back with its place and all its runs."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import count
from typing import Any, ClassVar

from app.household.errors import Fault, HouseholdFaults
from app.household.names import free_name
from app.store.commands.command import Command, Outcome
from app.store.commands.parts import outcome, part_named
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
        used = {piece.name for piece in current.pieces.values() if piece.kind == "appliance"}
        taken = [appliance.name for appliance in current.household.appliances]
        ids: dict[str, str] = {}
        for document in self.documents:
            ids[document["id"]] = _fresh_id(document["id"], used)
            used.add(ids[document["id"]])
        place = 1 + max((one.position for one in current.pieces.values() if one.kind == "appliance"), default=-1)
        pieces = []
        for position, document in enumerate(self.documents, place):
            name = free_name(document["name"], taken) if isinstance(document.get("name"), str) else document.get("name")
            entry = document | {"id": ids[document["id"]], "name": name}
            entry["stages"] = [_renamed(stage, ids) for stage in document["stages"]]
            pieces.append(
                Piece(new_key(), current.key, "appliance", entry["id"], position, current.revision + 1, entry)
            )
        carried_out = replace(self, documents=[piece.document for piece in pieces])
        return outcome(carried_out, current, tuple(pieces), {"title": pieces[0].document["name"]})


@dataclass(frozen=True, kw_only=True)
class RemoveAppliance(Command):
    """Take an appliance out of the library, with its runs in every plan."""

    name: str

    def subject(self) -> tuple[str, str | None]:
        """The appliance."""
        return self.household_key, f"appliance.{self.name}"[:100]

    def on(self, current: StoredHousehold) -> Outcome:
        """The household without it."""
        piece = part_named(current, "appliance", self.name)
        if piece is None:
            raise NotThere("there is no such appliance")
        if piece.removed:
            raise Gone(current, (piece.key,))
        if needed := list(_who_needs(current, self.name)):
            raise HouseholdFaults([Fault("appliances", why) for why in needed])
        revision = current.revision + 1
        of_plan = {
            scenario.key: {run.id for run in current.days[scenario.id].runs if run.appliance == self.name}
            for scenario in current.scenarios
        }
        runs = [
            one
            for one in current.pieces.values()
            if one.kind == "run" and not one.removed and one.name in of_plan.get(one.within_key, ())
        ]
        pieces = [replace(one, removed=True, revision=revision) for one in (piece, *runs)]
        pieces += [replace(one, revision=revision) for one in _without(current, self.name, of_plan)]
        words = {"title": piece.document["name"], "runs": len(runs)}
        return outcome(self, current, tuple(pieces), words)


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


def _who_needs(current: StoredHousehold, appliance_id: str) -> Iterator[str]:
    """What cannot do without an appliance and is nobody's to guess about."""
    water = current.household.supply.water
    if water is not None and water.pump == appliance_id:
        yield "it is the pump of the water supply; name another pump there first"
    for other in current.household.appliances:
        if any(called.appliance == appliance_id for stage in other.stages for called in stage.sets_off):
            yield f"{other.name!r} sets it off; take that out there first"
    for plan in current.household.scenarios:
        if any(entry.get("id") == appliance_id for entry in plan.changes.appliances):
            yield f"the plan {plan.name!r} has it with other figures; delete that plan first"


def _without(current: StoredHousehold, appliance_id: str, of_plan: dict[str, set[str]]) -> Iterator[Piece]:
    """What names it or its runs, without it: any-time loads, interlocks, plans."""
    for piece in current.pieces.values():
        if piece.removed:
            continue
        if piece.kind == "section" and piece.name == "any_time" and appliance_id in piece.document:
            yield replace(piece, document=[one for one in piece.document if one != appliance_id])
        if piece.kind == "section" and piece.name == "interlocks":
            shorter = [one | {"of": [name for name in one["of"] if name != appliance_id]} for one in piece.document]
            if shorter != piece.document:
                yield replace(piece, document=[one for one in shorter if len(one["of"]) > 1])
        if piece.kind == "scenario":
            plan = _plan_without(piece.document, appliance_id, of_plan.get(piece.key, set()))
            if plan != piece.document:
                yield replace(piece, document=plan)


def _plan_without(plan: dict[str, Any], appliance_id: str, run_ids: set[str]) -> dict[str, Any]:
    """A plan that neither leaves the appliance off nor keeps a place for its runs."""
    if appliance_id in (plan.get("off") or ()):
        plan = plan | {"off": [one for one in plan["off"] if one != appliance_id]}
    places = (plan.get("changes") or {}).get("runs") or {}
    if run_ids.intersection(places):
        places = {run_id: said for run_id, said in places.items() if run_id not in run_ids}
        plan = plan | {"changes": plan["changes"] | {"runs": places}}
    return plan
