"""Why each run is where it is: the plan is assessed with it ten minutes earlier, and what gets worse is named."""

from dataclasses import dataclass, replace
from typing import Literal

from app.engine.assess import assess_day
from app.engine.sun import suns_of
from app.household.fields import wall_clock_s
from app.household.household import Household
from app.household.resolve import Resolved, resolve
from app.planner.laundry.confirm import Judge, Refusal
from app.planner.laundry.found import ENERGY_STEP_WH, Proposal
from app.planner.laundry.reading import begins_of, bounds_ms, read_task
from app.planner.laundry.standing import Standing
from app.planner.laundry.task import SLOT_MS, Load, Task
from app.planner.laundry.wish import Wish

EARLIER = 2  # slots: ten minutes
MARGIN_STEP = 0.005  # of the inverter's watts

Code = Literal["window", "now", "quiet", "order", "machine", "limit", "bank", "margin", "nothing"]


@dataclass(frozen=True, slots=True)
class Reason:
    """What gets worse where a run begins ten minutes earlier.

    code: it would be outside its window, in the past or in quiet hours, before or too long after what it has to do
    with, its machine (or an interlock) is not free, a limit is broken, more goes through the bank, less is left at the
    tightest moment, or nothing but the clock.
    limit: its id. before, after: as planned and ten minutes earlier, Wh for `bank`, shares left for `margin`.
    """

    run: str
    code: Code
    limit: str | None = None
    before: float = 0.0
    after: float = 0.0


def reasons(household: Household, scenario_id: str, wish: Wish, proposal: Proposal) -> tuple[Reason, ...]:
    """One reason for every run of a proposal, in the wish's order."""
    resolved = resolve(household, scenario_id)
    task, base = read_task(resolved, wish)
    judge = Judge(resolved, task, base, assess_day(base, suns_of(base.resolved), closely=wish.chance),
                  chance=wish.chance)  # fmt: skip
    starts = [resolved.frame.at_ms(wall_clock_s(proposal.starts[load.run])) // SLOT_MS for load in task.loads]
    return tuple(_Reasons(resolved, wish, task, judge, starts).of(place) for place in range(len(starts)))


class _Reasons:
    """Reasons of one day's runs."""

    def __init__(self, resolved: Resolved, wish: Wish, task: Task, judge: Judge, starts: list[int]) -> None:
        self._resolved, self._wish, self._task, self._judge, self._starts = resolved, wish, task, judge, starts

    def of(self, place: int) -> Reason:
        """Why one load does not begin ten minutes earlier."""
        load, at = self._task.loads[place], self._starts[place] - EARLIER
        if at < 0 or not load.begins[at]:
            return Reason(load.run, self._out_of_bounds(load, at))
        if not self._in_order(place, at):
            return Reason(load.run, "order")
        others = Standing(self._task)
        for other, start in enumerate(self._starts):
            if other != place:
                others.put(other, start)
        if not others.free(place)[at]:
            return Reason(load.run, "machine")
        sooner = [at if one == place else start for one, start in enumerate(self._starts)]
        judged = self._judge.judge(sooner)
        if isinstance(judged, Refusal):
            return Reason(load.run, "limit" if judged.limit else "machine", judged.limit)
        was_wh, then_wh = (self._task.through_bank_wh(one) for one in (self._starts, sooner))
        if then_wh > was_wh + ENERGY_STEP_WH / 2:
            return Reason(load.run, "bank", None, was_wh, then_wh)
        was, then = (self._task.tightest(one) for one in (self._starts, sooner))
        if then < was - MARGIN_STEP:
            return Reason(load.run, "margin", None, was, then)
        return Reason(load.run, "nothing")

    def _out_of_bounds(self, load: Load, at: int) -> Code:
        run = next(one for one in self._resolved.day.runs if one.id == load.run)
        if at < 0:
            return "window"

        def may(wish: Wish) -> bool:
            return bool(begins_of(self._resolved, run, wish)[at])

        if may(replace(self._wish, not_before=None)):
            return "now"
        if may(replace(self._wish, quiet=())):
            return "quiet"
        first_ms, _ = bounds_ms(self._resolved, run, self._wish)
        return "window" if at * SLOT_MS < first_ms else "order"

    def _in_order(self, place: int, at: int) -> bool:
        load = self._task.loads[place]
        if load.before is not None and at < self._starts[load.before] + load.gap[0]:
            return False
        return all(
            self._starts[other] <= at + one.gap[1] for other, one in enumerate(self._task.loads) if one.before == place
        )
