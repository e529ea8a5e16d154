"""What a plan changes of the supply, the library and the runs it is built on."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Any

from app.household.errors import Fault, HouseholdFaults
from app.household.paths import value_at
from app.household.resolve import resolve
from app.household.whatif import ground_of, own_appliances, plan_of_id, supply_patch, without
from app.store.commands.carrying import carrying
from app.store.commands.command import Command, Outcome, plan_of
from app.store.commands.parts import as_it_is, as_they_were, changed
from app.store.commands.placing import why_needed
from app.store.commands.refusing import naming_plans
from app.store.commands.runs import put, said_of
from app.store.commands.traces import rules_among, who_needs_in
from app.store.commands.traces import without as everything_without
from app.store.commands.unwired import still_on, taken_out
from app.store.errors import Gone
from app.store.keys import run_key
from app.store.mapping import Piece
from app.store.stored import StoredHousehold, StoredScenario

_ENTRY = re.compile(r"appliances\[(\d+)\]")


@dataclass(frozen=True, kw_only=True)
class ChangeWhatIf(Command):
    """Change what a plan has otherwise than what it is built on; all of it is one step.

    supply: pairs of a path in the supply and the value there, as the plan shall have it; null takes it out.
    appliances: whole entries of the library, added or in the place of those of the same id.
    runs: by id, fields of runs on its day; of an id that is not there, new runs.
    take_back: paths among the plan's changes that it shall not say any more, as `household.whatif.said_at` has them.
    what: a word for the log's reader where the figures alone do not say it. title: what it is about, for the same.
    """

    scenario_key: str
    supply: list[list[Any]] = field(default_factory=list)
    appliances: list[dict[str, Any]] = field(default_factory=list)
    runs: dict[str, dict[str, Any]] = field(default_factory=dict)
    take_back: list[list[str]] = field(default_factory=list)
    what: str | None = None
    title: str | None = None

    def subject(self) -> tuple[str, str | None]:
        """What the plan changes."""
        return self.scenario_key, "changes"

    def overtaken_by(self, sequence: int, done: Any) -> bool:
        """Each is about other figures; the same once more is known by its number."""
        return sequence == self.sequence

    def on(self, current: StoredHousehold) -> Outcome:
        """The household in which the plan has that."""
        scenario = plan_of(current, self.scenario_key)
        pieces = carrying(current, tuple(self._pieces(current, scenario)))
        return _outcome(self, current, scenario, pieces)

    def _pieces(self, current: StoredHousehold, scenario: StoredScenario) -> Iterator[Piece]:
        plan = plan_of_id(current.household, scenario.id)
        ground = ground_of(current.household, scenario.id)
        before = current.pieces[scenario.key]
        changes = dict(before.document.get("changes") or {})
        for path in self.take_back:
            if path[0] == "runs":
                yield _not_said(current, scenario, path[1])
                continue
            left = without(changes, tuple(path))
            if left is None:
                raise Gone(current, (scenario.key,))
            changes = left
        if self.supply:
            supply: Any = resolve(current.household, scenario.id).household.supply.document()
            for path, value in self.supply:
                supply = changed(supply, path, value)
            changes["supply"] = supply_patch(plan, ground, supply)
        if self.appliances:
            changes["appliances"] = own_appliances(plan, ground, self.appliances)
        if changes != (before.document.get("changes") or {}):
            own = {name: value for name, value in changes.items() if value}
            document = {name: value for name, value in before.document.items() if name != "changes"}
            document |= {"changes": own} if own else {}
            yield replace(before, document=document, revision=current.revision + 1)
        for place, (run_id, fields) in enumerate(self.runs.items()):
            yield _run(current, scenario, run_id, fields, place)


@dataclass(frozen=True, kw_only=True)
class LeaveOut(Command):
    """Take out an appliance that a plan itself brings, with its runs, in the plan and in those that are built on it.

    name: its id. title: what people call it, for the log's reader.
    """

    scenario_key: str
    name: str
    title: str | None = None

    def subject(self) -> tuple[str, str | None]:
        """What the plan changes."""
        return self.scenario_key, "changes"

    def overtaken_by(self, sequence: int, done: Any) -> bool:
        """The same once more is known by its number."""
        return sequence == self.sequence

    def on(self, current: StoredHousehold) -> Outcome:
        """The household in which the plan does without it."""
        scenario = plan_of(current, self.scenario_key)
        plan = plan_of_id(current.household, scenario.id)
        entry = next((one for one in plan.changes.appliances if one["id"] == self.name), None)
        if entry is None:
            raise Gone(current, (scenario.key,))
        plans = [scenario, *(one for one in current.standing_on(scenario) if one is not scenario)]
        if needed := list(who_needs_in(current, plans, self.name)):
            raise HouseholdFaults([Fault("appliances", why) for why in needed])
        revision = current.revision + 1
        pieces = tuple(replace(one, revision=revision) for one in everything_without(current, self.name, plans))
        return _outcome(replace(self, title=entry["name"]), current, scenario, pieces)


@dataclass(frozen=True, kw_only=True)
class WhatIfAsBefore(Command):
    """Bring back what a plan said before: what undoes a change of what it has otherwise.

    parts: each key with its document and whether it was removed. what, title: as of the change that is taken back.
    """

    scenario_key: str
    parts: list[dict[str, Any]]
    what: str | None = None
    title: str | None = None

    def subject(self) -> tuple[str, str | None]:
        """What the plan changes."""
        return self.scenario_key, "changes"

    def on(self, current: StoredHousehold) -> Outcome:
        """The household in which the plan has that again."""
        scenario = plan_of(current, self.scenario_key)
        return _outcome(self, current, scenario, tuple(as_they_were(current, self.parts)))


def _outcome(
    command: ChangeWhatIf | LeaveOut | WhatIfAsBefore,
    current: StoredHousehold,
    scenario: StoredScenario,
    pieces: tuple[Piece, ...],
) -> Outcome:
    try:
        following = current.with_pieces(*pieces)
    except HouseholdFaults as refused:
        faults = naming_plans(current, _of_this_plan(current, scenario, pieces, refused), scenario)
        raise HouseholdFaults([*_needed(command, current, scenario)] or faults) from refused
    inverse = WhatIfAsBefore(
        **command.next_envelope(),
        scenario_key=scenario.key,
        parts=[as_it_is(current.pieces.get(piece.key), piece) for piece in pieces],
        what=getattr(command, "what", None),
        title=command.title,
    )
    words = {"was": _was(command, current, scenario)} if isinstance(command, ChangeWhatIf) and command.supply else {}
    rules = {"rules": touched} if (touched := rules_among(pieces)) else {}
    return Outcome(following, pieces, command, inverse, words | rules, rules, scenario.key)


def _needed(command: Command, current: StoredHousehold, scenario: StoredScenario) -> Iterator[Fault]:
    """Who cannot do without what the plan would not have any more: a run, or circuits of its own."""
    below = ground_of(current.household, scenario.id).supply.get("circuits")
    for path in command.take_back if isinstance(command, ChangeWhatIf) else ():
        if path[0] == "runs" and not any(current.run(one, path[1]) for one in current.lineage(scenario)[1:2]):
            yield from why_needed(current, scenario, path[1])
        if path[:2] == ["supply", "circuits"]:
            yield from still_on(current, _circuits_gone(current, scenario, below), scenario)
    if isinstance(command, ChangeWhatIf) and any(path[0] == "circuits" for path, _ in command.supply):
        supply: Any = resolve(current.household, scenario.id).household.supply.document()
        for path, value in command.supply:
            supply = changed(supply, path, value)
        yield from still_on(current, _circuits_gone(current, scenario, supply.get("circuits")), scenario)


def _circuits_gone(current: StoredHousehold, scenario: StoredScenario, after: Any) -> dict[str, str]:
    """Circuits of the plan that it would not have any more. after: its list then."""
    here = resolve(current.household, scenario.id).household.supply
    return taken_out([one.document() for one in here.circuits], after)


def _was(command: ChangeWhatIf, current: StoredHousehold, scenario: StoredScenario) -> list[Any]:
    """What stood where the supply was changed, for the log's reader."""
    supply = resolve(current.household, scenario.id).household.supply.document()
    return [value_at(supply, path) for path, _ in command.supply]


def _of_this_plan(
    current: StoredHousehold, scenario: StoredScenario, pieces: tuple[Piece, ...], refused: HouseholdFaults
) -> Iterator[Fault]:
    """Faults of what the plan changes, at their place in its supply or library, where its editors look for them."""
    own = f"scenarios[{current.scenarios.index(scenario)}].changes."
    library = [one.id for one in resolve(current.household, scenario.id).household.appliances]
    plan: dict[str, Any] = next((piece.document for piece in pieces if piece.kind == "scenario"), {})
    entries = [one["id"] for one in (plan.get("changes") or {}).get("appliances", ())]
    library += [one for one in entries if one not in library]
    for fault in refused.faults:
        inside = fault.path.removeprefix(own)
        if fault.path.startswith(own) and inside.startswith("supply"):
            yield Fault(inside, fault.why)
        elif fault.path.startswith(own) and (at := _ENTRY.match(inside)):
            yield Fault(f"appliances[{library.index(entries[int(at[1])])}]{inside[at.end() :]}", fault.why)
        else:
            yield fault


def _run(current: StoredHousehold, scenario: StoredScenario, run_id: str, fields: dict[str, Any], place: int) -> Piece:
    inherits = len(current.lineage(scenario)) > 1
    said = said_of(current, run_key(scenario.key, run_id))
    if not said and not inherits:
        said = {"id": run_id}
    said |= fields
    if not inherits:
        said = {name: value for name, value in said.items() if value is not None}
    piece = put(current, scenario, run_id, said)
    return piece if piece.key in current.pieces else replace(piece, position=piece.position + place)


def _not_said(current: StoredHousehold, scenario: StoredScenario, run_id: str) -> Piece:
    """A plan that says nothing of a run any more, which is then as the parent has it.

    Raises Gone where it says nothing.
    """
    key = run_key(scenario.key, run_id)
    piece = current.pieces.get(key)
    places = (current.pieces[scenario.key].document.get("changes") or {}).get("runs") or {}
    if piece.removed if piece is not None else run_id not in places:
        raise Gone(current, (key,))
    if piece is None:  # it says null, for which a place is enough
        position = max((one.position for one in current.runs_of(scenario)), default=-1) + 1
        piece = Piece(key, scenario.key, "run", run_id, position, current.revision, None)
    return replace(piece, removed=True, revision=current.revision + 1)
