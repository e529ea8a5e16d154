"""Many runs of one plan at once: moved, put on the day, left off, in one step that is taken back as one."""

from dataclasses import dataclass, replace
from typing import Any, ClassVar

from app.household.errors import HouseholdFaults
from app.store.commands.command import Command, Outcome, plan_of
from app.store.commands.placing import fresh_id
from app.store.commands.refusing import naming_plans_of_runs
from app.store.commands.runs import put, said_of
from app.store.errors import Gone, NotThere
from app.store.keys import run_key
from app.store.mapping import Piece
from app.store.stored import StoredHousehold, StoredScenario


@dataclass(frozen=True, kw_only=True)
class PlaceRuns(Command):
    """Give fields of runs that are on a plan's day, and put new runs on it.

    runs: by id the fields of a run as the file has them; null takes one out. new: by a name of the sender's own the new
    runs, as the file has them, without an id; what waits for one of them names it so. Each gets a fresh id.
    """

    scenario_key: str
    runs: dict[str, dict[str, Any]]
    new: dict[str, dict[str, Any]]

    # A page sends one, under a name of its own: the same once more, though the new runs have their ids by then.
    may_come_late: ClassVar[bool] = True

    def subject(self) -> tuple[str, str | None]:
        """The plan's runs."""
        return self.scenario_key, "runs"

    def on(self, current: StoredHousehold) -> Outcome:
        """The day with all of them as wanted."""
        scenario = plan_of(current, self.scenario_key)
        for run_id in self.runs:
            if current.run(scenario, run_id) is None:
                raise _not_there(current, scenario, run_id)
        ids: dict[str, str] = {}
        for name, document in self.new.items():
            ids[name] = fresh_id(current, document, set(ids.values()))
        pieces = [self._changed(current, scenario, run_id, fields, ids) for run_id, fields in self.runs.items()]
        for place, (name, document) in enumerate(self.new.items()):
            piece = put(current, scenario, ids[name], _document(current, scenario, ids[name], _named(document, ids)))
            pieces.append(replace(piece, position=piece.position + place))
        words = {"placed": len(pieces)}
        return _outcome(self, current, scenario, tuple(pieces), words)

    def _changed(
        self,
        current: StoredHousehold,
        scenario: StoredScenario,
        run_id: str,
        fields: dict[str, Any],
        ids: dict[str, str],
    ) -> Piece:
        said = said_of(current, run_key(scenario.key, run_id)) | _named(fields, ids)
        if len(current.lineage(scenario)) == 1:
            # In a plan with a parent a null takes away what that says, and stays.
            said = {name: value for name, value in said.items() if value is not None}
        return put(current, scenario, run_id, said)


@dataclass(frozen=True, kw_only=True)
class RunsAsBefore(Command):
    """What a plan said of some runs before: what undoes a step of many.

    parts: of each its key, what was said, and whether it was not on the day. placed: how many, for the log's reader.
    """

    scenario_key: str
    parts: list[dict[str, Any]]
    placed: int

    def subject(self) -> tuple[str, str | None]:
        """The plan's runs."""
        return self.scenario_key, "runs"

    def on(self, current: StoredHousehold) -> Outcome:
        """The day with these as they were."""
        scenario = plan_of(current, self.scenario_key)
        pieces = []
        for part in self.parts:
            now = current.pieces.get(part["key"])
            if now is None:
                raise NotThere("there is no such run")
            was = {"document": part["document"], "removed": part["removed"]}
            pieces.append(replace(now, **was, revision=current.revision + 1))
        return _outcome(self, current, scenario, tuple(pieces), {})


def _outcome(
    command: "PlaceRuns | RunsAsBefore",
    current: StoredHousehold,
    scenario: StoredScenario,
    pieces: tuple[Piece, ...],
    words: dict[str, Any],
) -> Outcome:
    try:
        following = current.with_plan(scenario, *pieces)
    except HouseholdFaults as refused:
        raise HouseholdFaults(naming_plans_of_runs(current, refused.faults, scenario)) from refused
    inverse = RunsAsBefore(
        **command.next_envelope(),
        scenario_key=scenario.key,
        parts=[_as_it_is(current.pieces.get(piece.key), piece) for piece in pieces],
        placed=len(pieces),
    )
    return Outcome(following, pieces, command, inverse, words, {}, scenario.key)


def _as_it_is(before: Piece | None, after: Piece) -> dict[str, Any]:
    """A run before a change; one that was not there is one that was removed."""
    shown = before or replace(after, removed=True)
    return {"key": shown.key, "document": shown.document, "removed": shown.removed}


def _named(fields: dict[str, Any], ids: dict[str, str]) -> dict[str, Any]:
    """What waits for a new run, with that run's id."""
    after = fields.get("after")
    return fields | {"after": ids[after]} if after in ids else fields


def _document(
    current: StoredHousehold, scenario: StoredScenario, run_id: str, document: dict[str, Any]
) -> dict[str, Any]:
    given = {name: value for name, value in document.items() if value is not None}
    # A patch is found by its name in the plan and needs no id in it.
    return given if len(current.lineage(scenario)) > 1 else {"id": run_id} | given


def _not_there(current: StoredHousehold, scenario: StoredScenario, run_id: str) -> NotThere:
    keys = tuple(run_key(one.key, run_id) for one in current.lineage(scenario))
    return Gone(current, keys) if any(key in current.pieces for key in keys) else NotThere("there is no such run")
