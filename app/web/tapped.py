"""A plan as it stands today: with what people tapped laid over it, worked out and kept as long as nobody taps again."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from threading import Lock
from weakref import WeakKeyDictionary

from app.engine import sun
from app.engine.assess import assess_day
from app.engine.day import lay_day
from app.engine.moment import Inspection
from app.household.beside_plan import Beside, Tap, beside_plan, runs_by_itself
from app.household.errors import Fault, HouseholdFaults
from app.household.resolve import Resolved
from app.store.overlay import KeptTap
from app.store.stored import StoredHousehold, StoredScenario
from app.web.now import Now
from app.web.planned import planned


@dataclass(frozen=True)
class AsTapped:
    """A plan with the taps of its day, ready to be asked.

    plan: without them. taps: the first one first; on_clock: the same by the plan's clock. faults: why they cannot be,
    as the plan is by now, which is shown without them then.
    """

    plan: Resolved
    taps: tuple[KeptTap, ...]
    on_clock: tuple[Tap, ...]
    beside: Beside
    inspection: Inspection
    faults: tuple[Fault, ...] = ()

    @cached_property
    def by_itself(self) -> frozenset[str]:
        """Ids of what no hand switches."""
        return runs_by_itself(self.plan)

    def kept(self, tap: Tap) -> KeptTap:
        """Which of them is meant by a tap on the clock."""
        return next(kept for kept, one in zip(self.taps, self.on_clock, strict=True) if one == tap)

    @property
    def has_sun(self) -> bool:
        """Sun and bank are worked out."""
        return self.inspection.assessment.battery is not None


# As in `planned`: a stored household is one state that nobody changes. Of each plan only the newest taps are kept.
_KEPT: WeakKeyDictionary[StoredHousehold, dict[str, AsTapped]] = WeakKeyDictionary()
_LOCK = Lock()


def as_tapped(
    stored: StoredHousehold, scenario: StoredScenario, taps: tuple[KeptTap, ...], now: Now, *, with_sun: bool = False
) -> AsTapped:
    """Work out a plan with taps of today, or find it worked out. with_sun: as in `planned`.

    Raises HouseholdFaults where what was tapped cannot be computed.
    """
    with _LOCK:
        kept = _KEPT.setdefault(stored, {})
    on_clock = said(taps, planned(stored, scenario).resolved, now)
    found = kept.get(scenario.id)
    is_there = found is not None and (found.taps, found.on_clock) == (taps, on_clock)
    if found is None or not is_there or (not found.has_sun and (with_sun or sun.is_at_hand())):
        found = kept[scenario.id] = _worked_out(stored, scenario, taps, on_clock, with_sun=with_sun)
    return found


def as_it_stands(
    stored: StoredHousehold, scenario: StoredScenario, taps: tuple[KeptTap, ...], now: Now, *, with_sun: bool = False
) -> AsTapped:
    """As `as_tapped`; where the plan was changed so that the taps cannot be any more, without them, and why."""
    try:
        return as_tapped(stored, scenario, taps, now, with_sun=with_sun)
    except HouseholdFaults as refused:
        plain = as_tapped(stored, scenario, (), now, with_sun=with_sun)
        return replace(plain, taps=taps, on_clock=said(taps, plain.plan, now), faults=refused.faults)


def _worked_out(
    stored: StoredHousehold,
    scenario: StoredScenario,
    taps: tuple[KeptTap, ...],
    on_clock: tuple[Tap, ...],
    *,
    with_sun: bool,
) -> AsTapped:
    resolved = planned(stored, scenario).resolved
    beside = beside_plan(resolved, on_clock)
    if beside.resolved is resolved:
        return AsTapped(resolved, taps, on_clock, beside, planned(stored, scenario, with_sun=with_sun).inspection)
    day = lay_day(beside.resolved)
    given = sun.suns_of(day.resolved) if with_sun or sun.is_at_hand() else sun.known_suns(day.resolved)
    return AsTapped(resolved, taps, on_clock, beside, Inspection(day, assess_day(day, given, closely=False)))


def said(taps: Iterable[KeptTap], plan: Resolved, now: Now) -> tuple[Tap, ...]:
    """Taps of today by the clock of a plan."""
    return tuple(Tap(tap.appliance, tap.is_on, now.clock_of(tap.at_utc, plan.frame)) for tap in taps)


def age_s(tap: KeptTap, now_utc: datetime.datetime) -> float:
    """How long ago it was."""
    return max((now_utc - tap.at_utc).total_seconds(), 0.0)
