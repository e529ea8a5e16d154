"""Room to grow on a plan's day, worked out once and kept as long as its household is."""

from dataclasses import dataclass
from threading import Lock
from weakref import WeakKeyDictionary

from app.household.library import entries, sockets_of
from app.planner.growth.largest import Largest, largest
from app.planner.growth.machines import Machine, machines
from app.store.stored import StoredHousehold, StoredScenario
from app.web.planned import planned

GROUP = "Workshop"  # of the library's entries


@dataclass(frozen=True, slots=True)
class GrowthDay:
    """The largest that could be added, and how every workshop machine for the household's sockets stands."""

    largest: Largest
    machines: tuple[Machine, ...]


_KEPT: WeakKeyDictionary[StoredHousehold, dict[str, GrowthDay]] = WeakKeyDictionary()
_LOCK = Lock()


def growth_day(stored: StoredHousehold, scenario: StoredScenario) -> GrowthDay:
    """Work it out, or find it worked out; sun and bank are waited for."""
    with _LOCK:
        kept = _KEPT.setdefault(stored, {})
    found = kept.get(scenario.id)
    if found is None:
        inspection = planned(stored, scenario, with_sun=True).inspection
        library = entries()
        sockets = sockets_of(inspection.day.resolved.household.supply.inverter)
        workshop = [one for one in library if one.group == GROUP and not sockets.isdisjoint(one.volts)]
        found = kept[scenario.id] = GrowthDay(largest(inspection), machines(inspection, workshop, library))
    return found
