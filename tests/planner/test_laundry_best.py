"""Laundry day against every placing there is, and against a linear program of a general-purpose library."""

from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import linprog

from app.household.file import household_from
from app.household.resolve import resolve
from app.planner.laundry.bound import Bound
from app.planner.laundry.found import Proposal, Stuck
from app.planner.laundry.parts import parts_of, prove
from app.planner.laundry.reading import read_task
from app.planner.laundry.search import search
from app.planner.laundry.wish import Wish
from tests.households import report_without_odds
from tests.planner.laundry_cases import SLOT_MIN, best_of_all, case, laid, room_w, starts_of

CASES, PARTS = 200, 8
WITHIN_WH = 5.0  # half of the step that counts
ALIKE_WH = 1.0  # between the two readings of one day


def sun_of(document: dict[str, Any]) -> NDArray[np.float64]:
    """The day's sun as the report has it; the sun itself is checked elsewhere."""
    return np.array(report_without_odds(document, "day")["battery"]["series"]["sun_w"])


def wish_of(document: dict[str, Any]) -> Wish:
    return Wish(tuple(run["id"] for run in document["scenarios"][0]["runs"]))


@pytest.mark.parametrize("part", range(PARTS))
def test_nothing_better_exists(part: int) -> None:
    """Of 200 small days, the best by trying all: found, never undercut, and never above what is said to be provable."""
    impossible = 0
    for seed in range(part, CASES, PARTS):
        document = case(seed)
        sun_w = sun_of(document)
        best_wh = best_of_all(document, sun_w)
        household = household_from(document)
        task, _ = read_task(resolve(household), wish_of(document))

        def enough(found: Proposal | None, _bound_wh: float, best_wh: float | None = best_wh) -> bool:
            return found is None or best_wh is None or found.through_bank_wh > best_wh + WITHIN_WH

        found = search(household, "day", wish_of(document), seconds=20.0, report=enough, prove=False)
        if best_wh is None:
            impossible += 1
            assert isinstance(found, Stuck), seed
            continue
        assert isinstance(found, Proposal), seed
        anyway_wh = np.maximum(-room_w(sun_w), 0.0).sum() * SLOT_MIN / 60
        assert task.standing_wh == pytest.approx(anyway_wh, abs=ALIKE_WH), seed
        assert best_wh - ALIKE_WH <= found.through_bank_wh <= best_wh + WITHIN_WH + ALIKE_WH, seed
        proved_wh = Bound(task, found.through_bank_wh, lambda _: True).prove()
        assert task.floor_wh <= proved_wh + 1e-6, seed
        assert proved_wh <= best_wh + ALIKE_WH, seed
        swept = prove(task, parts_of(task))
        assert proved_wh - WITHIN_WH - ALIKE_WH <= swept.least_wh <= best_wh + ALIKE_WH, seed
    assert impossible < CASES / PARTS / 2


@pytest.mark.parametrize("seed", [10, 20, 30, 40, 50])
def test_a_linear_program_is_a_bound(seed: int) -> None:
    """Starts in parts: the linear relaxation, solved by scipy's HiGHS, is below what is best."""
    document = case(seed)
    sun_w = sun_of(document)
    runs = document["scenarios"][0]["runs"]
    room = room_w(sun_w)
    columns = [(run, start) for run in runs for start in starts_of(run)]
    minutes = len(room) * SLOT_MIN
    draws = np.array([laid(run, start, minutes).reshape(-1, SLOT_MIN).mean(axis=1) for run, start in columns])
    slots = len(room)
    # Variables: a part of every start, and the shortfall of every slot. short >= draws - room.
    costs = np.concatenate((np.zeros(len(columns)), np.full(slots, SLOT_MIN / 60)))
    once = np.array(
        [[run["id"] == wanted["id"] for run, _ in columns] + [False] * slots for wanted in runs], dtype=float
    )
    relaxed = linprog(
        costs,
        A_ub=np.hstack((draws.T, -np.eye(slots))), b_ub=room,
        A_eq=once, b_eq=np.ones(len(runs)),
        bounds=[(0, 1)] * len(columns) + [(0, None)] * slots,
    )  # fmt: skip
    best_wh = best_of_all(document, sun_w)
    assert relaxed.status == 0 and best_wh is not None
    assert relaxed.fun <= best_wh + 1e-6
    task, _ = read_task(resolve(household_from(document)), wish_of(document))
    proved_wh = Bound(task, best_wh, lambda _: True).prove()
    assert relaxed.fun - WITHIN_WH - ALIKE_WH <= proved_wh <= best_wh + ALIKE_WH  # and what is proved is no weaker
