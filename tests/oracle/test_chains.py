"""What machines that set off one another come to on a day: when each is on, in which cycle, and what comes together."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from hypothesis import assume, given

from app.engine.day import lay_day
from app.household.errors import HouseholdFaults
from app.household.file import household_from
from app.household.resolve import resolve
from tests.oracle.chains import chains
from tests.oracle.draws import Expansion
from tests.oracle.profiles import examples
from tests.oracle.reading import Json, Reading

Stretch = tuple[str, tuple[int, int] | None, int, int, int]  # machine, on and period, from, to (ms), load


def laid_by_the_product(household: Json) -> list[Stretch]:
    laid = lay_day(resolve(household_from(household))).laid
    pieces, names = laid.pieces, [appliance.id for appliance in laid.rows.appliances]
    return [
        (
            names[pieces.appliance[i]],
            (int(pieces.on_ms[i]), int(pieces.period_ms[i])) if pieces.cycling[i] else None,
            int(pieces.begin_ms[i]), int(pieces.end_ms[i]), int(pieces.load[i]),
        )
        for i in range(len(pieces.row))
    ]  # fmt: skip


def laid_by_the_oracle(household: Json) -> list[Stretch]:
    draws = Expansion(Reading(household, "day")).draws
    return [(d.appliance, d.cycle[:2] if d.cycle else None, d.begin_ms, d.end_ms, d.group) for d in draws]


def joined(spans: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    whole: list[tuple[int, int]] = []
    for begin, end in sorted(spans):
        if whole and begin <= whole[-1][1]:
            whole[-1] = whole[-1][0], max(end, whole[-1][1])
        else:
            whole.append((begin, end))
    return whole


def when(stretches: list[Stretch]) -> dict[object, list[tuple[int, int]]]:
    """When each machine is on, by how it comes and goes."""
    found = defaultdict(list)
    for machine, cycle, begin, end, _ in stretches:
        found[machine, cycle].append((begin, end))
    return {of: joined(spans) for of, spans in found.items()}


def together(stretches: list[Stretch]) -> set[frozenset[tuple[str, int, int]]]:
    """What comes and goes together: of each load, which machines from when to when."""
    found = defaultdict(set)
    for machine, cycle, begin, end, load in stretches:
        if cycle is not None:
            found[load].add((machine, begin, end))
    return {frozenset(members) for members in found.values()}


def has_two_loads_alike(stretches: list[Stretch]) -> bool:
    """Whether two loads come and go alike: a machine that both set off goes by either, no matter which."""
    loads = defaultdict(set)
    for _, cycle, _, _, load in stretches:
        loads[cycle].add(load)
    return any(cycle is not None and len(found) > 1 for cycle, found in loads.items())


@examples(600)
@given(chains())
def test_chains_are_laid_as_one_wish_after_another(household: Json) -> None:
    """The product lays machine after machine, the oracle wish after wish, each with all that it sets off."""
    try:
        ours = laid_by_the_product(household)
    except HouseholdFaults:
        assume(False)  # a programme of several stages would be set off while it runs, or runs overlap
    theirs = laid_by_the_oracle(household)

    assert when(ours) == when(theirs)
    if not has_two_loads_alike(theirs):
        assert together(ours) == together(theirs)
