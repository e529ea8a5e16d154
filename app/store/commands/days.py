"""Changes to one field of a plan: its name, its date, the weather, the battery, the wanted margin."""

from abc import abstractmethod
from dataclasses import dataclass, replace
from typing import Any, Literal

from app.household.resolve import DAY_FIELDS
from app.store.commands.command import Command, Outcome, plan_of
from app.store.commands.plans import refuse_taken_name
from app.store.stored import StoredHousehold, StoredScenario

PlanField = Literal["name", "date", "cloud_oktas", "ambient_c", "start_state_of_charge", "wanted_margin"]


@dataclass(frozen=True, kw_only=True)
class PlanFieldCommand(Command):
    """A change to one field of a plan; a plan with a parent says of its day only what is different."""

    scenario_key: str
    field: PlanField

    def subject(self) -> tuple[str, str | None]:
        """The field, for a plan's fields are filled in side by side."""
        return self.scenario_key, self.field

    def on(self, current: StoredHousehold) -> Outcome:
        """The plan with the field as the command wants it."""
        scenario = plan_of(current, self.scenario_key)
        before = current.pieces[scenario.key]
        piece = replace(before, document=self.changed(before.document), revision=current.revision + 1)
        following = current.with_plan(scenario, piece)
        inverse = RestorePlanFields(
            **self.next_envelope(), scenario_key=scenario.key, field=self.field, document=before.document
        )
        return Outcome(
            following,
            (piece,),
            self,
            inverse,
            self._words(following, scenario),
            self._words(current, scenario),
            scenario.key,
        )

    @abstractmethod
    def changed(self, document: dict[str, Any]) -> dict[str, Any]:
        """The plan's own fields, its runs left out, with the change in them."""

    def _words(self, state: StoredHousehold, scenario: StoredScenario) -> dict[str, Any]:
        day = state.days[scenario.id]
        return {"name": day.name, "becomes": getattr(day, self.field)}


@dataclass(frozen=True, kw_only=True)
class SetPlanField(PlanFieldCommand):
    """Give a plan's field a value, as the file has it; null leaves the field's default, whatever a parent says."""

    value: Any

    def on(self, current: StoredHousehold) -> Outcome:
        """As of any field; a name no other plan has. Undoing a rename asks for none, so that it is always possible."""
        if self.field == "name" and isinstance(self.value, str):
            scenario = plan_of(current, self.scenario_key)
            refuse_taken_name(current, self.value, current.scenarios.index(scenario), scenario)
        return super().on(current)

    def changed(self, document: dict[str, Any]) -> dict[str, Any]:
        """The field given, all else as it was."""
        if not _is_of_patch(document, self.field):
            return document | {self.field: self.value}
        changes = document.get("changes") or {}
        return document | {"changes": changes | {"day": (changes.get("day") or {}) | {self.field: self.value}}}


@dataclass(frozen=True, kw_only=True)
class ClearPlanField(PlanFieldCommand):
    """Leave a plan's field out: what the parent says holds again, or the field's default."""

    def changed(self, document: dict[str, Any]) -> dict[str, Any]:
        """The field left out, all else as it was."""
        if not _is_of_patch(document, self.field):
            return _without(document, self.field)
        changes = document.get("changes") or {}
        if self.field not in (changes.get("day") or {}):
            return document
        return document | {"changes": changes | {"day": _without(changes["day"], self.field)}}


@dataclass(frozen=True, kw_only=True)
class RestorePlanFields(PlanFieldCommand):
    """Bring a plan's own fields back to what they were, to their order: what undoes a change to one of them.

    field: the one that was changed. document: what is stored of the plan beside its runs.
    """

    document: dict[str, Any]

    def changed(self, document: dict[str, Any]) -> dict[str, Any]:
        """All as it was."""
        return self.document


def _is_of_patch(document: dict[str, Any], field: str) -> bool:
    return field in DAY_FIELDS and document.get("parent") is not None


def _without(fields: dict[str, Any], field: str) -> dict[str, Any]:
    return {name: value for name, value in fields.items() if name != field}
