"""What yesterday's taps and runs may have left on past midnight, which today's page no longer counts."""

import datetime
from dataclasses import dataclass
from typing import Any

from app.household.beside_plan import beside_plan, over_midnight
from app.household.errors import HouseholdFaults
from app.household.resolve import Resolved
from app.store.overlay import KeptTap, TapsByPlan, taps_by_plan
from app.web.now import Now
from app.web.tapped import AsTapped, said
from app.web.words import switch_on as words

ONE_SECOND = datetime.timedelta(seconds=1)
NOON = 12  # a plan goes on to the next day's, and so does what runs on


def yesterdays_taps(session: Any, household_key: str, now: Now) -> TapsByPlan:
    """What was tapped yesterday in a house, by the keys of its plans, as long as some of it may still be on."""
    if now.local.hour >= NOON:
        return {}
    return taps_by_plan(session, household_key, _end_of_yesterday(now).date)


@dataclass(frozen=True, slots=True)
class LeftOn:
    """An appliance that may still run since yesterday, and the sentence that says so."""

    appliance: str
    name: str
    line: str


def left_on(yesterday: tuple[KeptTap, ...], today: AsTapped, now: Now) -> tuple[LeftOn, ...]:
    """What may still run, and of which nobody has said anything since midnight; yesterday: its taps."""
    # Of a plan of today nobody knows which plan was yesterday's.
    until = over_night(yesterday, today.plan, now, planned_too=not today.is_of(now))
    names, heard_of = words.short_names(today.plan), {tap.appliance for tap in today.taps}
    return tuple(
        LeftOn(one, names[one], words.OVER_MIDNIGHT.format(name=names[one], until=said_until))
        for one, said_until in until.items()
        if one not in heard_of
    )


def over_night(yesterday: tuple[KeptTap, ...], plan: Resolved, now: Now, *, planned_too: bool) -> dict[str, str]:
    """What may still run since yesterday, and until when; planned_too: what nobody tapped, but the plan has."""
    midnight = _midnight(now)
    if now.local.hour >= NOON:
        return {}
    try:
        beside = beside_plan(plan, said(yesterday, plan, _end_of_yesterday(now)))
    except HouseholdFaults:
        return {}
    until: dict[str, str] = {}
    for run, appliance_id, end_ms in over_midnight(beside.resolved):
        appliance = plan.appliance(appliance_id)
        if appliance is None or appliance.always_on:
            continue
        ends = midnight + datetime.timedelta(milliseconds=end_ms - plan.frame.day_ms)
        if run in beside.begun and appliance.stages[0].duration_s is None:
            until[appliance_id] = words.NOBODY_SAID_OFF  # it was laid to midnight, where taps end
        elif ends > now.utc and (run in beside.begun or planned_too):
            until[appliance_id] = f"until {ends.astimezone(now.local.tzinfo):%H:%M}"
    return until


def _end_of_yesterday(now: Now) -> Now:
    return Now((_midnight(now) - ONE_SECOND).astimezone(now.local.tzinfo))


def _midnight(now: Now) -> datetime.datetime:
    return now.local.replace(hour=0, minute=0, second=0, microsecond=0, fold=0).astimezone(datetime.UTC)
