"""What was tapped on on other plans of the house, today or last night: it may be on, and is not counted on this one."""

from app.household.beside_plan import is_on
from app.household.resolve import resolve
from app.store.overlay import TapsByPlan
from app.store.stored import StoredHousehold
from app.web.night import over_night
from app.web.now import Now
from app.web.tapped import AsTapped, said
from app.web.words import switch_on as words


def elsewhere_words(
    stored: StoredHousehold,
    by_plan: TapsByPlan,
    yesterday: TapsByPlan,
    today: AsTapped,
    now: Now,
    *,
    name_plans: bool,
) -> tuple[str, ...]:
    """A sentence for each other plan on which something was tapped on that may run now, and does not run here.

    by_plan, yesterday: taps of today and of yesterday, by the keys of plans. name_plans: else without the plan's name.
    """
    found = []
    for scenario in stored.scenarios:
        taps, last_night = by_plan.get(scenario.key, ()), yesterday.get(scenario.key, ())
        if scenario.id == today.plan.day.scenario_id or not (taps or last_night):
            continue
        plan = resolve(stored.household, scenario.id)
        names, there = words.short_names(plan), said(taps, plan, now)
        on = {
            tap.appliance: words.tapped_there(names[tap.appliance], tap.at_utc.astimezone(now.local.tzinfo), tap.who)
            for tap in taps
            if tap.is_on and is_on(plan, there, tap.appliance, now.clock_s)
        }
        for one, until in over_night(last_night, plan, now, planned_too=False).items():
            if all(tap.appliance != one for tap in taps):
                on[one] = words.left_there(names[one], until)
        on = {one: text for one, text in on.items() if not is_on(today.plan, today.on_clock, one, now.clock_s)}
        if on:
            found.append(words.elsewhere_sentence(list(on.values()), scenario.name if name_plans else ""))
    return tuple(found)
