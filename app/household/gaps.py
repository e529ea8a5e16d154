"""Where on a day a machine is free: how long its runs take, where one fits between others, and why one does not."""

from app.household.appliance import Appliance
from app.household.day import DAY_S
from app.household.fields import wall_clock_s
from app.household.resolve import Resolved
from app.household.scenario import Run

MINUTE_S = 60


def run_length_s(appliance: Appliance, run: Run | None = None) -> float:
    """How long a run of an appliance takes, in seconds; without a run, as long as its programme.

    0 for an appliance whose stage has no length, when the run gives none either.
    """
    if run is not None and run.duration_s is not None:
        return run.duration_s
    return sum(stage.duration_s or 0 for stage in appliance.stages)


def first_free_s(resolved: Resolved, appliance: Appliance, length_s: float, from_s: int, step_s: int) -> int | None:
    """The first start in steps from a time of day on at which a run of some length overlaps no other of its machine.

    from_s, the answer: seconds on the clock since 00:00. step_s: below 0 the steps lead back towards midnight.
    None where the rest of the day has no such start.
    """
    return _first_free_s(resolved, _taken(resolved, appliance), length_s, from_s, step_s)


def in_the_way(resolved: Resolved, run: Run) -> str:
    """Why a run cannot be when it is wanted, since its machine is needed then, and when it could be; else empty.

    run: as it is wanted, whether it is on the day or not yet.

    `there is a run of Iron from 16:00 to 16:30 already; begin at 16:30 or later, or move that run`
    """
    appliance = resolved.appliance(run.appliance)
    if appliance is None or appliance.always_on or not run.on:
        return ""
    length_s, start_s = run_length_s(appliance, run), wall_clock_s(run.start)
    begin_ms = resolved.frame.at_ms(start_s)
    end_ms = begin_ms + round(length_s * 1000)
    taken = _taken(resolved, appliance, but=run.id)
    first = next(((begin, end) for begin, end in taken if begin < end_ms and begin_ms < end), None)
    if first is None:
        return ""
    lasts = f", and this one would last until {_face(resolved, end_ms)}" if begin_ms < first[0] else ""
    minute_s = start_s // MINUTE_S * MINUTE_S
    earlier_s = _first_free_s(resolved, taken, length_s, minute_s, -MINUTE_S)
    later_s = _first_free_s(resolved, taken, length_s, minute_s + MINUTE_S, MINUTE_S)
    could = [] if earlier_s is None else [f"at {clock_text(earlier_s)} or earlier"]
    could += [] if later_s is None else [f"at {clock_text(later_s)} or later"]
    begin = f"begin {', '.join(could)}, or move that run" if could else "move that run first"
    span = f"from {_face(resolved, first[0])} to {_face(resolved, first[1])}"
    return f"there is a run of {appliance.name} {span} already{lasts}; {begin}"


def _taken(resolved: Resolved, appliance: Appliance, but: str = "") -> list[tuple[int, int]]:
    """When an appliance's runs that are on begin and end, in milliseconds since midnight, in order; all but one."""
    runs = [run for run in resolved.day.runs if run.on and run.appliance == appliance.id and run.id != but]
    begins_ms = [(resolved.frame.at_ms(wall_clock_s(run.start)), run) for run in runs]
    return sorted((begin_ms, begin_ms + round(run_length_s(appliance, run) * 1000)) for begin_ms, run in begins_ms)


def _first_free_s(
    resolved: Resolved, taken: list[tuple[int, int]], length_s: float, from_s: int, step_s: int
) -> int | None:
    for start_s in range(from_s, DAY_S if step_s > 0 else -1, step_s):
        begin_ms = resolved.frame.at_ms(start_s)
        end_ms = begin_ms + round(length_s * 1000)
        if all(end_ms <= other_begin_ms or other_end_ms <= begin_ms for other_begin_ms, other_end_ms in taken):
            return start_s
    return None


def _face(resolved: Resolved, ms: int) -> str:
    """An instant on the clock; of the next day with a plus, as times are typed."""
    face = resolved.frame.local(ms).strftime("%H:%M:%S").removesuffix(":00")
    return f"+{face}" if ms >= resolved.frame.day_ms else face


def clock_text(clock_s: int) -> str:
    """Seconds on the clock as the file writes a time of day.

    >>> clock_text(48_900), clock_text(30)
    ('13:35', '00:00:30')
    """
    minutes, seconds = divmod(clock_s, 60)
    face = f"{minutes // 60:02d}:{minutes % 60:02d}"
    return f"{face}:{seconds:02d}" if seconds else face
