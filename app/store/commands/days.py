"""Changes to one field of a plan: its name, its date, the weather, the battery, the wanted margin."""

from abc import abstractmethod
from dataclasses import dataclass, replace
from typing import Any, Literal

from app.household.measured import MeasuredDay
from app.household.resolve import DAY_FIELDS
from app.store.commands.command import Command, Outcome, plan_of
from app.store.commands.plans import refuse_taken_name
from app.store.stored import StoredHousehold, StoredScenario

PlanField = Literal[
    "name",
    "date",
    "cloud_oktas",
    "ambient_c",
    "start_state_of_charge",
    "wanted_margin",
    "expected_yield_wh",
    "measured_day",
]


# What is told together with a field, and goes with it.
BESIDE = {"start_state_of_charge": ("state_of_charge_at",)}


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
        becomes = getattr(day, self.field)
        if isinstance(becomes, MeasuredDay):
            # Its figures are in the command; to be told are the place and the day.
            becomes = {"source": becomes.source, "on": becomes.on}
        if self.field == "start_state_of_charge":
            becomes = {"charge": becomes, "at": day.state_of_charge_at}
        return {"name": day.name, "becomes": becomes}


@dataclass(frozen=True, kw_only=True)
class SetPlanField(PlanFieldCommand):
    """Give a plan's field a value, as the file has it; null leaves the field's default, whatever a parent says.

    beside: what is told together with it, by fields of `BESIDE`.
    """

    value: Any
    beside: dict[str, Any] | None = None

    def on(self, current: StoredHousehold) -> Outcome:
        """As of any field; a name no other plan has. Undoing a rename asks for none, so that it is always possible."""
        if self.field == "name" and isinstance(self.value, str):
            scenario = plan_of(current, self.scenario_key)
            refuse_taken_name(current, self.value, current.scenarios.index(scenario), scenario)
        return super().on(current)

    def changed(self, document: dict[str, Any]) -> dict[str, Any]:
        """The field given, all else as it was."""
        return _with(document, {self.field: self.value} | (self.beside or {}))


@dataclass(frozen=True, kw_only=True)
class TakeMeasuredDay(PlanFieldCommand):
    """Give a plan a day of sun out of a record, and how warm it was then, where the record says it.

    value: the day as the file has it, the record's figures and all. ambient_c: as the file has it; null leaves the
        plan's temperatures as they are.
    """

    field: PlanField = "measured_day"
    value: dict[str, Any]
    ambient_c: list[list[float]] | None = None

    def changed(self, document: dict[str, Any]) -> dict[str, Any]:
        """Both given, all else as it was."""
        warm = {} if self.ambient_c is None else {"ambient_c": self.ambient_c}
        return _with(document, {"measured_day": self.value} | warm)


@dataclass(frozen=True, kw_only=True)
class ClearPlanField(PlanFieldCommand):
    """Leave a plan's field out: what the parent says holds again, or the field's default."""

    def changed(self, document: dict[str, Any]) -> dict[str, Any]:
        """The field left out and what is told with it, all else as it was."""
        fields = (self.field, *BESIDE.get(self.field, ()))
        if not _is_of_patch(document, self.field):
            return _without(document, fields)
        changes = document.get("changes") or {}
        if not set(fields) & set(changes.get("day") or {}):
            return document
        return document | {"changes": changes | {"day": _without(changes["day"], fields)}}


@dataclass(frozen=True, kw_only=True)
class RestorePlanFields(PlanFieldCommand):
    """Bring a plan's own fields back to what they were, to their order: what undoes a change to one of them.

    field: the one that was changed. document: what is stored of the plan beside its runs.
    """

    document: dict[str, Any]

    def changed(self, document: dict[str, Any]) -> dict[str, Any]:
        """All as it was."""
        return self.document


def _with(document: dict[str, Any], given: dict[str, Any]) -> dict[str, Any]:
    """A plan's own fields with some of its day's given, where it says such things."""
    if not all(_is_of_patch(document, field) for field in given):
        return document | given
    changes = document.get("changes") or {}
    return document | {"changes": changes | {"day": (changes.get("day") or {}) | given}}


def _is_of_patch(document: dict[str, Any], field: str) -> bool:
    return field in DAY_FIELDS and document.get("parent") is not None


def _without(fields: dict[str, Any], left_out: tuple[str, ...]) -> dict[str, Any]:
    return {name: value for name, value in fields.items() if name not in left_out}
