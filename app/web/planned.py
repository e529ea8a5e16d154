"""A plan worked out: kept as long as its household is, so that looking closer at a page costs no new assessment."""

from dataclasses import dataclass, replace
from functools import cached_property
from threading import Lock
from typing import Any
from weakref import WeakKeyDictionary

from app.engine import sun
from app.engine.assess import assess, assess_day
from app.engine.day import PlannedDay, lay_day
from app.engine.moment import Inspection
from app.engine.results import Assessment
from app.household.household import Household
from app.household.moved import with_runs
from app.household.resolve import Resolved, resolve
from app.planner.ways import Way, ways_out
from app.store.stored import StoredHousehold, StoredScenario


@dataclass(frozen=True)
class Planned:
    """A plan laid on its day, what the engine says of it, and on demand a closer look and what would make it fit."""

    household: Household
    day: PlannedDay
    assessment: Assessment

    @property
    def resolved(self) -> Resolved:
        """The effective household and day."""
        return self.day.resolved

    @cached_property
    def inspection(self) -> Inspection:
        """The plan to be looked at instant after instant."""
        return Inspection(self.day, self.assessment)

    @cached_property
    def ways(self) -> tuple[Way, ...]:
        """Single changes that make the plan fit; a second's work, so only when somebody wants to see them."""
        return ways_out(self.household, self.resolved.day.scenario_id, self.assessment)

    @cached_property
    def by_itself(self) -> Assessment:
        """The plan with every run left off: what no change of its runs can make better."""
        off: dict[str, dict[str, Any]] = {run.id: {"on": False} for run in self.resolved.day.runs if run.on}
        scenario_id = self.resolved.day.scenario_id
        return assess(with_runs(self.household, scenario_id, off) if off else self.household, scenario_id)


# A stored household is one state that nobody changes, so what was worked out for it stays true.
_KEPT: WeakKeyDictionary[StoredHousehold, dict[str, Planned]] = WeakKeyDictionary()
_LOCK = Lock()


def planned(stored: StoredHousehold, scenario: StoredScenario, *, with_sun: bool = False) -> Planned:
    """Work out a plan, or find it worked out.

    with_sun: sun and bank too, though it may take a second or two; else they may be missing the first time, for
    loading what they need must not hold up an answer.
    Raises HouseholdFaults for a plan that cannot be computed.
    """
    with _LOCK:
        kept = _KEPT.setdefault(stored, {})
    found = kept.get(scenario.id)
    if found is None or (found.assessment.battery is None and (with_sun or sun.is_at_hand())):
        day = lay_day(resolve(stored.household, scenario.id)) if found is None else found.day
        given = sun.suns_of(day.resolved) if with_sun or sun.is_at_hand() else sun.known_suns(day.resolved)
        found = kept[scenario.id] = Planned(stored.household, day, assess_day(day, given))
    return found


def work_out(stored: StoredHousehold, before: StoredHousehold | None) -> None:
    """Work out every plan that is not as it was: what the engine refuses must not be stored, whoever brings it about.

    before: an earlier state of the household; None where everything is new.
    Raises HouseholdFaults.
    """
    for scenario in _touched(stored, before):
        planned(stored, scenario)


def take_over(stored: StoredHousehold, other: StoredHousehold) -> None:
    """Take over what was worked out of another state of a household, for every plan that is the same in it."""
    if stored is other:
        return
    differ = {one.id for one in _touched(stored, other)}
    same = [one.id for one in stored.scenarios if one.id not in differ]
    with _LOCK:
        found = _KEPT.get(other, {})
        kept = _KEPT.setdefault(stored, {})
        for plan in same:
            if plan in found and plan not in kept:
                kept[plan] = replace(found[plan], household=stored.household)


def _touched(stored: StoredHousehold, before: StoredHousehold | None) -> tuple[StoredScenario, ...]:
    """The plans that say something else than before, themselves or by what they inherit."""
    if before is None or any(
        _differs(stored, before, field) for field in Household.model_fields if field not in UNSEEN
    ):
        return stored.scenarios
    old = {one.id: one for one in before.household.scenarios}
    changed = {one.id for one in stored.household.scenarios if _is_other(one, old.get(one.id))}
    return tuple(one for one in stored.scenarios if changed & {line.id for line in stored.lineage(one)})


# Fields of a household that no plan's assessment depends on, and those looked at plan by plan.
UNSEEN = frozenset({"name", "scenarios"})


def _differs(stored: StoredHousehold, before: StoredHousehold, field: str) -> bool:
    return _is_other(getattr(stored.household, field), getattr(before.household, field))


def _is_other(now: object, then: object) -> bool:
    # Most is the very same object: what a command does not touch is handed on.
    return now is not then and now != then
