"""Why a circuit cannot be taken out: who is still on it, in one sentence for each circuit, with the way out."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from app.household.errors import Fault
from app.household.household import Household
from app.household.resolve import resolve
from app.store.stored import StoredHousehold, StoredScenario

NAMED_AT_MOST = 8  # machines; of more their number is told
WHERE = "supply.circuits"


def taken_out(before: Iterable[Mapping[str, Any]] | None, after: Iterable[Mapping[str, Any]] | None) -> dict[str, str]:
    """The circuits a list has no more, by their ids: what each is called. before, after: as the file has them."""
    left = {one["id"] for one in after or ()}
    return {one["id"]: one.get("name") or one["id"] for one in before or () if one["id"] not in left}


def still_on(current: StoredHousehold, gone: Mapping[str, str], own: StoredScenario | None = None) -> Iterator[Fault]:
    """Who is on circuits that would be gone, or fed from them.

    own: the plan that alone would not have them; None for the household, and with it every plan.
    """
    here = current.household if own is None else resolve(current.household, own.id).household
    plans = current.scenarios if own is None else [one for one in current.standing_on(own) if one is not own]
    for circuit_id, name in gone.items():
        on_it = _on(here, circuit_id)
        others = []
        for plan in plans:
            more = [one for one in _on(resolve(current.household, plan.id).household, circuit_id) if one not in on_it]
            if more:
                others.append(f"in the plan {plan.name!r} {_are(more)} on it")
        if on_it or others:
            first = f"{_are(on_it)} on the circuit {name!r}" if on_it else f"the circuit {name!r} is still used"
            which = "it" if len(on_it) == 1 and not others else "each"
            way = f"put {which} on another one under Appliances, or take it out, first"
            yield Fault(WHERE, f"{'; '.join([first, *others])}; {way}")
        fed = [one.name or one.id for one in here.supply.circuits if one.fed_from == circuit_id and one.id not in gone]
        if fed:
            yield Fault(WHERE, f"{_are(fed)} fed from {name!r}; have {_them(fed)} fed from elsewhere first")


def _on(household: Household, circuit_id: str) -> list[str]:
    return [one.name for one in household.appliances if one.circuit == circuit_id]


def _are(names: Sequence[str]) -> str:
    """Names with their verb."""
    return f"{names[0]!r} is" if len(names) == 1 else f"{_listed(names)} are"


def _them(names: Sequence[str]) -> str:
    return "it" if len(names) == 1 else "them"


def _listed(names: Sequence[str]) -> str:
    shown = [repr(one) for one in names[:NAMED_AT_MOST]]
    last = shown.pop() if len(names) <= NAMED_AT_MOST else f"{len(names) - NAMED_AT_MOST} more"
    return f"{', '.join(shown)} and {last}"
