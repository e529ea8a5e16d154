"""The last word on a plan is the engine's: what it may be offered for, and who is to blame where it may not."""

from collections.abc import Sequence
from typing import NamedTuple

from app.engine.day import PlannedDay
from app.engine.moment import Inspection
from app.engine.pressed import pressed
from app.engine.results import LADDER, Assessment, LimitReading, Verdict
from app.household.errors import HouseholdFaults
from app.household.resolve import Resolved
from app.planner.laundry.placing import assessed, placed
from app.planner.laundry.reading import slot_clock
from app.planner.laundry.task import Load, Task


class Refusal(NamedTuple):
    """Why a plan is none: the limit, None where a machine would run into itself, and the places of the loads in it."""

    limit: str | None
    places: tuple[int, ...]


class Confirmed(NamedTuple):
    """A plan the engine accepts: run id to HH:MM, and the day laid with it."""

    starts: dict[str, str]
    day: PlannedDay


class Judge:
    """Confirms plans of one day."""

    def __init__(self, resolved: Resolved, task: Task, base: PlannedDay, base_assessment: Assessment, *, chance: bool):
        self._resolved = resolved
        self._task = task
        self._before = Inspection(base, base_assessment)
        self._red: tuple[Verdict, ...] = ("over",) if chance else ("chance", "over")
        self._closely = chance  # how often something comes decides only where it may come at all
        self._red_before = {one.id: one for one in base_assessment.limits if one.verdict in self._red}
        self._kept: dict[tuple[int, ...], Confirmed | Refusal] = {}

    def judge(self, starts: Sequence[int]) -> Confirmed | Refusal:
        """Assess a plan: starts, a slot per load."""
        asked = tuple(starts)
        if asked not in self._kept:
            self._kept[asked] = self._judged(asked)
        return self._kept[asked]

    def _judged(self, starts: tuple[int, ...]) -> Confirmed | Refusal:
        loads = self._task.loads
        clocks = {load.run: slot_clock(self._resolved, at) for load, at in zip(loads, starts, strict=True)}
        try:
            day, assessment = assessed(placed(self._resolved, clocks), closely=self._closely)
        except HouseholdFaults:
            return Refusal(None, tuple(range(len(loads))))
        red = [reading for reading in assessment.limits if self._is_new(reading)]
        if not red and self._red_before:
            red = [reading for load in loads if (reading := self._hidden(day, assessment, load)) is not None]
        if red:
            worst = max(red, key=lambda one: LADDER.index(one.verdict))
            return Refusal(worst.id, self._to_blame(worst))
        return Confirmed(clocks, day)

    def _is_new(self, reading: LimitReading) -> bool:
        """Red, and not so already without the loads."""
        if reading.verdict not in self._red:
            return False
        before = self._red_before.get(reading.id)
        return before is None or LADDER.index(reading.verdict) > LADDER.index(before.verdict)

    def _hidden(self, day: PlannedDay, assessment: Assessment, load: Load) -> LimitReading | None:
        """A limit that is red without the loads already, and that this one breaks too."""
        own = [piece for piece in assessment.pieces if piece.run == load.run]
        if not own:
            return None
        while_ms = (min(piece.begin_ms for piece in own), max(piece.end_ms for piece in own))
        for reading in pressed(self._before, Inspection(day, assessment), load.run, while_ms):
            if reading.verdict in self._red:
                return reading
        return None

    def _to_blame(self, reading: LimitReading) -> tuple[int, ...]:
        runs = {one.run for one in reading.contributors}
        if reading.heat is not None:
            runs |= {one.run for one in reading.heat.contributors}
        found = tuple(place for place, load in enumerate(self._task.loads) if load.run in runs)
        return found or tuple(range(len(self._task.loads)))
