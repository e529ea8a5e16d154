"""What no single field can show: unknown ids, circles, overlaps, efficiencies that cannot be.

Every plan is resolved and checked, so that what is wrong with any of them is said when the household is
read and never meets the engine.
"""

from collections.abc import Iterable, Iterator
from itertools import pairwise

from app.household.appliance import Appliance
from app.household.errors import Faults, HouseholdFaults
from app.household.fields import wall_clock_s
from app.household.household import Household
from app.household.losses import check_losses
from app.household.resolve import Resolved, resolve
from app.household.supply import Circuit, Supply


def check_household(household: Household) -> None:
    """Check a household and each of its plans.

    Raises HouseholdFaults with everything found.
    """
    faults = Faults()
    _ids_once(faults, "scenarios", (scenario.id for scenario in household.scenarios))
    _ids_once(faults, "appliances", (appliance.id for appliance in household.appliances))
    for place, scenario in enumerate(household.scenarios):
        _ids_once(faults, f"scenarios[{place}].runs", (run.id for run in scenario.runs))
    known = [appliance.id for appliance in household.appliances]
    _check_supply(faults, household.supply, "supply")
    _check_appliances(faults, household.supply, household.appliances, "")
    brought = (document for scenario in household.scenarios for document in scenario.changes.appliances)
    everywhere = list(dict.fromkeys([*known, *(str(document.get("id")) for document in brought)]))
    _known(faults, "any_time", household.any_time, everywhere)
    for place, one in enumerate(household.any_time):
        open_ended = [it.name for it in household.appliances if it.id == one and it.stages[0].duration_s is None]
        if open_ended:
            faults.add(f"any_time[{place}]", f"{open_ended[0]!r} has no length; give its stage a duration_s")
    for place, interlock in enumerate(household.interlocks):
        _known(faults, f"interlocks[{place}].of", interlock.of, everywhere)
    faults.raise_if_any()
    for place, scenario in enumerate(household.scenarios):
        try:
            resolved = resolve(household, scenario.id)
        except HouseholdFaults as refused:
            for fault in refused.faults:
                faults.add(fault.path, fault.why)
            continue
        check_plan(faults, resolved, f"scenarios[{place}]", original=household)
    faults.raise_if_any()


def check_plan(faults: Faults, resolved: Resolved, path: str, original: Household) -> None:
    """Check one resolved plan; only what the plan itself brings is reported, at `path`."""
    household, day = resolved.household, resolved.day
    known = {appliance.id: appliance for appliance in household.appliances}
    if household.supply is not original.supply:
        _check_supply(faults, household.supply, f"{path}.changes.supply")
    if household.supply is not original.supply or household.appliances is not original.appliances:
        _check_appliances(faults, household.supply, household.appliances, f"{path}.changes.")
    _known(faults, f"{path}.off", day.off, known)
    run_ids = [run.id for run in day.runs]
    for place, run in enumerate(day.runs):
        where = f"{path}.runs[{place}]"
        appliance = known.get(run.appliance)
        if appliance is None:
            _known(faults, f"{where}.appliance", (run.appliance,), known, listed=False)
            continue
        if appliance.always_on:
            faults.add(f"{where}.appliance", f"{appliance.name!r} is always on; it needs no run")
        if run.duration_s is not None and len(appliance.stages) > 1:
            faults.add(
                f"{where}.duration_s",
                f"the programme of {appliance.name!r} has {len(appliance.stages)} stages with lengths of their"
                " own; leave duration_s out",
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
    _check_overlaps(faults, resolved, path)


def _check_overlaps(faults: Faults, resolved: Resolved, path: str) -> None:
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
                    f"{path}.runs[{place}].start",
                    f"{appliance.name!r} is one machine and still runs from {start} until {until};"
                    f" start it at {until} or later, not at {later}",
                )


def _check_supply(faults: Faults, supply: Supply, path: str) -> None:
    _ids_once(faults, f"{path}.circuits", (circuit.id for circuit in supply.circuits))
    by_id = {circuit.id: circuit for circuit in supply.circuits}
    for place, circuit in enumerate(supply.circuits):
        where = f"{path}.circuits[{place}]"
        if (circuit.cable_m is None) != (circuit.conductor_mm2 is None):
            missing = "cable_m" if circuit.cable_m is None else "conductor_mm2"
            faults.add(f"{where}.{missing}", "give both cable_m and conductor_mm2, or neither")
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


def _check_appliances(faults: Faults, supply: Supply, appliances: tuple[Appliance, ...], path: str) -> None:
    by_id = {appliance.id: appliance for appliance in appliances}
    circuits = [circuit.id for circuit in supply.circuits]
    callers: dict[str, int] = {}
    from_cycle: set[str] = set()
    for place, appliance in enumerate(appliances):
        where = f"{path}appliances[{place}]"
        if appliance.circuit is not None:
            _known(faults, f"{where}.circuit", (appliance.circuit,), circuits, listed=False, what="circuit")
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
                if stage.cycle is not None:
                    from_cycle.add(called.appliance)
    for place, appliance in enumerate(appliances):
        if len(appliance.stages) > 1 and (callers.get(appliance.id, 0) > 1 or appliance.id in from_cycle):
            faults.add(
                f"{path}appliances[{place}].stages",
                f"{appliance.name!r} is set off more than once or by something that comes and goes;"
                " it must have exactly one stage",
            )
    if supply.water is not None:
        pump = by_id.get(supply.water.pump)
        if pump is None:
            _known(faults, f"{path}supply.water.pump", (supply.water.pump,), by_id, listed=False)
        elif pump.always_on or len(pump.stages) != 1:
            faults.add(
                f"{path}supply.water.pump",
                f"{pump.name!r} must have exactly one stage and not be always on; the vessel starts it",
            )
    for circle in _circles(supply, by_id):
        place = list(by_id).index(circle[0])
        names = " -> ".join(by_id[one].name for one in circle)
        faults.add(f"{path}appliances[{place}].stages", f"these set each other off in a circle: {names}")


def _circles(supply: Supply, by_id: dict[str, Appliance]) -> Iterator[list[str]]:
    """Each circle among what sets off what, the pump included, once, its first appliance last again."""
    water = supply.water
    sets_off: dict[str, list[str]] = {}
    for one in by_id.values():
        called = [to.appliance for stage in one.stages for to in stage.sets_off if to.appliance in by_id]
        if water is not None and water.pump in by_id and any(stage.water_l for stage in one.stages):
            called.append(water.pump)
        sets_off[one.id] = called
    done: set[str] = set()

    def walk(one: str, way: list[str]) -> Iterator[list[str]]:
        if one in way:
            yield [*way[way.index(one) :], one]
            return
        if one in done:
            return
        for called in sets_off[one]:
            yield from walk(called, [*way, one])
        done.add(one)

    for appliance_id in by_id:
        yield from walk(appliance_id, [])


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
) -> None:
    known = list(known)
    for place, one in enumerate(ids):
        if one not in known:
            there = ", ".join(known[:12]) + (", ..." if len(known) > 12 else "")
            where = f"{path}[{place}]" if listed else path
            faults.add(where, f"there is no {what} {one!r}; there are: {there or 'none yet'}")
