"""Changes to one field of one run: on or off, its start, its length."""

from abc import abstractmethod
from dataclasses import dataclass, replace
from typing import Any, Literal

from app.store.commands.command import Command, Outcome, plan_of, run_of
from app.store.commands.refusing import with_run
from app.store.keys import run_key
from app.store.mapping import Piece
from app.store.stored import StoredHousehold, StoredScenario

RunField = Literal["on", "start", "duration_s"]


@dataclass(frozen=True, kw_only=True)
class RunFieldCommand(Command):
    """A change to one field of one run in one plan; a plan with a parent says it in its patch of the run."""

    scenario_key: str
    run_key: str
    field: RunField

    def subject(self) -> tuple[str, str | None]:
        """The run, whatever the field."""
        return self.run_key, None

    def on(self, current: StoredHousehold) -> Outcome:
        """The run with the field as the command wants it."""
        scenario = plan_of(current, self.scenario_key)
        run_id = run_of(current, scenario, self.run_key)
        before = said_of(current, self.run_key)
        piece = put(current, scenario, run_id, self.changed(before))
        following = with_run(current, scenario, run_id, piece)
        return Outcome(
            following,
            (piece,),
            self,
            self.inverse(before),
            self._words(following, scenario, run_id),
            self._words(current, scenario, run_id),
            scenario.key,
        )

    @abstractmethod
    def changed(self, document: dict[str, Any]) -> dict[str, Any]:
        """What the plan says of the run, with the change in it."""

    def inverse(self, before: dict[str, Any]) -> Command:
        """The command that leads back to what the plan said."""
        about = self.next_envelope() | {"scenario_key": self.scenario_key, "run_key": self.run_key, "field": self.field}
        if self.field in before:
            place = list(before).index(self.field) if isinstance(self, ClearRunField) else None
            return SetRunField(**about, value=before[self.field], place=place)
        return ClearRunField(**about)

    def _words(self, state: StoredHousehold, scenario: StoredScenario, run_id: str) -> dict[str, Any]:
        return run_words(state, scenario, run_id) | {"becomes": getattr(state.run(scenario, run_id), self.field)}


@dataclass(frozen=True, kw_only=True)
class SetRunField(RunFieldCommand):
    """Give a run's field a value; null is the file's null, which leaves the field's default.

    place: where among the run's fields it goes if it is not there; None for last.
    """

    value: bool | str | float | None
    place: int | None = None

    def changed(self, document: dict[str, Any]) -> dict[str, Any]:
        """The field given, all else as it was."""
        if self.field in document or self.place is None:
            return document | {self.field: self.value}
        fields = list(document.items())
        fields.insert(self.place, (self.field, self.value))
        return dict(fields)


@dataclass(frozen=True, kw_only=True)
class ClearRunField(RunFieldCommand):
    """Leave a run's field out, as it was before it was first given."""

    def changed(self, document: dict[str, Any]) -> dict[str, Any]:
        """The field left out, all else as it was."""
        return {name: value for name, value in document.items() if name != self.field}


def said_of(current: StoredHousehold, key: str) -> dict[str, Any]:
    """What a plan itself says of a run; in a plan with a parent that may be nothing."""
    piece = current.pieces.get(key)
    return piece.document or {} if piece is not None and not piece.removed else {}


def put(current: StoredHousehold, scenario: StoredScenario, run_id: str, document: dict[str, Any] | None) -> Piece:
    """What a plan says of a run from the next revision on; in its old place if it ever said anything, else last."""
    key, revision = run_key(scenario.key, run_id), current.revision + 1
    before = current.pieces.get(key)
    if before is not None:
        return replace(before, document=document, revision=revision, removed=False)
    position = max((piece.position for piece in current.runs_of(scenario)), default=-1) + 1
    return Piece(key, scenario.key, "run", run_id, position, revision, document)


def run_words(state: StoredHousehold, scenario: StoredScenario, run_id: str) -> dict[str, Any]:
    """What the log needs to speak of a run even when it is there no more."""
    run = state.run(scenario, run_id)
    assert run is not None
    return {"run_id": run_id, "appliance": run.appliance, "start": run.start}
