"""Plans that come and go. A removed plan stays stored, so that it comes back with its keys, its runs and its place."""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import count
from typing import Any, ClassVar

from app.household.errors import Fault, HouseholdFaults
from app.household.file import household_from
from app.household.names import same_name, taken_words
from app.store.commands.command import Command, Outcome, plan_of
from app.store.commands.parts import as_it_is, as_they_were
from app.store.commands.traces import rules_among, rules_without
from app.store.errors import NotThere
from app.store.mapping import Piece, put_together, take_plan_apart
from app.store.stored import StoredHousehold, StoredScenario


@dataclass(frozen=True, kw_only=True)
class AddPlan(Command):
    """Add a plan to a household.

    document: the plan as the file has it. Its id may be left out: it gets one made of its name; and an id that
        another plan has, or had, gets a number.
    position: its place among the plans, counted from 0; None for last.
    copy_of: key of the plan it was copied from, for the log's reader.
    """

    document: dict[str, Any]
    position: int | None = None
    copy_of: str | None = None

    may_come_late: ClassVar[bool] = True

    def subject(self) -> tuple[str, str | None]:
        """The household's plans; the plan has no key before it is there."""
        return self.household_key, "scenarios"

    def on(self, current: StoredHousehold) -> Outcome:
        """The household with the plan in it."""
        fresh = _fresh_id(_plans(current), self.document)
        document = {"id": fresh} | self.document | {"id": fresh}
        place = len(current.scenarios) if self.position is None else self.position
        plans = [current.plan_document(one) for one in current.scenarios]
        plans.insert(place, document)
        refuse_taken_name(current, document["name"] if isinstance(document.get("name"), str) else "", place)
        # Checked before it is taken apart, for that needs a plan in which every run has an id of its own.
        household_from(put_together(current.pieces.values()) | {"scenarios": plans})

        later = current.scenarios[place : place + 1]
        position = current.pieces[later[0].key].position if later else _last(current) + 1
        moved = [replace(one, position=one.position + 1) for one in _plans(current) if one.position >= position]
        pieces = take_plan_apart(document, current.key, position, current.revision + 1)
        following = current.with_pieces(*moved, *pieces)
        key, words = pieces[0].key, {"name": document["name"]}
        inverse = RemovePlan(**self.next_envelope(), scenario_key=key)
        carried_out = replace(self, document=document)
        return Outcome(following, (*moved, *pieces), carried_out, inverse, words | {"scenario": key}, words, None)


@dataclass(frozen=True, kw_only=True)
class RemovePlan(Command):
    """Remove a plan on which no other stands; a household keeps at least one.

    Machines that nobody else has go out of what the household says of any-time loads and of what runs together.
    """

    scenario_key: str

    def subject(self) -> tuple[str, str | None]:
        """The plan."""
        return self.scenario_key, None

    def on(self, current: StoredHousehold) -> Outcome:
        """The household without the plan."""
        scenario = plan_of(current, self.scenario_key)
        where = f"scenarios[{current.scenarios.index(scenario)}]"
        standing = [plan.name for plan in current.household.scenarios if plan.parent == scenario.id]
        if standing:
            raise HouseholdFaults([Fault(where, f"{_named(standing)} on this one; delete {_them(standing)} first")])
        if len(current.scenarios) == 1:
            raise HouseholdFaults([Fault(where, "a household keeps at least one plan; add another one first")])
        gone = rules_without(current, _of_its_own(current, scenario))
        rules = [replace(one, revision=current.revision + 1) for one in gone]
        parts = [as_it_is(current.pieces[one.key], one) for one in rules]
        inverse = RestorePlan(**self.next_envelope(), scenario_key=scenario.key, parts=parts or None)
        return _shown(self, current, current.pieces[scenario.key], rules, removed=True, inverse=inverse)


@dataclass(frozen=True, kw_only=True)
class RestorePlan(Command):
    """Bring a removed plan back as it was.

    parts: what the household said of its machines, each key with its document; what was changed since stays so.
    """

    scenario_key: str
    parts: list[dict[str, Any]] | None = None

    def subject(self) -> tuple[str, str | None]:
        """The plan."""
        return self.scenario_key, None

    def on(self, current: StoredHousehold) -> Outcome:
        """The household with the plan in it again."""
        piece = current.pieces.get(self.scenario_key)
        if piece is None or not piece.removed:
            raise NotThere("there is no such removed plan")
        inverse = RemovePlan(**self.next_envelope(), scenario_key=piece.key)
        as_left = [one for one in self.parts or () if current.pieces[one["key"]].document == one["left"]["document"]]
        return _shown(self, current, piece, list(as_they_were(current, as_left)), removed=False, inverse=inverse)


def copied(current: StoredHousehold, scenario: StoredScenario, name: str) -> dict[str, Any]:
    """The document of a plan's copy, for `AddPlan`: its runs too, on the same parent, under another name."""
    return current.plan_document(scenario) | {"name": name}


def refuse_taken_name(current: StoredHousehold, name: str, place: int, own: StoredScenario | None = None) -> None:
    """Refuse a name that another plan has; the plan itself may be given its own once more.

    place: of the plan in the file, for the fault's path.
    Raises HouseholdFaults.
    """
    taken = [one.name for one in current.scenarios if one is not own]
    if any(same_name(name, other) for other in taken):
        raise HouseholdFaults([Fault(f"scenarios[{place}].name", taken_words("plan", name, taken))])


def _shown(
    command: Command, current: StoredHousehold, plan: Piece, rules: list[Piece], *, removed: bool, inverse: Command
) -> Outcome:
    pieces = (replace(plan, removed=removed, revision=current.revision + 1), *rules)
    words: dict[str, Any] = {"name": plan.document["name"]}
    if rules:
        words["rules"] = rules_among(rules)
    return Outcome(current.with_pieces(*pieces), pieces, command, inverse, words, words, None)


def _of_its_own(current: StoredHousehold, scenario: StoredScenario) -> set[str]:
    """Ids of the appliances that are in no library but that of one plan."""
    brought = {plan.id: {str(entry["id"]) for entry in plan.changes.appliances} for plan in current.household.scenarios}
    others = set().union(*(ids for plan_id, ids in brought.items() if plan_id != scenario.id))
    return brought[scenario.id] - others - {one.id for one in current.household.appliances}


def _plans(current: StoredHousehold) -> list[Piece]:
    """Every plan there is or was."""
    return [piece for piece in current.pieces.values() if piece.kind == "scenario"]


def _last(current: StoredHousehold) -> int:
    return max(plan.position for plan in _plans(current))


def _fresh_id(plans: Iterable[Piece], document: dict[str, Any]) -> str:
    used = {plan.name for plan in plans}
    given, name = document.get("id"), document.get("name")
    if isinstance(given, str) and given:
        base = given[:90] if given in used else given
    else:
        base = re.sub(r"[\W_]+", "-", name.lower()).strip("-")[:90] if isinstance(name, str) else ""
    base = base or "plan"
    return base if base not in used else next(one for n in count(2) if (one := f"{base}-{n}") not in used)


def _named(names: list[str]) -> str:
    quoted = [repr(name) for name in names]
    return f"{quoted[0]} builds" if len(quoted) == 1 else f"{', '.join(quoted[:-1])} and {quoted[-1]} build"


def _them(names: list[str]) -> str:
    return "it" if len(names) == 1 else "them"
