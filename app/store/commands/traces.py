"""What else of a household names an appliance: what keeps it there, and everything without it."""

from collections.abc import Container, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Any

from app.household.household import Household
from app.household.paths import value_at
from app.household.resolve import resolve
from app.household.scenario import Run
from app.store.mapping import Piece
from app.store.stored import StoredHousehold, StoredScenario

# Ids of the runs of an appliance, by the key of the plan on whose day they are.
RunsOf = dict[str, set[str]]


def who_needs(current: StoredHousehold, appliance_id: str) -> Iterator[str]:
    """What cannot do without an appliance and is nobody's to guess about."""
    water = current.household.supply.water
    if water is not None and water.pump == appliance_id:
        yield "it is the pump of the water supply; name another pump there first"
    for other in current.household.appliances:
        if any(called.appliance == appliance_id for stage in other.stages for called in stage.sets_off):
            yield f"{other.name!r} sets it off; take that out there first"
    for plan in current.household.scenarios:
        if value_at(plan.changes.supply, ["water", "pump"]) == appliance_id:
            yield f"in the plan {plan.name!r} it is the pump of the water supply; delete that plan first"
        for entry in plan.changes.appliances:
            called = [one.get("appliance") for stage in entry["stages"] for one in stage.get("sets_off") or ()]
            if appliance_id in called and entry["id"] != appliance_id:
                yield f"in the plan {plan.name!r}, {entry['name']!r} sets it off; delete that plan first"


def who_needs_in(current: StoredHousehold, plans: Sequence[StoredScenario], appliance_id: str) -> Iterator[str]:
    """What cannot do without an appliance that a plan brings: in that plan, and in those that are built on it.

    plans: that plan first.
    """
    told: set[str] = set()
    for plan in plans:
        elsewhere = "" if plan is plans[0] else f"in the plan {plan.name!r} "
        for why in _needed_by(resolve(current.household, plan.id).household, appliance_id):
            if why not in told:
                told.add(why)
                yield f"{elsewhere}{why}"


def _needed_by(household: Household, appliance_id: str) -> Iterator[str]:
    water = household.supply.water
    if water is not None and water.pump == appliance_id:
        yield "it is the pump of the water supply; name another pump there first"
    for other in household.appliances:
        called = {one.appliance for stage in other.stages for one in stage.sets_off}
        if appliance_id in called and other.id != appliance_id:
            yield f"{other.name!r} sets it off; take that out there, or leave {other.name!r} out, first"


def runs_of(current: StoredHousehold, appliance_id: str, plans: Sequence[StoredScenario]) -> RunsOf:
    """Its runs on each of some plans' days, inherited ones too; none for the other plans."""
    return {
        plan.key: {run.id for run in current.days[plan.id].runs if run.appliance == appliance_id and plan in plans}
        for plan in current.scenarios
    }


def without(
    current: StoredHousehold, appliance_id: str, only: Sequence[StoredScenario] | None = None
) -> Iterator[Piece]:
    """Every piece that names it or one of its runs, as it is without; its own runs as removed.

    only: the plans it goes from, a plan that brings it and all that stand on that; None for every plan.
    """
    plans = {plan.key: plan for plan in (current.scenarios if only is None else only)}
    gone = runs_of(current, appliance_id, tuple(plans.values()))
    elsewhere = only is not None and any(
        resolve(current.household, plan.id).appliance(appliance_id)
        for plan in current.scenarios
        if plan.key not in plans
    )
    for piece in current.pieces.values():
        if piece.removed:
            continue
        if piece.kind == "run" and piece.within_key in plans:
            yield from _run_without(current, plans[piece.within_key], piece, gone)
            continue
        document = piece.document
        if piece.kind == "section":
            document = document if elsewhere else _rule_without(piece, {appliance_id})
        if piece.key in plans:
            document = _plan_without(document, appliance_id, gone[piece.key])
        if document != piece.document:
            yield replace(piece, document=document)


def rules_without(current: StoredHousehold, gone: Container[str]) -> Iterator[Piece]:
    """The lists of the household that name some appliances, as they are without them."""
    for piece in current.pieces.values():
        if piece.kind == "section" and not piece.removed:
            document = _rule_without(piece, gone)
            if document != piece.document:
                yield replace(piece, document=document)


def _rule_without(piece: Piece, gone: Container[str]) -> Any:
    if piece.name == "any_time":
        return [one for one in piece.document if one not in gone]
    if piece.name == "interlocks":
        shorter = [one | {"of": [name for name in one["of"] if name not in gone]} for one in piece.document]
        return [one for one in shorter if len(one["of"]) > 1]
    return piece.document


def rules_among(pieces: Iterable[Piece]) -> list[str]:
    """Which lists of the household are among the pieces, by their names in the file."""
    return [piece.name for piece in pieces if piece.kind == "section" and piece.name in ("any_time", "interlocks")]


def _run_without(current: StoredHousehold, plan: StoredScenario, piece: Piece, gone: RunsOf) -> Iterator[Piece]:
    """A run that goes; or one that waited for one that goes, and now starts when it starts."""
    if piece.name in gone[plan.key]:
        yield replace(piece, removed=True)
        return
    run, (parent, *_) = current.run(plan, piece.name), (*current.lineage(plan)[1:], None)
    if run is None:
        return
    stands_on = current.run(parent, piece.name) if parent is not None else None
    document = piece.document
    if parent is not None and stands_on is not None and piece.name in gone[parent.key]:
        # The plan made another machine's run of it: what it had from there is its own from now on.
        document, stands_on = run.document(), None
    if run.after in gone[plan.key]:
        document = {name: value for name, value in document.items() if name not in ("after", "within_s")}
        if parent is not None and _waits(stands_on, gone[parent.key]):
            document |= {"after": None, "within_s": None}
    if document != piece.document:
        yield replace(piece, document=document)


def _waits(run: Run | None, gone: set[str]) -> bool:
    return run is not None and run.after is not None and run.after not in gone


def _plan_without(plan: dict[str, Any], appliance_id: str, run_ids: set[str]) -> dict[str, Any]:
    """A plan that neither leaves the appliance off, nor has other figures for it, nor keeps a place for its runs."""
    if appliance_id in (plan.get("off") or ()):
        plan = plan | {"off": [one for one in plan["off"] if one != appliance_id]}
    changes = dict(plan.get("changes") or {})
    if appliance_id in (value_at(changes, ["day", "off"]) or ()):
        off = [one for one in changes["day"]["off"] if one != appliance_id]
        changes["day"] = changes["day"] | {"off": off}
    if any(entry["id"] == appliance_id for entry in changes.get("appliances") or ()):
        changes["appliances"] = [entry for entry in changes["appliances"] if entry["id"] != appliance_id]
    if run_ids.intersection(changes.get("runs") or {}):
        changes["runs"] = {run_id: said for run_id, said in changes["runs"].items() if run_id not in run_ids}
    return plan if changes == (plan.get("changes") or {}) else plan | {"changes": changes}
