"""A plan as it stands today: with what people tapped laid over it, worked out and kept as long as nobody taps again."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from threading import Lock
from weakref import WeakKeyDictionary

from app.engine import sun
from app.engine.day import lay_day
from app.engine.moment import Inspection
from app.engine.unread import Unread
from app.household.beside_plan import Beside, Tap, beside_plan, runs_by_itself
from app.household.day import DAY_S, DayFrame, day_frame
from app.household.errors import Fault, HouseholdFaults
from app.household.resolve import Resolved
from app.store.overlay import KeptTap
from app.store.stored import StoredHousehold, StoredScenario
from app.web.now import Now
from app.web.planned import planned

EVEN_MS = (DAY_S + DAY_S // 2) * 1000  # a day and the next morning, where no clock changes
TOLD_MS = 6 * DAY_S * 1000  # nothing is told of longer than that after a plan's midnight


@dataclass(frozen=True)
class AsTapped:
    """A plan with the taps of its day, ready to be asked.

    planned_for: the day it was made for. plan: without the taps, on a day on which it can be asked. shown: a day of
    today's weekday, by which its times are told.
    taps: the first one first; on_clock: the same by the plan's clock. faults: why they cannot be, as the plan is by
    now, which is shown without them then.
    """

    planned_for: DayFrame
    plan: Resolved
    taps: tuple[KeptTap, ...]
    on_clock: tuple[Tap, ...]
    beside: Beside
    inspection: Inspection
    shown: DayFrame
    faults: tuple[Fault, ...] = ()

    @cached_property
    def worded(self) -> Resolved:
        """The plan with its taps, for words: a plan of another date is taken as today's, and so are its weekdays."""
        resolved = self.beside.resolved
        return resolved if resolved.frame == self.shown else replace(resolved, frame=self.shown)

    def is_of(self, now: Now) -> bool:
        """It was made for the present day."""
        return self.planned_for.date == now.local.date()

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
        return self.inspection.battery is not None

    def dark_since_ms(self, at_ms: int) -> int | None:
        """Since when the house is dark as planned, at an instant; None where it is not, or the sun has come back."""
        battery = self.inspection.battery
        if battery is None or (dark_ms := battery.expected.dark_ms) is None or dark_ms > at_ms:
            return None
        return dark_ms if battery.charge_at(at_ms) <= battery.reserve else None

    def charge_unknown_until(self, at_ms: int) -> int | None:
        """When the charge is told, where that is later; None where it is known."""
        battery = self.inspection.battery
        if battery is None or at_ms >= battery.edges_ms[0]:
            return None
        return int(battery.edges_ms[0])


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
    plan = _askable(planned(stored, scenario).resolved, now)
    on_clock = said(taps, plan, now)
    found = kept.get(scenario.id)
    is_there = found is not None and (found.taps, found.on_clock, found.plan.frame) == (taps, on_clock, plan.frame)
    if found is None or not is_there or (not found.has_sun and (with_sun or sun.is_at_hand())):
        found = kept[scenario.id] = _worked_out(stored, scenario, plan, taps, on_clock, with_sun=with_sun)
    shown = _shown(plan, now)
    if found.shown != shown:
        found = kept[scenario.id] = replace(found, shown=shown)
    return found


def _askable(plan: Resolved, now: Now) -> Resolved:
    """A plan; one of another date on a day on which no clock changes, for today's does nothing of the kind."""
    frame, zone = plan.frame, plan.household.site.timezone
    if frame.date == now.local.date():
        return plan
    while frame.horizon_ms != EVEN_MS:
        frame = day_frame((frame.date + datetime.timedelta(days=1)).isoformat(), zone)
    if frame is plan.frame:
        return plan
    return replace(plan, day=replace(plan.day, date=frame.date.isoformat()), frame=frame)


def _shown(plan: Resolved, now: Now) -> DayFrame:
    """A plan's own day where it is today's, else one like today on which the clock goes as it does on the plan's."""
    today, zone = now.local.date(), plan.household.site.timezone
    if plan.frame.date == today:
        return plan.frame
    frame = day_frame(today.isoformat(), zone)
    while frame.t0_utc.astimezone(frame.zone).utcoffset() != frame.local(TOLD_MS).utcoffset():
        frame = day_frame((frame.date + datetime.timedelta(weeks=1)).isoformat(), zone)
    return frame


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
    plan: Resolved,
    taps: tuple[KeptTap, ...],
    on_clock: tuple[Tap, ...],
    *,
    with_sun: bool,
) -> AsTapped:
    made = planned(stored, scenario).resolved
    beside = beside_plan(plan, on_clock)
    if beside.resolved is made:
        inspection = planned(stored, scenario, with_sun=with_sun).inspection
        return AsTapped(made.frame, plan, taps, on_clock, beside, inspection, plan.frame)
    day = lay_day(beside.resolved)
    given = sun.suns_of(day.resolved) if with_sun or sun.is_at_hand() else sun.known_suns(day.resolved)
    return AsTapped(made.frame, plan, taps, on_clock, beside, Unread(day, given), plan.frame)


def said(taps: Iterable[KeptTap], plan: Resolved, now: Now) -> tuple[Tap, ...]:
    """Taps of today by the clock of a plan."""
    return tuple(Tap(tap.appliance, tap.is_on, now.clock_of(tap.at_utc, plan.frame)) for tap in taps)


def age_s(tap: KeptTap, now_utc: datetime.datetime) -> float:
    """How long ago it was."""
    return max((now_utc - tap.at_utc).total_seconds(), 0.0)
