"""A household as it is stored: checked, with the keys and revisions its pages need."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from app.household.checks import replanned, standing_on
from app.household.file import household_from
from app.household.household import Household
from app.household.resolve import Day, resolve
from app.household.scenario import Run
from app.store.keys import run_key
from app.store.mapping import Piece, plan_document, put_together


@dataclass(frozen=True, slots=True)
class StoredScenario:
    """A plan's key for addresses, its id and name in the file, and the revision of its own last change."""

    key: str
    id: str
    name: str
    revision: int


@dataclass(frozen=True, slots=True)
class StoredRun:
    """A run's key for addresses, and the revision of the last change to it, in its plan or a parent."""

    key: str
    revision: int


@dataclass(frozen=True, eq=False)
class StoredHousehold:
    """A household out of the store; nobody changes it in place.

    revision: counts the household's changes.
    scenarios: in the order of the file.
    run_keys: (plan id, run id) to key and revision, for each run of each plan's day, inherited ones too.
    days: each plan's day, by the plan's id.
    pieces: what is stored, by key; the parts that were removed too.
    """

    key: str
    revision: int
    household: Household
    scenarios: tuple[StoredScenario, ...]
    run_keys: dict[tuple[str, str], StoredRun]
    days: dict[str, Day]
    pieces: dict[str, Piece]

    def scenario(self, scenario_key: str) -> StoredScenario | None:
        """The plan of that key, if there is one."""
        return next((one for one in self.scenarios if one.key == scenario_key), None)

    def nearest(self, scenario_key: str) -> StoredScenario | None:
        """The plan of that key or, where that was removed, the one that stood before it, else the first.

        None if there never was one.
        """
        piece = self.pieces.get(scenario_key)
        if piece is None or piece.kind != "scenario":
            return None
        present = self.scenario(scenario_key)
        before = [one for one in self.scenarios if self.pieces[one.key].position < piece.position]
        return present or (before[-1] if before else self.scenarios[0])

    def run_id(self, scenario: StoredScenario, key: str) -> str | None:
        """The id of the run of that key on the plan's day, if it is there."""
        for (scenario_id, run_id), run in self.run_keys.items():
            if scenario_id == scenario.id and run.key == key:
                return run_id
        return None

    def run(self, scenario: StoredScenario, run_id: str) -> Run | None:
        """The run of that id on the plan's day, if it is there."""
        return next((run for run in self.days[scenario.id].runs if run.id == run_id), None)

    def lineage(self, scenario: StoredScenario) -> tuple[StoredScenario, ...]:
        """The plan, its parent, and so on to the eldest."""
        stored = {one.id: one for one in self.scenarios}
        parents = {one.id: one.parent for one in self.household.scenarios}
        line, parent = [scenario], parents[scenario.id]
        while parent is not None:
            line.append(stored[parent])
            parent = parents[parent]
        return tuple(line)

    def standing_on(self, scenario: StoredScenario) -> tuple[StoredScenario, ...]:
        """The plan, and every plan that has it among its parents, in the order of the file."""
        found = standing_on(self.household, scenario.id)
        return tuple(one for one in self.scenarios if one.id in found)

    def runs_of(self, scenario: StoredScenario) -> list[Piece]:
        """What the plan itself says about runs, in order; what was removed too."""
        runs = [piece for piece in self.pieces.values() if piece.kind == "run" and piece.within_key == scenario.key]
        return sorted(runs, key=lambda piece: piece.position)

    def plan_document(self, scenario: StoredScenario) -> dict[str, Any]:
        """The plan as the file has it."""
        return plan_document(self.pieces[scenario.key], self.runs_of(scenario))

    def with_plan(self, scenario: StoredScenario, *changed: Piece) -> "StoredHousehold":
        """The next state, with some pieces of one plan changed; the plan keeps its id and its parent.

        Only that plan and those that stand on it are read and checked again, for nothing else has changed.
        Raises HouseholdFaults when the household would not be possible.
        """
        place = self.scenarios.index(scenario)
        pieces = self.pieces | _by_key(changed)
        document = replace(self, pieces=pieces).plan_document(scenario)
        household, days = replanned(self.household, place, document)
        following = replace(
            self,
            revision=self.revision + 1,
            household=household,
            scenarios=(*self.scenarios[:place], _scenario(pieces[scenario.key]), *self.scenarios[place + 1 :]),
            days=self.days | days,
            pieces=pieces,
        )
        return replace(following, run_keys=_run_keys(following, set(days)))

    def with_pieces(self, *changed: Piece) -> "StoredHousehold":
        """The next state, with any pieces changed; everything is read and checked again.

        Raises HouseholdFaults when the household would not be possible.
        """
        return stored_from(self.key, self.revision + 1, (self.pieces | _by_key(changed)).values())


def stored_from(key: str, revision: int, pieces: Iterable[Piece]) -> StoredHousehold:
    """The stored household of which these are the parts.

    Raises HouseholdFaults when together they are no possible household.
    """
    by_key = _by_key(pieces)
    household = household_from(put_together(by_key.values()))
    plans = [piece for piece in by_key.values() if piece.kind == "scenario" and not piece.removed]
    scenarios = tuple(_scenario(plan) for plan in sorted(plans, key=lambda plan: plan.position))
    days = {one.id: resolve(household, one.id).day for one in scenarios}
    stored = StoredHousehold(key, revision, household, scenarios, {}, days, by_key)
    return replace(stored, run_keys=_run_keys(stored, set(days)))


def _by_key(pieces: Iterable[Piece]) -> dict[str, Piece]:
    return {piece.key: piece for piece in pieces}


def _scenario(piece: Piece) -> StoredScenario:
    return StoredScenario(piece.key, piece.name, piece.document["name"], piece.revision)


def _run_keys(stored: StoredHousehold, again: set[str]) -> dict[tuple[str, str], StoredRun]:
    """Keys and revisions of every plan's runs; of the plans named, found again."""
    found: dict[tuple[str, str], StoredRun] = {}
    for scenario in stored.scenarios:
        if scenario.id not in again:
            found |= {names: run for names, run in stored.run_keys.items() if names[0] == scenario.id}
            continue
        line = stored.lineage(scenario)
        for run in stored.days[scenario.id].runs:
            said = (stored.pieces.get(run_key(one.key, run.id)) for one in line)
            newest = max((piece.revision for piece in said if piece is not None), default=0)
            found[scenario.id, run.id] = StoredRun(run_key(scenario.key, run.id), newest)
    return found
