"""Days that are played through, beside the same days lived second by second in plain Python."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import pytest

from app.engine.odds.days import Days
from app.engine.odds.odds import OddsOfDay
from app.engine.odds.played import Breaking, Played
from app.engine.part import part_of
from tests.engine.home import Document, house, load, steady
from tests.engine.test_moment import inspected

FROM_S, TO_S = 10 * 3600, 14 * 3600
BASE_W, POWER_FACTOR = 150, 0.5  # of starts
RATED_W, TOP_VA = 3000, 5200
STORES = ((3000, 400, 700), (3600, 90, 90), (4300, 5, 5))  # above so many watts for so long, gone after so long


class Cycle(NamedTuple):
    """A heater or a motor that comes and goes; start_va: for half a second."""

    watts: int
    on_s: int
    period_s: int
    start_va: int


def cycles_of(random: np.random.Generator) -> list[Cycle]:
    """Some of them."""
    found = []
    for _ in range(int(random.integers(1, 6))):
        on_s = int(random.integers(20, 900))
        starts = int(random.integers(0, 2))
        watts = int(random.integers(3, 19)) * 100
        found.append(Cycle(watts, on_s, on_s + int(random.integers(20, 1800)), starts * 2 * (watts + 900)))
    return found


def document_of(cycles: list[Cycle], runs: list[tuple[int, int, int]]) -> Document:
    """runs: watts, length in seconds, and when they begin."""
    appliances = [steady("base", BASE_W)]
    for number, one in enumerate(cycles):
        start = {"start": {"va": one.start_va, "power_factor": POWER_FACTOR, "duration_s": 0.5}}
        cycle = {"on_s": one.on_s, "period_s": one.period_s}
        appliances.append(steady(f"load {number}", one.watts, cycle=cycle, **(start if one.start_va else {})))
    appliances += [load(f"run {number}", watts, lasts_s) for number, (watts, lasts_s, _) in enumerate(runs)]
    at = {
        f"run {number}": f"{begin // 3600:02d}:{begin // 60 % 60:02d}:{begin % 60:02d}"
        for number, (_, _, begin) in enumerate(runs)
    }
    above = [*(level for level, _, _ in STORES[1:]), TOP_VA]
    overload = [[va, *times] for va, (_, *times) in zip(above, STORES, strict=True)]
    inverter = {"rated_va": RATED_W, "continuous_w": [[25, RATED_W]], "overload": overload}
    return house(*appliances, runs=at, inverter=inverter)


def lived(cycles: list[Cycle], runs: list[tuple[int, int, int]], phases_s: list[int]) -> list[int]:
    """The seconds in which the inverter would cut out, one for each time above its rating; starts apart from that."""
    found, held, full, done = list[int](), [0.0] * len(STORES), [False] * len(STORES), False
    for second in range(FROM_S, TO_S):
        into_s = [(second - FROM_S + phase) % one.period_s for one, phase in zip(cycles, phases_s, strict=True)]
        watts = BASE_W + sum(w for w, lasts_s, begin in runs if begin <= second < begin + lasts_s)
        watts += sum(one.watts for one, into in zip(cycles, into_s, strict=True) if into < one.on_s)
        breaks = watts > TOP_VA
        for one, into in zip(cycles, into_s, strict=True):
            if into == 0 and one.start_va:
                start_w, start_var = one.start_va * POWER_FACTOR, one.start_va * math.sqrt(1 - POWER_FACTOR**2)
                breaks |= math.hypot(watts - one.watts + start_w, start_var) > TOP_VA
        for store, (level_w, allowed_s, cooling_s) in enumerate(STORES):
            held[store] = held[store] + 1 if watts > level_w else max(held[store] - allowed_s / cooling_s, 0.0)
            newly = held[store] > allowed_s + 1e-6 and not full[store]
            full[store] = (full[store] or newly) and held[store] > 0
            breaks |= newly
        done = done and watts > RATED_W
        if breaks and not done:
            found.append(second)
        done = (done or breaks) and watts > RATED_W
    return found


@pytest.mark.parametrize("seed", range(30))
def test_it_cuts_out_in_the_same_seconds(seed: int) -> None:
    """By stores that are warm from before, by starts, or above the top; once in any time above the rating."""
    random = np.random.default_rng(seed)
    cycles = cycles_of(random)
    runs = [
        (int(random.integers(3, 30)) * 100, int(random.integers(60, 3000)), int(random.integers(FROM_S, TO_S - 3000)))
        for _ in range(int(random.integers(0, 4)))
    ]
    phases_s = np.array([random.integers(0, one.period_s, 5) for one in cycles])
    day = inspected(document_of(cycles, runs)).day
    odds = OddsOfDay(part_of(day, FROM_S * 1000, TO_S * 1000), frozenset(), TO_S * 1000)
    ruled = odds.rules["inverter_overload"]
    played = Played(ruled.view, [ruled.under])
    order = [int(name.split()[1]) for name in names_of(played)]
    days = Days(played.loads, played.days(1, 0).time, phases_s[order].astype(float) * 1000)

    expected = [second for number in range(5) for second in lived(cycles, runs, phases_s[:, number].tolist())]
    found = Breaking(ruled.view, ruled.under).broken_ms(days) / 1000
    assert len(found) == len(expected)
    assert np.allclose(np.sort(found), np.sort(expected), atol=1.01)


def names_of(played: Played) -> list[str]:
    """The appliances that come and go, in the order of the loads."""
    view, loads = played.view, played.loads
    first = [int(np.flatnonzero(loads.of_piece == load)[0]) for load in played.days(1, 0).time.loads.tolist()]
    pieces = view.laid.pieces
    return [view.laid.rows.names[int(pieces.row[int(view.scope.cyclers.piece[one])])][0] for one in first]


def test_there_is_something_to_count() -> None:
    """Otherwise nothing would be compared: of the households above most cut out, some by starts alone."""
    times = []
    for seed in range(30):
        random = np.random.default_rng(seed)
        cycles = cycles_of(random)
        phases_s = [int(random.integers(0, one.period_s)) for one in cycles]
        quiet = [one._replace(start_va=0) for one in cycles]
        times.append((len(lived(cycles, [], phases_s)), len(lived(quiet, [], phases_s))))

    assert sum(often > 0 for often, _ in times) >= 10
    assert sum(often > without for often, without in times) >= 3
