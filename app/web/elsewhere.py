"""What was tapped on today on other plans of the house: it may be on, and this plan does not count it."""

from collections.abc import Mapping

from app.household.beside_plan import is_on
from app.household.resolve import resolve
from app.store.overlay import KeptTap
from app.store.stored import StoredHousehold
from app.web.now import Now
from app.web.tapped import AsTapped, said
from app.web.words import switch_on as words


def elsewhere_words(
    stored: StoredHousehold, by_plan: Mapping[str, tuple[KeptTap, ...]], today: AsTapped, now: Now, *, name_plans: bool
) -> tuple[str, ...]:
    """A sentence for each other plan on which something was tapped on that still runs and does not run here.

    by_plan: today's taps by the keys of plans. name_plans: else the sentence is without the plan's name.
    """
    found = []
    for scenario in stored.scenarios:
        taps = by_plan.get(scenario.key, ())
        if scenario.id == today.plan.day.scenario_id or not taps:
            continue
        plan = resolve(stored.household, scenario.id)
        there, here = said(taps, plan, now), today.on_clock
        last = {tap.appliance: tap for tap in taps if tap.is_on}
        names = words.short_names(plan)
        on = [
            words.tapped_there(names[one], tap.at_utc.astimezone(now.local.tzinfo), tap.who)
            for one, tap in last.items()
            if is_on(plan, there, one, now.clock_s) and not is_on(today.plan, here, one, now.clock_s)
        ]
        if on:
            found.append(words.elsewhere_sentence(on, scenario.name if name_plans else ""))
    return tuple(found)
