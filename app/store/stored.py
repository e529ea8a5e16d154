"""A household as it is stored: checked, with the keys and revisions its pages need."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any, Self

from app.household.checks import with_plan
from app.household.file import household_from
from app.household.household import Household
from app.household.resolve import resolve
from app.store.keys import run_key
from app.store.mapping import Piece, put_together


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
    """

    key: str
    revision: int
    household: Household
    scenarios: tuple[StoredScenario, ...]
    run_keys: dict[tuple[str, str], StoredRun]

    def scenario(self, scenario_key: str) -> StoredScenario | None:
        """The plan of that key, if there is one."""
        return next((one for one in self.scenarios if one.key == scenario_key), None)

    def run_id(self, scenario: StoredScenario, key: str) -> str | None:
        """The id of the run of that key on the plan's day, if it is there."""
        for (scenario_id, run_id), run in self.run_keys.items():
            if scenario_id == scenario.id and run.key == key:
                return run_id
        return None

    def with_plan(self, scenario: StoredScenario, document: dict[str, Any], run_id: str) -> Self:
        """The next state, in which a plan reads as given; the run is what changed in it.

        Only that plan is read again, and the household checked as a whole.
        Raises HouseholdFaults when it would not be possible.
        """
        revision = self.revision + 1
        place = self.scenarios.index(scenario)
        run_keys = {
            (one.id, run_id): StoredRun(self.run_keys[one.id, run_id].key, revision)
            for one in self.scenarios
            if scenario in self.lineage(one) and (one.id, run_id) in self.run_keys
        }
        return replace(
            self,
            revision=revision,
            household=with_plan(self.household, place, document),
            run_keys=self.run_keys | run_keys,
        )

    def lineage(self, scenario: StoredScenario) -> tuple[StoredScenario, ...]:
        """The plan, its parent, and so on to the eldest."""
        stored = {one.id: one for one in self.scenarios}
        parents = {one.id: one.parent for one in self.household.scenarios}
        line, parent = [scenario], parents[scenario.id]
        while parent is not None:
            line.append(stored[parent])
            parent = parents[parent]
        return tuple(line)


def stored_from(key: str, revision: int, pieces: Iterable[Piece]) -> StoredHousehold:
    """The stored household of which these are the parts.

    Raises HouseholdFaults when together they are no possible household.
    """
    pieces = list(pieces)
    household = household_from(put_together(pieces))
    scenarios = tuple(
        StoredScenario(piece.key, piece.name, piece.document["name"], piece.revision)
        for piece in sorted(pieces, key=lambda piece: piece.position)
        if piece.kind == "scenario"
    )
    run_keys: dict[tuple[str, str], StoredRun] = {}
    stored = StoredHousehold(key, revision, household, scenarios, run_keys)
    revisions = {piece.key: piece.revision for piece in pieces if piece.kind == "run"}
    for scenario in scenarios:
        line = stored.lineage(scenario)
        for run in resolve(household, scenario.id).day.runs:
            newest = max(revisions.get(run_key(one.key, run.id), 0) for one in line)
            run_keys[scenario.id, run.id] = StoredRun(run_key(scenario.key, run.id), newest)
    return stored
