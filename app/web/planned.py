"""A plan worked out: kept as long as its household is, so that looking closer at a page costs no new assessment."""

from dataclasses import dataclass
from functools import cached_property
from threading import Lock
from weakref import WeakKeyDictionary

from app.engine.assess import assess_day
from app.engine.day import PlannedDay, lay_day
from app.engine.moment import Inspection
from app.engine.results import Assessment
from app.household.household import Household
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


# A stored household is one state that nobody changes, so what was worked out for it stays true.
_KEPT: WeakKeyDictionary[StoredHousehold, dict[str, Planned]] = WeakKeyDictionary()
_LOCK = Lock()


def planned(stored: StoredHousehold, scenario: StoredScenario) -> Planned:
    """Work out a plan, or find it worked out.

    Raises HouseholdFaults for a plan that cannot be computed.
    """
    with _LOCK:
        kept = _KEPT.setdefault(stored, {})
    if scenario.id not in kept:
        day = lay_day(resolve(stored.household, scenario.id))
        kept[scenario.id] = Planned(stored.household, day, assess_day(day))
    return kept[scenario.id]
