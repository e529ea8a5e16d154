"""Compressors that went off just now rest for a while, whatever the supply could carry."""

from collections.abc import Iterator

from app.engine.answers import Answer, MaySwitch, Switching
from app.engine.sure import is_broken_without
from app.household.beside_plan import Tap
from app.household.fields import wall_clock_s
from app.household.gaps import run_length_s
from app.web.figures import clock_after
from app.web.tapped import AsTapped
from app.web.words import switch_on as said

REST_MS = 5 * 60_000  # common practice, no source


class Resting:
    """What is off at an instant of a plan with its taps: since when, and whether it is to rest."""

    def __init__(self, today: AsTapped, at_ms: int) -> None:
        self._today, self._resolved, self._at_ms = today, today.worded, at_ms

    def stopped(self, appliance: str) -> Tap | None:
        """The tap since which it is off; none where it ran again after it."""
        tap = self._today.beside.stopped.get(appliance)
        if tap is None:
            return None
        tap_ms = self._resolved.frame.at_ms(tap.clock_s)
        ran_again = any(tap_ms < begin_ms <= self._at_ms for begin_ms, _ in self._spans(appliance))
        return None if ran_again or tap_ms > self._at_ms else tap

    def _spans(self, appliance_id: str) -> Iterator[tuple[int, int]]:
        """When its runs begin and end, in milliseconds since midnight."""
        appliance = self._resolved.appliance(appliance_id)
        assert appliance is not None  # it has a row
        for run in self._resolved.day.runs:
            if run.on and run.appliance == appliance_id:
                begin_ms = self._resolved.frame.at_ms(wall_clock_s(run.start))
                yield begin_ms, begin_ms + round(run_length_s(appliance, run) * 1000)

    def until(self, appliance_id: str) -> str:
        """Until when a compressor waits that went off just now, by its run's end or by a tap; empty for others."""
        appliance = self._resolved.appliance(appliance_id)
        if appliance is None or all(stage.start is None or stage.cycle is None for stage in appliance.stages):
            return ""
        frame, tap = self._resolved.frame, self.stopped(appliance_id)
        ended_ms = [end_ms for _, end_ms in self._spans(appliance_id)]
        ended_ms += [] if tap is None else [frame.at_ms(tap.clock_s)]
        last_ms = max((ms for ms in ended_ms if ms <= self._at_ms), default=-REST_MS)
        return "" if self._at_ms - last_ms >= REST_MS else clock_after(frame, last_ms + REST_MS)


def answer_line(today: AsTapped, may: MaySwitch, switching: Switching, rests: str) -> tuple[Answer, str]:
    """An answer, and what follows it. rests: until when its compressor is to rest; empty for none."""
    if may.answer == "go" and rests:
        return "ask", said.RESTING.format(at=rests)
    return may.answer, said.may_line(
        today.worded, may, switching, anyway=is_broken_without(today.inspection, may, switching.at_ms)
    )
