"""From a household and one of its plans to the household and day that are really meant.

Whatever reads a plan reads it through `resolve`: parents, merge patches and switched-off appliances are
settled here, once.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

from pydantic import ValidationError

from app.household.appliance import Appliance
from app.household.day import DayFrame, day_frame
from app.household.errors import Fault, Faults, HouseholdFaults
from app.household.household import Household
from app.household.measured import MeasuredDay
from app.household.merge import merge_patch
from app.household.scenario import DayPatch, Run, Scenario
from app.household.supply import Supply
from app.household.words import faults_of

DAY_FIELDS = (
    "cloud_oktas",
    "ambient_c",
    "start_state_of_charge",
    "state_of_charge_at",
    "wanted_margin",
    "expected_yield_wh",
    "measured_day",
)


@dataclass(frozen=True)
class Day:
    """The day a plan really means: its weather, the battery's state, its runs, what is silenced."""

    scenario_id: str
    name: str
    date: str
    cloud_oktas: float
    ambient_c: tuple[tuple[float, float], ...]
    start_state_of_charge: float
    state_of_charge_at: str
    wanted_margin: float
    expected_yield_wh: float | None
    measured_day: MeasuredDay | None
    off: tuple[str, ...]
    runs: tuple[Run, ...]


@dataclass(frozen=True)
class Resolved:
    """The effective household of a plan, and its day.

    household: supply and appliances as the plan has them; its scenarios are those of the file.
    frame: the day on the clock.
    """

    household: Household
    day: Day
    frame: DayFrame

    def appliance(self, appliance_id: str) -> Appliance | None:
        """The appliance of that id in this plan's library, if any."""
        return self._by_id.get(appliance_id)

    @cached_property
    def _by_id(self) -> dict[str, Appliance]:
        return {appliance.id: appliance for appliance in self.household.appliances}


def resolve(household: Household, scenario_id: str | None = None) -> Resolved:
    """The effective household and day of a plan; without an id, of the first.

    Raises HouseholdFaults for an unknown plan, a parent that does not exist, parents in a circle, or
    changes that do not give a possible household.
    """
    lineage = _lineage(household, scenario_id)
    supply, appliances = household.supply, household.appliances
    day: Day | None = None
    for index, scenario in lineage:
        path = f"scenarios[{index}]"
        supply = _patched_supply(supply, scenario, path)
        appliances = _patched_appliances(appliances, scenario, path)
        day = _own_day(scenario, path) if day is None else _patched_day(day, scenario, path)
    assert day is not None  # a lineage has at least the plan itself
    effective = household
    if supply is not household.supply or appliances is not household.appliances:
        effective = household.model_copy(update={"supply": supply, "appliances": appliances})
    return Resolved(effective, day, day_frame(day.date, household.site.timezone))


def _lineage(household: Household, scenario_id: str | None) -> list[tuple[int, Scenario]]:
    """The plan's ancestors, eldest first, and the plan itself, each with its place in the file."""
    places = {scenario.id: place for place, scenario in enumerate(household.scenarios)}
    if scenario_id is None:
        if not household.scenarios:
            raise HouseholdFaults([Fault("scenarios", "there is no plan yet; add one")])
        scenario_id = household.scenarios[0].id
    if scenario_id not in places:
        known = ", ".join(places) or "none"
        raise HouseholdFaults([Fault("scenarios", f"there is no plan {scenario_id!r}; there are: {known}")])
    lineage: list[tuple[int, Scenario]] = []
    wanted: str | None = scenario_id
    while wanted is not None:
        place = places[wanted]
        scenario = household.scenarios[place]
        if any(place == earlier for earlier, _ in lineage):
            circle = " -> ".join([one.id for _, one in lineage] + [wanted])
            raise HouseholdFaults([Fault(f"scenarios[{place}].parent", f"the parents go in a circle: {circle}")])
        lineage.append((place, scenario))
        if scenario.parent is not None and scenario.parent not in places:
            why = f"there is no plan {scenario.parent!r}; name one of this household's plans"
            raise HouseholdFaults([Fault(f"scenarios[{place}].parent", why)])
        wanted = scenario.parent
    return lineage[::-1]


def _patched_supply(supply: Supply, scenario: Scenario, path: str) -> Supply:
    patch = scenario.changes.supply
    if not patch:
        return supply
    document = merge_patch(supply.document(), patch)
    try:
        return Supply.model_validate(document)
    except ValidationError as error:
        raise HouseholdFaults(faults_of(error, f"{path}.changes.supply")) from error


def _patched_appliances(appliances: tuple[Appliance, ...], scenario: Scenario, path: str) -> tuple[Appliance, ...]:
    if not scenario.changes.appliances:
        return appliances
    by_id = {appliance.id: appliance for appliance in appliances}
    faults = Faults()
    given: set[str] = set()
    for index, document in enumerate(scenario.changes.appliances):
        where = f"{path}.changes.appliances[{index}]"
        try:
            appliance = Appliance.model_validate(document)
        except ValidationError as error:
            faults.take(faults_of(error, where))
            continue
        if appliance.id in given:
            faults.add(f"{where}.id", f"{appliance.id!r} is there twice; give every appliance an id of its own")
        given.add(appliance.id)
        by_id[appliance.id] = appliance
    faults.raise_if_any()
    return tuple(by_id.values())


def _own_day(scenario: Scenario, path: str) -> Day:
    faults = Faults()
    for field in ("runs", "day"):
        if getattr(scenario.changes, field):
            faults.add(f"{path}.changes.{field}", "only a plan with a parent changes these; name the parent")
    faults.raise_if_any()
    return Day(
        scenario.id, scenario.name, scenario.date, scenario.cloud_oktas, scenario.ambient_c,
        scenario.start_state_of_charge, scenario.state_of_charge_at, scenario.wanted_margin,
        scenario.expected_yield_wh, scenario.measured_day, scenario.off, scenario.runs,
    )  # fmt: skip


def _patched_day(parent: Day, scenario: Scenario, path: str) -> Day:
    faults = Faults()
    for field in DAY_FIELDS:
        if field in scenario.model_fields_set:
            why = f"this plan has a parent; give it as changes.day.{field}"
            faults.add(f"{path}.{field}", why)
    if scenario.runs:
        faults.add(f"{path}.runs", "this plan has a parent; give its runs in changes.runs, by their ids")
    faults.raise_if_any()
    patch = scenario.changes.day
    fields: dict[str, Any] = {name: getattr(parent, name) for name in (*DAY_FIELDS, "off")}
    if patch:
        try:
            given = DayPatch.model_validate(patch)
        except ValidationError as error:
            raise HouseholdFaults(faults_of(error, f"{path}.changes.day")) from error
        # A null takes the field away, which leaves its default.
        fields |= {
            name: Scenario.model_fields[name].default if value is None else getattr(given, name)
            for name, value in patch.items()
        }
    off = tuple(dict.fromkeys((*fields.pop("off"), *scenario.off)))
    runs = _patched_runs(parent.runs, scenario, path)
    return Day(scenario.id, scenario.name, scenario.date, off=off, runs=runs, **fields)


def _patched_runs(runs: tuple[Run, ...], scenario: Scenario, path: str) -> tuple[Run, ...]:
    by_id = {run.id: run for run in runs}
    faults = Faults()
    for run_id, patch in scenario.changes.runs.items():
        where = f"{path}.changes.runs.{run_id}"
        if patch is None:
            by_id.pop(run_id, None)
            continue
        if patch.get("id", run_id) != run_id:
            faults.add(f"{where}.id", f"a run keeps its id; leave it out or give {run_id!r}")
            continue
        before = by_id[run_id].document() if run_id in by_id else {"id": run_id}
        try:
            by_id[run_id] = Run.model_validate(merge_patch(before, patch))
        except ValidationError as error:
            faults.take(faults_of(error, where))
    faults.raise_if_any()
    return tuple(by_id.values())
