"""One search on one day: local search and proof side by side, every better plan judged by the engine."""

from collections.abc import Callable, Mapping
from contextlib import ExitStack
from time import monotonic

import numpy as np

from app.engine.assess import assess_day
from app.engine.results import Assessment
from app.engine.sun import suns_of
from app.household.fields import wall_clock_s
from app.household.resolve import Resolved
from app.planner.laundry.confirm import Confirmed, Judge
from app.planner.laundry.found import ENERGY_STEP_WH, Proposal
from app.planner.laundry.local import Search
from app.planner.laundry.prover import Prover
from app.planner.laundry.reading import read_task
from app.planner.laundry.task import SLOT_MS
from app.planner.laundry.wish import Wish

Report = Callable[[Proposal | None, float], bool]
TOLD_S = 0.25  # between two reports, where nothing got better
GIVEN_UP_S = 1.5  # without any plan that the engine accepts
STEPS_IN_A_ROW = 8
HOPELESS_STEPS = 400  # without any plan
QUIET_STEPS = 8000  # without anything better: a search has come to its end
QUIET_STEPS_PROVEN = 2000  # the same where only margin and finish can get better


class Looked:
    """One search on one day."""

    def __init__(self, resolved: Resolved, wish: Wish, seed: int, begin: Mapping[str, str] | None = None) -> None:
        self.resolved, self.wish, self._seed = resolved, wish, seed
        self.task, base = read_task(resolved, wish)
        self._judge = Judge(resolved, self.task, base, assess_day(base, suns_of(base.resolved), closely=wish.chance),
                            chance=wish.chance)  # fmt: skip
        self._bound_wh = self.task.floor_wh
        self._local = Search(self.task, seed, self._slots(begin) if begin else None)
        self._best: Confirmed | None = None
        self._prover: Prover | None = None
        self._told: tuple[list[int], Assessment] | None = None  # the best, assessed closely
        self._quiet_steps = 0
        self._polished_day: list[int] | None = None
        self.refused = self._local.standing.refused

    def look(self, seconds: float, report: Report, *, prove: bool = True) -> Proposal | None:
        """Search until the time is over, nothing better can be, or nobody wants to know."""
        ends_at = monotonic() + seconds
        given_up_at = monotonic() + min(seconds, GIVEN_UP_S)
        proving = prove
        if self._local.complete:
            self._judged()
        told_at = monotonic()
        if self._best is not None and not report(self._proposal(), self._bound_wh):
            return self._proposal()
        with ExitStack() as ends:
            while monotonic() < ends_at:
                if proving and self._best is not None and not self._is_proven():
                    proving = False
                    self._prover = ends.enter_context(Prover(self.task, ends_at - monotonic(), self._seed))
                    self._prover.known(self._best_wh())
                better = self._steps()
                better = self._heard() or better
                if self._best is None and (monotonic() > given_up_at or self._quiet_steps > HOPELESS_STEPS):
                    break
                if self._quiet_steps > (QUIET_STEPS_PROVEN if self._is_proven() else QUIET_STEPS):
                    if self._polished():
                        better, self._quiet_steps = True, 0
                    elif self._is_proven() or not (proving or self._is_proving):
                        break
                    else:
                        better = self._heard(TOLD_S) or better  # nothing is left but to wait for the proof
                if better or monotonic() - told_at > TOLD_S:
                    told_at = monotonic()
                    if not report(self._proposal(), self._bound_wh):
                        break
        return self._proposal()

    @property
    def _is_proving(self) -> bool:
        return self._prover is not None and not self._prover.told.done

    def _steps(self) -> bool:
        better = False
        for _ in range(STEPS_IN_A_ROW):
            self._quiet_steps += 1
            if self._local.step() and self._judged():
                better, self._quiet_steps = True, 0
        return better

    def _polished(self) -> bool:
        """Whether single loads of the best day could move to make it better still; asked once of each day."""
        if self._polished_day == self._local.best:
            return False
        self._polished_day = self._local.best
        return self._best is not None and self._local.polish() and self._judged()

    def _judged(self) -> bool:
        """Let the engine judge what stands; True where it is the best so far."""
        local = self._local
        judged = self._judge.judge(local.now)
        if isinstance(judged, Confirmed):
            local.accept()
            self._best = judged
            if self._prover is not None:
                self._prover.known(self._best_wh())
            return True
        self.refused[judged.limit or ""] += 1
        local.reject(judged.places)
        return False

    def _heard(self, wait_s: float = 0.0) -> bool:
        """Take over what the prover found meanwhile, if the engine accepts it; True where there is news to tell."""
        prover = self._prover
        if prover is None or not prover.news(wait_s):
            return False
        was_proven = self._is_proven()
        self._bound_wh = max(self._bound_wh, prover.told.bound_wh)
        starts = prover.told.starts
        if (
            starts is not None
            and self.task.through_bank_wh(list(starts)) < self._best_wh() - ENERGY_STEP_WH / 2
            and isinstance(self._judge.judge(starts), Confirmed)
        ):
            self._local.go_to(starts)
            return self._judged()
        return self._is_proven() and not was_proven

    def _best_wh(self) -> float:
        return np.inf if self._local.best is None else self.task.through_bank_wh(self._local.best)

    def _is_proven(self) -> bool:
        return self._best_wh() - self._bound_wh < ENERGY_STEP_WH

    def _proposal(self) -> Proposal | None:
        best = self._local.best
        if self._best is None or best is None:
            return None
        wh = self._best_wh()
        if self._told is None or self._told[0] != best:
            day = self._best.day
            self._told = (best, assess_day(day, suns_of(day.resolved)))
        return Proposal(
            starts=self._best.starts,
            through_bank_wh=wh,
            cannot_be_below_wh=min(self._bound_wh, wh),
            finish_ms=max(at * SLOT_MS + load.length_ms for at, load in zip(best, self.task.loads, strict=True)),
            tightest=self.task.tightest(best),
            assessment=self._told[1],
        )

    def _slots(self, begin: Mapping[str, str]) -> list[int] | None:
        frame = self.resolved.frame
        found = [frame.at_ms(wall_clock_s(begin[load.run])) // SLOT_MS for load in self.task.loads if load.run in begin]
        if len(found) < len(self.task.loads):
            return None
        return found if all(load.begins[at] for load, at in zip(self.task.loads, found, strict=True)) else None
