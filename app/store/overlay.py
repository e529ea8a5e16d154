"""What people said is on or off today: kept beside a plan, for one day, and never a change of it.

Two phones may say the same at once: the household's turn is waited for, so each says it after the other.
"""

import datetime
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace

from sqlalchemy import ColumnElement, bindparam, delete, insert, select
from sqlalchemy.orm import Session

from app.household.errors import Fault, HouseholdFaults
from app.store.errors import Gone, NotThere, Stale
from app.store.households import claim
from app.store.keys import new_key
from app.store.stored import StoredHousehold
from app.store.tables import tap

ONE_MS = datetime.timedelta(milliseconds=1)
TAPS_AT_MOST = 400  # of one plan on one day
TOO_MANY = (
    f"{TAPS_AT_MOST} taps are kept for today already, and more are not taken; go back to what the plan says first"
)

# Put together once: a tap asks each of them.
_TAPS_OF_DAY = (
    select(tap.c.scenario_key, tap.c.appliance, tap.c.is_on, tap.c.at_utc, tap.c.who, tap.c.tab, tap.c.sequence)
    .where(tap.c.household_key == bindparam("of_household"), tap.c.date == bindparam("of_day"))
    .order_by(tap.c.at_utc, tap.c.sequence, tap.c.key)
)
_FORGET = delete(tap).where(tap.c.household_key == bindparam("of_household"), tap.c.date < bindparam("before"))
_KEEP = insert(tap)


@dataclass(frozen=True, slots=True)
class KeptTap:
    """Somebody said that an appliance is on, or off, since an instant.

    who: the name of the link it was said with. tab, sequence: the page it came from, and how manieth it was there.
    """

    appliance: str
    is_on: bool
    at_utc: datetime.datetime
    who: str
    tab: str
    sequence: int


TapsByPlan = Mapping[str, tuple[KeptTap, ...]]


@dataclass(frozen=True, slots=True)
class Place:
    """Where taps belong: a plan, and the day where the household is, YYYY-MM-DD."""

    household_key: str
    scenario_key: str
    date: str


@dataclass(frozen=True, slots=True)
class Tapped:
    """What a tap led to. taps: all of the plan's day then, the first one first; by_plan: of every plan of the house.

    kept: False where it said nothing new.
    """

    stored: StoredHousehold
    taps: tuple[KeptTap, ...]
    by_plan: TapsByPlan
    kept: bool


def taps_by_plan(session: Session, household_key: str, date: str) -> dict[str, tuple[KeptTap, ...]]:
    """What was tapped on a day in a house, by the keys of the plans it was tapped on; the first tap first."""
    found: dict[str, list[KeptTap]] = {}
    for key, *row in session.execute(_TAPS_OF_DAY, {"of_household": household_key, "of_day": date}):
        found.setdefault(key, []).append(KeptTap(*row))
    return {key: tuple(taps) for key, taps in found.items()}


def keep_tap(
    session: Session,
    place: Place,
    said: KeptTap,
    says_something: Callable[[StoredHousehold, Sequence[KeptTap]], bool],
) -> Tapped:
    """Keep a tap, unless it says nothing new; the caller commits. Taps of days before yesterday go.

    says_something: whether it changes anything, as the household and the day's earlier taps are by then.
    Raises NotThere for an unknown household or plan, Gone for a plan that was removed meanwhile, Stale when its page
    has tapped on the same appliance since, HouseholdFaults when a day has too many.
    """
    stored = _claimed(session, place)
    by_plan = taps_by_plan(session, place.household_key, place.date)
    before = by_plan.get(place.scenario_key, ())
    nothing_new = Tapped(stored, before, by_plan, kept=False)
    mine = [one for one in before if (one.appliance, one.tab) == (said.appliance, said.tab)]
    if any(one.sequence == said.sequence and one.is_on == said.is_on for one in mine):
        return nothing_new
    if any(one.sequence >= said.sequence for one in mine):
        raise Stale(stored)
    if not says_something(stored, before):
        return nothing_new
    if len(before) >= TAPS_AT_MOST:
        raise HouseholdFaults([Fault("appliance", TOO_MANY)])
    yesterday = (datetime.date.fromisoformat(place.date) - datetime.timedelta(days=1)).isoformat()
    session.execute(_FORGET, {"of_household": place.household_key, "before": yesterday})
    # Of two taps within one millisecond the later one stays the later one.
    kept = replace(said, at_utc=max(said.at_utc, before[-1].at_utc + ONE_MS)) if before else said
    session.execute(_KEEP, {"key": new_key(), **asdict(place), **asdict(kept)})
    return _with(stored, place, by_plan, (*before, kept), kept=True)


def take_back(session: Session, place: Place, appliance: str | None = None) -> Tapped:
    """Back to what the plan says, for one appliance or for all; the caller commits.

    Raises NotThere for an unknown household or plan, Gone for a plan that was removed meanwhile.
    """
    stored = _claimed(session, place)
    by_plan = taps_by_plan(session, place.household_key, place.date)
    before = by_plan.get(place.scenario_key, ())
    left = tuple(one for one in before if appliance is not None and one.appliance != appliance)
    of_it = () if appliance is None else (tap.c.appliance == appliance,)
    if len(left) < len(before):
        session.execute(delete(tap).where(*_there(place), *of_it))
    return _with(stored, place, by_plan, left, kept=len(left) < len(before))


def _with(
    stored: StoredHousehold, place: Place, before: TapsByPlan, taps: tuple[KeptTap, ...], *, kept: bool
) -> Tapped:
    """With other taps of a plan than before."""
    return Tapped(stored, taps, {**before, place.scenario_key: taps}, kept)


def _claimed(session: Session, place: Place) -> StoredHousehold:
    stored = claim(session, place.household_key)
    if stored.scenario(place.scenario_key) is None:
        if stored.nearest(place.scenario_key) is None:
            raise NotThere("there is no such plan")
        raise Gone(stored, (place.scenario_key,))
    return stored


def _there(place: Place) -> tuple[ColumnElement[bool], ...]:
    return (
        tap.c.household_key == place.household_key,
        tap.c.scenario_key == place.scenario_key,
        tap.c.date == place.date,
    )
