"""Where on a day a machine is free: how long its runs take, and the first start that runs into none of them."""

from app.household.appliance import Appliance
from app.household.day import DAY_S
from app.household.fields import wall_clock_s
from app.household.resolve import Resolved
from app.household.scenario import Run


def run_length_s(appliance: Appliance, run: Run | None = None) -> float:
    """How long a run of an appliance takes, in seconds; without a run, as long as its programme.

    0 for an appliance whose stage has no length, when the run gives none either.
    """
    if run is not None and run.duration_s is not None:
        return run.duration_s
    return sum(stage.duration_s or 0 for stage in appliance.stages)


def first_free_s(resolved: Resolved, appliance: Appliance, length_s: float, from_s: int, step_s: int) -> int | None:
    """The first start in steps from a time of day on at which a run of some length overlaps no other of its machine.

    from_s, the answer: seconds on the clock since 00:00. None where the rest of the day has no such start.
    """
    frame = resolved.frame
    taken = [
        (begin_ms, begin_ms + round(run_length_s(appliance, run) * 1000))
        for run in resolved.day.runs
        if run.on and run.appliance == appliance.id
        for begin_ms in [frame.at_ms(wall_clock_s(run.start))]
    ]
    for start_s in range(from_s, DAY_S, step_s):
        begin_ms = frame.at_ms(start_s)
        end_ms = begin_ms + round(length_s * 1000)
        if all(end_ms <= other_begin_ms or other_end_ms <= begin_ms for other_begin_ms, other_end_ms in taken):
            return start_s
    return None


def clock_text(clock_s: int) -> str:
    """Seconds on the clock as the file writes a time of day.

    >>> clock_text(48_900), clock_text(30)
    ('13:35', '00:00:30')
    """
    minutes, seconds = divmod(clock_s, 60)
    face = f"{minutes // 60:02d}:{minutes % 60:02d}"
    return f"{face}:{seconds:02d}" if seconds else face
