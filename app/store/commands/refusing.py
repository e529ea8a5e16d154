"""Why something cannot be as it is wanted: said of the run that was to be changed, and of plans by their names."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Any

from pydantic import ValidationError

from app.household.checks import run_path
from app.household.errors import Fault, HouseholdFaults
from app.household.gaps import in_the_way
from app.household.merge import merge_patch
from app.household.resolve import resolve
from app.household.scenario import Run
from app.household.words import MISSING
from app.store.mapping import Piece
from app.store.stored import StoredHousehold, StoredScenario

_PARTS = {"generator": "generator", "water": "pump and vessel"}
_OF_A_PART = re.compile(rf"\.changes\.supply\.({'|'.join(_PARTS)})\.")


def with_run(current: StoredHousehold, scenario: StoredScenario, run_id: str, piece: Piece) -> StoredHousehold:
    """The next state, with what a plan says of a run changed.

    Raises HouseholdFaults when the household would not be possible. Where the run's machine is needed at that time,
    the fault is about the run that was to be changed, whichever of the two comes first; where only a plan that builds
    on this one would not be possible, it names that plan.
    """
    try:
        return current.with_plan(scenario, piece)
    except HouseholdFaults as refused:
        if why := _in_the_way(current, scenario, run_id, piece.document):
            raise HouseholdFaults([Fault(f"{_path(current, scenario, run_id)}.start", why)]) from refused
        raise HouseholdFaults(naming_plans_of_runs(current, refused.faults, scenario)) from refused


def naming_plans_of_runs(current: StoredHousehold, faults: Iterable[Fault], own: StoredScenario) -> Iterator[Fault]:
    """As `naming_plans`, of runs that were to be placed in a plan: what only a plan built on it makes impossible ends
    in what to change there."""
    for fault in naming_plans(current, faults, own):
        if not fault.plan:
            yield fault
        elif fault.path.endswith(".start"):
            way = "or else move the run that is there already, or take it off, on that plan's page first"
            yield replace(fault, why=f"{fault.why}, {way}")
        else:
            yield replace(fault, why=f"{fault.why}; change that on that plan's what-if page first")


def _in_the_way(current: StoredHousehold, scenario: StoredScenario, run_id: str, said: Any) -> str:
    before = next((current.run(parent, run_id) for parent in current.lineage(scenario)[1:]), None)
    try:
        run = Run.model_validate(merge_patch(before.document() if before else {"id": run_id}, said or {}))
    except ValidationError:
        return ""
    return in_the_way(resolve(current.household, scenario.id), run)


def _path(current: StoredHousehold, scenario: StoredScenario, run_id: str) -> str:
    """Where the run is in the file, or would be."""
    ids = [*(run.id for run in current.days[scenario.id].runs), run_id]
    place = current.scenarios.index(scenario)
    return run_path(f"scenarios[{place}]", current.household.scenarios[place], ids.index(run_id), run_id)


def naming_plans(
    current: StoredHousehold, faults: Iterable[Fault], own: StoredScenario | None = None
) -> Iterator[Fault]:
    """Faults as they are told: those of a plan beginning with which plan it is.

    own: the plan on whose page it is said, of which that is plain. Where a plan has figures of a part that would be
    gone, that is told once instead of each figure that is missing there.
    """
    told: set[tuple[str, str]] = set()
    for fault in faults:
        plan = next(
            (one for place, one in enumerate(current.scenarios) if fault.path.startswith(f"scenarios[{place}].")), None
        )
        gone = _OF_A_PART.search(fault.path) if plan is not None and fault.why == MISSING else None
        if plan is not None and gone is not None:
            if (plan.id, gone[1]) not in told:
                told.add((plan.id, gone[1]))
                what = f"the plan {plan.name!r} has figures of its own for the {_PARTS[gone[1]]} and needs the others"
                yield Fault(fault.path, f"{what}; take those back on its what-if page first", plan.name)
        elif plan is None or plan is own:
            yield fault
        else:
            yield Fault(fault.path, f"in the plan {plan.name!r}, {fault.why}", plan.name)
