"""What no single field can show: unknown ids, circles, overlaps, efficiencies that cannot be.

Every plan is resolved and checked, so that what is wrong with any of them is said when the household is
read and never meets the engine.
"""

from collections.abc import Callable, Iterable
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise
from typing import Any

from pydantic import ValidationError

from app.household.appliance import Appliance
from app.household.errors import Fault, Faults, HouseholdFaults
from app.household.fields import wall_clock_s
from app.household.household import Household
from app.household.losses import check_losses
from app.household.resolve import Day, Resolved, resolve
from app.household.scenario import Scenario
from app.household.supply import Circuit, Supply
from app.household.words import faults_of, path_of


def check_household(household: Household) -> None:
    """Check a household and each of its plans.

    Raises HouseholdFaults with everything found.
    """
    faults = Faults()
    _ids_once(faults, "scenarios", (scenario.id for scenario in household.scenarios))
    _ids_once(faults, "appliances", (appliance.id for appliance in household.appliances))
    known = [appliance.id for appliance in household.appliances]
    _check_supply(faults, household.supply, "supply")
    places = {id(appliance): place for place, appliance in enumerate(household.appliances)}
    _check_appliances(
        faults,
        household.supply,
        household.appliances,
        lambda appliance: f"appliances[{places[id(appliance)]}]",
        "supply",
    )
    brought = (document for scenario in household.scenarios for document in scenario.changes.appliances)
    everywhere = list(dict.fromkeys([*known, *(str(document.get("id")) for document in brought)]))
    _known(faults, "any_time", household.any_time, everywhere)
    _check_any_time(faults, household)
    for place, interlock in enumerate(household.interlocks):
        _known(faults, f"interlocks[{place}].of", interlock.of, everywhere)
    for place, scenario in enumerate(household.scenarios):
        _ids_once(faults, f"scenarios[{place}].runs", (run.id for run in scenario.runs))
    faults.raise_if_any()
    _check_plans(faults, household)
    faults.raise_if_any()


def check_has_plan(household: Household) -> None:
    """Raise HouseholdFaults where a household has no plan: what is stored has at least one."""
    if not household.scenarios:
        raise HouseholdFaults([Fault("scenarios", "a household keeps at least one plan; give the file one")])


def with_plan(household: Household, place: int, document: dict[str, Any]) -> Household:
    """A checked household with the plan at a place replaced; the rest of it is known to be right.

    Raises HouseholdFaults with everything that is wrong with this or any other plan then.
    """
    return replanned(household, place, document)[0]


def replanned(household: Household, place: int, document: dict[str, Any]) -> tuple[Household, dict[str, Day]]:
    """As `with_plan`, and the days it changed: the plan's own, and of the plans that stand on it.

    No other plan reads this one, so no other is resolved and checked again.
    """
    try:
        plan = Scenario.model_validate(document)
    except ValidationError as error:
        raise HouseholdFaults(faults_of(error, f"scenarios[{place}]")) from error
    before = household.scenarios[place]
    plans = (*household.scenarios[:place], plan, *household.scenarios[place + 1 :])
    changed = household.model_copy(update={"scenarios": plans})
    faults = Faults()
    _ids_once(faults, f"scenarios[{place}].runs", (run.id for run in plan.runs))
    faults.raise_if_any()
    same_family = (plan.id, plan.parent) == (before.id, before.parent)
    days = _check_plans(faults, changed, standing_on(changed, plan.id) if same_family else None)
    faults.raise_if_any()
    return changed, days


def standing_on(household: Household, scenario_id: str) -> set[str]:
    """Ids of the plan itself, of those whose parent it is, of theirs, and so on."""
    found: set[str] = set()
    more = {scenario_id}
    while more:
        found |= more
        more = {plan.id for plan in household.scenarios if plan.parent in more} - found
    return found


def _check_plans(faults: Faults, household: Household, only: set[str] | None = None) -> dict[str, Day]:
    days = {}
    for place, scenario in enumerate(household.scenarios):
        if only is not None and scenario.id not in only:
            continue
        try:
            resolved = resolve(household, scenario.id)
        except HouseholdFaults as refused:
            faults.take(refused.faults)
            continue
        check_plan(faults, resolved, f"scenarios[{place}]", original=household)
        days[scenario.id] = resolved.day
    return days


def check_plan(faults: Faults, resolved: Resolved, path: str, original: Household) -> None:
    """Check one resolved plan; only what the plan itself brings is reported, at `path`."""
    household, day = resolved.household, resolved.day
    scenario = next(one for one in original.scenarios if one.id == day.scenario_id)
    known = {appliance.id: appliance for appliance in household.appliances}
    brought = {document.get("id"): place for place, document in enumerate(scenario.changes.appliances)}

    def at_appliance(appliance: Appliance) -> str:
        place = brought.get(appliance.id)
        return f"{path}.changes" if place is None else f"{path}.changes.appliances[{place}]"

    if resolved.frame.day_ms == 0:
        why = f"{household.site.timezone} left {day.date} out of its calendar; give another day"
        faults.add(f"{path}.date", why)
    if household.supply is not original.supply:
        _check_supply(faults, household.supply, f"{path}.changes.supply")
    if household.supply is not original.supply or household.appliances is not original.appliances:
        _check_appliances(faults, household.supply, household.appliances, at_appliance, f"{path}.changes.supply")
        _check_any_time(faults, household, at_appliance)
    _known(faults, f"{path}.off", day.off, known)
    run_ids = [run.id for run in day.runs]
    for place, run in enumerate(day.runs):
        where = run_path(path, scenario, place, run.id)
        appliance = known.get(run.appliance)
        if appliance is None:
            _known(faults, f"{where}.appliance", (run.appliance,), known, listed=False)
            continue
        if appliance.always_on:
            faults.add(f"{where}.appliance", f"{appliance.name!r} is always on; it needs no run")
        if run.duration_s is not None and len(appliance.stages) > 1:
            faults.add(
                f"{where}.duration_s",
                f"the programme of {appliance.name!r} has {len(appliance.stages)} stages with lengths of their own;"
                " leave duration_s out",
            )
        if run.duration_s is None and appliance.stages[0].duration_s is None and not appliance.always_on:
            faults.add(f"{where}.duration_s", f"say how long {appliance.name!r} runs; its stage has no length")
        if run.after is not None:
            if run.after == run.id:
                faults.add(f"{where}.after", "a run cannot wait for itself; name another run")
            else:
                _known(faults, f"{where}.after", (run.after,), run_ids, listed=False, what="run")
        if run.within_s is not None and run.after is None:
            faults.add(f"{where}.within_s", "within_s counts from the end of another run; name it in after")
    _check_overlaps(faults, resolved, path, scenario)


def run_path(path: str, scenario: Scenario, place: int, run_id: str) -> str:
    """Where a plan's run stands in the file: in its list, or with a parent among its changes."""
    if scenario.parent is None:
        return f"{path}.runs[{place}]"
    return path_of(["changes", "runs", run_id], path)


def _check_overlaps(faults: Faults, resolved: Resolved, path: str, scenario: Scenario) -> None:
    placed: dict[str, list[tuple[int, int, int, str]]] = {}
    for place, run in enumerate(resolved.day.runs):
        appliance = resolved.appliance(run.appliance)
        if not run.on or appliance is None or appliance.always_on:
            continue
        begin_ms = resolved.frame.at_ms(wall_clock_s(run.start))
        length_s = run.duration_s or sum(stage.duration_s or 0 for stage in appliance.stages)
        placed.setdefault(run.appliance, []).append((begin_ms, begin_ms + round(length_s * 1000), place, run.start))
    for appliance_id, spans in placed.items():
        spans.sort()
        for (_, end_ms, _, start), (begin_ms, _, place, later) in pairwise(spans):
            if begin_ms < end_ms:
                appliance = resolved.appliance(appliance_id)
                assert appliance is not None
                until = resolved.frame.local(end_ms).strftime("%H:%M:%S").removesuffix(":00")
                faults.add(
                    f"{run_path(path, scenario, place, resolved.day.runs[place].id)}.start",
                    f"{appliance.name!r} is one machine: its run at {later} would begin before the one from {start}"
                    f" ends at {until}; begin it at {until} or later",
                )


def _check_supply(faults: Faults, supply: Supply, path: str) -> None:
    _ids_once(faults, f"{path}.circuits", (circuit.id for circuit in supply.circuits))
    by_id = {circuit.id: circuit for circuit in supply.circuits}
    for place, circuit in enumerate(supply.circuits):
        where = f"{path}.circuits[{place}]"
        if circuit.fed_from is None:
            continue
        if circuit.fed_from not in by_id:
            _known(faults, f"{where}.fed_from", (circuit.fed_from,), by_id, listed=False, what="circuit")
            continue
        circle = _feed_circle(circuit, by_id)
        if circle:
            faults.add(f"{where}.fed_from", f"the circuits feed each other in a circle: {' -> '.join(circle)}")
        elif supply.inverter.legs == 2 and by_id[circuit.fed_from].leg not in ("AB", circuit.leg):
            feeder = by_id[circuit.fed_from]
            faults.add(
                f"{where}.leg",
                f"it is fed from {feeder.id!r} on leg {feeder.leg} and cannot be on {circuit.leg}",
            )
    generator, reserve = supply.generator, supply.battery.reserve
    if generator is not None and generator.start_below < reserve:
        faults.add(
            f"{path}.generator.start_below",
            f"the generator would start at {100 * generator.start_below:.6g} %, below the battery's reserve of"
            f" {100 * reserve:.6g} %; let it start at the reserve or above",
        )
    for field, why in check_losses(supply.inverter):
        faults.add(f"{path}.inverter.{field}", why)


def _feed_circle(circuit: Circuit, by_id: dict[str, Circuit]) -> list[str]:
    seen = [circuit.id]
    upward = circuit.fed_from
    while upward is not None and upward in by_id:
        seen.append(upward)
        if upward == circuit.id:
            return seen
        if upward in seen[:-1]:
            return []  # a circle further up, reported there
        upward = by_id[upward].fed_from
    return []


def _check_appliances(
    faults: Faults,
    supply: Supply,
    appliances: tuple[Appliance, ...],
    at: Callable[[Appliance], str],
    supply_path: str,
) -> None:
    by_id = {appliance.id: appliance for appliance in appliances}
    circuits = [circuit.id for circuit in supply.circuits]
    callers: dict[str, int] = {}
    for appliance in appliances:
        where = at(appliance)
        if appliance.circuit is not None and appliance.circuit not in circuits:
            # A plan's path does not tell whose circuit it is where the appliance is the household's.
            of, way = "", ""
            if supply_path != "supply":
                of = f"{appliance.name!r} needs it, but "
                way = f"; give that plan this circuit, or put {appliance.name!r} on another one there"
            at_circuit = f"{where}.circuit"
            _known(faults, at_circuit, (appliance.circuit,), circuits, listed=False, what="circuit", of=of, way=way)
        for number, stage in enumerate(appliance.stages):
            here = f"{where}.stages[{number}]"
            if stage.water_l and appliance.always_on:
                faults.add(f"{here}.water_l", "what is always on has no length to draw water over; use taps")
            for index, called in enumerate(stage.sets_off):
                target = f"{here}.sets_off[{index}].appliance"
                if called.appliance not in by_id:
                    _known(faults, target, (called.appliance,), by_id, listed=False)
                elif by_id[called.appliance].always_on:
                    faults.add(target, f"{by_id[called.appliance].name!r} is always on; nothing sets it off")
                callers[called.appliance] = callers.get(called.appliance, 0) + 1
    come_and_go = _set_off_by_what_comes_and_goes(supply, by_id)
    for appliance in appliances:
        if len(appliance.stages) > 1 and (callers.get(appliance.id, 0) > 1 or appliance.id in come_and_go):
            faults.add(
                f"{at(appliance)}.stages",
                f"{appliance.name!r} is set off more than once or by something that comes and goes;"
                " it must have exactly one stage",
            )
    if supply.water is not None:
        pump = by_id.get(supply.water.pump)
        if pump is None:
            _known(faults, f"{supply_path}.water.pump", (supply.water.pump,), by_id, listed=False)
        elif pump.always_on or len(pump.stages) != 1:
            faults.add(
                f"{supply_path}.water.pump",
                f"{pump.name!r} must have exactly one stage and not be always on; the vessel starts it",
            )
    circle = _circle(supply, by_id)
    if circle:
        names = " -> ".join(by_id[one].name for one in circle)
        faults.add(f"{at(by_id[circle[0]])}.stages", f"these set each other off in a circle: {names}")


def _check_any_time(faults: Faults, household: Household, at: Callable[[Appliance], str] | None = None) -> None:
    """An any-time load has a length, and is not on anyway."""
    by_id = {appliance.id: appliance for appliance in household.appliances}
    for place, one in enumerate(household.any_time):
        appliance = by_id.get(one)
        if appliance is None:
            continue
        where = f"any_time[{place}]" if at is None else at(appliance)
        if appliance.always_on:
            faults.add(where, f"{appliance.name!r} is always on; it cannot be an any-time load")
        elif appliance.stages[0].duration_s is None:
            faults.add(where, f"{appliance.name!r} is an any-time load; give its stage a duration_s")


def _set_off_by_what_comes_and_goes(supply: Supply, by_id: dict[str, Appliance]) -> set[str]:
    """Follow-ons of cycling stages and of the pump, and theirs in turn: they share a cycle."""
    found: set[str] = set()
    pump = supply.water.pump if supply.water is not None else None
    cycling = [stage for one in by_id.values() for stage in one.stages if stage.cycle is not None or one.id == pump]
    while cycling:
        for called in cycling.pop().sets_off:
            follow_on = by_id.get(called.appliance)
            if follow_on is not None and follow_on.id not in found:
                found.add(follow_on.id)
                cycling += follow_on.stages
    return found


def _circle(supply: Supply, by_id: dict[str, Appliance]) -> list[str]:
    """A circle among what sets off what, the pump included, its first appliance last again; empty for none."""
    water = supply.water
    callers: dict[str, set[str]] = {one: set() for one in by_id}
    for one in by_id.values():
        for stage in one.stages:
            for called in stage.sets_off:
                if called.appliance in callers:
                    callers[called.appliance].add(one.id)
            if stage.water_l and water is not None and water.pump in callers:
                callers[water.pump].add(one.id)
    try:
        TopologicalSorter(callers).prepare()
    except CycleError as circle:
        ring: list[str] = circle.args[1]
        # It is told from the appliance that stands first in the file.
        first = min(range(len(ring) - 1), key=lambda place: list(by_id).index(ring[place]))
        return [*ring[first:-1], *ring[: first + 1]]
    return []


def _ids_once(faults: Faults, path: str, ids: Iterable[str]) -> None:
    seen: set[str] = set()
    for place, one in enumerate(ids):
        if one in seen:
            faults.add(f"{path}[{place}].id", f"{one!r} is there twice; give every entry an id of its own")
        seen.add(one)


def _known(
    faults: Faults,
    path: str,
    ids: Iterable[str],
    known: Iterable[str],
    *,
    listed: bool = True,
    what: str = "appliance",
    of: str = "",
    way: str = "",
) -> None:
    known = list(known)
    for place, one in enumerate(ids):
        if one not in known:
            there = ", ".join(known[:12]) + (", ..." if len(known) > 12 else "")
            where = f"{path}[{place}]" if listed else path
            faults.add(where, f"{of}there is no {what} {one!r}; there are: {there or 'none yet'}{way}")
