"""Interlocks that share a machine, as one: no laxer than them all, and no more may be on in it than they let on."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations

import numpy as np

from app.engine.results import Floats, Instants
from app.household.appliance import Appliance
from app.household.resolve import Resolved

Placed = Sequence[tuple[int, Instants]]  # at_most, and the places of the appliances

MOST_TRIED = 12  # machines of which every set is tried: of more, as many are let on as by each interlock by itself


def placed(resolved: Resolved, appliances: Sequence[Appliance]) -> Placed:
    """A household's interlocks, by the places of its appliances."""
    places = {appliance.id: place for place, appliance in enumerate(appliances)}
    return [
        (one.at_most, np.array([places[member] for member in one.of if member in places], dtype=np.int64))
        for one in resolved.household.interlocks
    ]


def joined(interlocks: Placed, weight: Floats) -> Iterator[tuple[int, Instants]]:
    """Interlocks (at_most, places of the appliances) of which no two share one that is seen.

    weight: per appliance, above zero where it is seen; others are left out. Those that share one let on as many as the
    largest set that all of them allow: whatever is on, it is no more than the largest of so many.
    """
    seen = [(at_most, frozenset(places[weight[places] > 0].tolist())) for at_most, places in interlocks]
    for group in _sharing(seen):
        everyone = sorted(frozenset().union(*(places for _, places in group)))
        yield _most_at_once(group, everyone), np.array(everyone, dtype=np.int64)


_Interlocks = list[tuple[int, frozenset[int]]]


def _sharing(interlocks: Iterable[tuple[int, frozenset[int]]]) -> list[_Interlocks]:
    """Groups of which no two have a machine in common."""
    groups = list[_Interlocks]()
    for one in interlocks:
        merged, apart = [one], list[_Interlocks]()
        for group in groups:
            if any(one[1] & places for _, places in group):
                merged = [*group, *merged]
            else:
                apart.append(group)
        groups = [*apart, merged]
    return groups


def _most_at_once(group: _Interlocks, everyone: list[int]) -> int:
    """The size of the largest set that every interlock of a group allows."""
    if len(group) == 1:
        return group[0][0]
    if len(everyone) > MOST_TRIED:
        return min(sum(at_most for at_most, _ in group), len(everyone))
    return next(size for size in range(len(everyone), 0, -1) if _may_be_on(group, everyone, size))


def _may_be_on(group: _Interlocks, everyone: list[int], size: int) -> bool:
    """Some set of so many is one that every interlock allows."""
    return any(
        all(len(places.intersection(some)) <= at_most for at_most, places in group)
        for some in combinations(everyone, size)
    )
