"""What a plan has whole, brought along when what the plan is built on changes: appliances, circuits and arrays.

A what-if gives whole appliances, and its merge patch has a list of the supply as one value. A plan that changes one
figure of one of them so says all the others too, and would never hear of what becomes of those. Here they follow: what
the plan has otherwise stays, all else goes along.
"""

from collections.abc import Iterable
from typing import Any

from pydantic import BaseModel, ValidationError

from app.household.appliance import Appliance
from app.household.merge import merge_three
from app.household.supply import Circuit, SolarArray

Json = dict[str, Any]
Pieces = dict[str, Json]
Lists = dict[str | None, list[Json]]  # by plan; under None the household's

# What a piece of each list goes by; where some have none, or two have the same, the list is left as the plan has it.
NAMED_BY = {"circuits": "id", "arrays": "name"}
MADE_OF: dict[str, type[BaseModel]] = {"circuits": Circuit, "arrays": SolarArray}


def carried(before: Json, after: Json) -> Json:
    """A household's file after a change, with what plans have whole brought along.

    before, after: the file as it was and as it is to be; neither is changed. Plans whose parents go in a circle, or are
    not there, stay as they are.
    """
    plans = {plan["id"]: plan for plan in after["scenarios"]}
    were = {plan["id"]: plan for plan in before["scenarios"]}
    lists: dict[str, tuple[Lists, Lists]]
    lists = {part: ({None: _list(before, part)}, {None: _list(after, part)}) for part in NAMED_BY}
    library: dict[str | None, tuple[Pieces, Pieces]]
    library = {None: (_by_id(before["appliances"]), _by_id(after["appliances"]))}
    for plan_id in _parents_first(plans):
        plan, parent = plans[plan_id], plans[plan_id].get("parent")
        for part, (was, now) in lists.items():
            said, own = _own(were.get(plan_id, {}), part), _own(plan, part)
            if own and was[parent] != now[parent]:
                own = _along(own, was[parent], now[parent], part)
                plan = _changed(plan, supply=plan["changes"]["supply"] | {part: own})
            was[plan_id], now[plan_id] = was[parent] if said is None else said, now[parent] if own is None else own
        there, here = library[parent]
        entries = [_entry_along(there.get(one["id"]), here.get(one["id"]), one) for one in _entries(plan)]
        if entries != _entries(plan):
            plan = _changed(plan, appliances=entries)
        library[plan_id] = there | _by_id(_entries(were.get(plan_id, {}))), here | _by_id(entries)
        plans[plan_id] = plan
    return after | {"scenarios": [plans[plan["id"]] for plan in after["scenarios"]]}


def _parents_first(plans: Pieces) -> list[str]:
    order: list[str] = []
    left = list(plans)
    while ready := [one for one in left if plans[one].get("parent") in (None, *order)]:
        order += ready
        left = [one for one in left if one not in ready]
    return order


def _list(file: Json, part: str) -> list[Json]:
    return file["supply"].get(part) or []


def _entries(plan: Json) -> list[Json]:
    return (plan.get("changes") or {}).get("appliances") or []


def _by_id(entries: Iterable[Json]) -> Pieces:
    return {str(one["id"]): one for one in entries}


def _own(plan: Json, part: str) -> list[Json] | None:
    """What a plan says of the list; None where it says nothing, and an empty list where it takes all out."""
    supply = (plan.get("changes") or {}).get("supply") or {}
    return (supply[part] or []) if part in supply else None


def _changed(plan: Json, **changes: Any) -> Json:
    return plan | {"changes": plan["changes"] | changes}


def _along(own: list[Json], was: list[Json], now: list[Json], part: str) -> list[Json]:
    """A plan's pieces after those below it changed: each keeps what is otherwise in it, new ones come last, one that
    went goes unless the plan has it otherwise."""
    mine, before, after = (_named(pieces, NAMED_BY[part]) for pieces in (own, was, now))
    if mine is None or before is None or after is None:
        return own
    follow = []
    for one, piece in mine.items():
        if one not in before:
            follow.append(piece)
        elif one in after:
            follow.append(_merged(before[one], after[one], piece, MADE_OF[part]))
        elif piece != before[one]:
            follow.append(piece)
    return [*follow, *(piece for one, piece in after.items() if one not in before and one not in mine)]


def _named(pieces: list[Json], name: str) -> Pieces | None:
    named = {piece[name]: piece for piece in pieces if isinstance(piece.get(name), str)}
    return named if len(named) == len(pieces) else None


def _entry_along(before: Json | None, after: Json | None, own: Json) -> Json:
    return own if before is None or after is None else _merged(before, after, own, Appliance)


def _merged(before: Json, after: Json, own: Json, made_of: type[BaseModel]) -> Json:
    """Both changes together; where that is nothing possible, the plan's own as it is."""
    merged: Json = merge_three(before, after, own)
    if merged == own:
        return own
    try:
        made_of.model_validate(merged)
    except ValidationError:
        return own
    return merged
