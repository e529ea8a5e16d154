"""What is chosen for a workshop: which machines, how each is used, on which circuit; and what cannot be."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

from app.household.day import DAY_S, DayFrame
from app.household.errors import Faults
from app.household.fields import wall_clock_s
from app.household.gaps import MINUTE_S, clock_text
from app.household.resolve import Resolved

Json = dict[str, Any]
How = Literal["whole", "bursts", "follows", "programme"]
Rests = Literal["nameplate", "measured", "own"]

NEW = "new"  # the circuit that is not there yet


@dataclass(frozen=True)
class Use:
    """A machine, and how it is used.

    key: a name of the sender's own. document: as it stands in the built-in library or in the plan's; own: in the
    plan's, so that it keeps its id.
    how: on the whole time; in bursts, on and off nobody knows when; only while something else runs that sets it off;
    or as its programme of several stages says.
    figures: what is known better, by its path inside its stage as the file has it, `start.va`. about: the same of the
    appliance itself: name, uncertainty, after_cut. rests: where these were found.
    sets_off: key of the machine that starts with it, after_s later. start, length_s: of its run; none if it follows.
    """

    key: str
    document: Json
    own: bool = False
    how: How = "whole"
    figures: Mapping[str, Any] = field(default_factory=dict)
    about: Mapping[str, Any] = field(default_factory=dict)
    rests: Rests = "nameplate"
    sets_off: str | None = None
    after_s: float = 1
    start: str | None = None
    length_s: float | None = None


@dataclass(frozen=True)
class Wiring:
    """The circuit that all of them are on. circuit: id of one that is there, or `NEW`. figures: what is given of it."""

    circuit: str = NEW
    figures: Mapping[str, Any] = field(default_factory=dict)


def name_of(use: Use) -> str:
    """What the machine is called."""
    return str(use.about.get("name") or use.document["name"])


def stage_with_figures(use: Use) -> Json:
    """The only stage with what is known better."""
    stage: Json = dict(use.document["stages"][0])
    for path, value in use.figures.items():
        part, _, name = path.rpartition(".")
        if part:
            stage[part] = dict(stage.get(part) or {}) | {name: value}
        else:
            stage[name] = value
    return stage


def check_uses(faults: Faults, uses: Sequence[Use], frame: DayFrame) -> None:
    """Note what cannot be, at `machine` or at `FIELD:KEY`. frame: the day on which they are used."""
    if not uses:
        faults.add("machine", "pick at least one machine")
    by_key = {use.key: use for use in uses}
    names = {use.key: name_of(use) for use in uses}
    for use in uses:
        key, callers = use.key, [one for one in uses if one.sets_off == use.key]
        if [one.key for one in uses].count(key) > 1:
            why = "it is picked twice; pick each machine once, a second one like it is an appliance of its own"
            faults.add(f"machine:{key}", f"{names[key]}: {why}")
        if use.sets_off == key:
            faults.add(f"sets:{key}", "no machine sets itself off; choose another, or none")
        elif use.sets_off is not None and use.sets_off not in by_key:
            faults.add(f"sets:{key}", "that machine is not picked; pick it too, or choose another")
        elif circle := _circle(use, by_key):
            ring = " → ".join(names[one] for one in circle)
            faults.add(f"sets:{key}", f"they set each other off in a circle: {ring}; let one of them begin by itself")
        several = len(use.document["stages"]) > 1
        for caller in callers if several else ():
            if len(callers) > 1 or caller.how in ("bursts", "follows"):
                why = f"{names[key]} is a programme of several stages, which nothing sets off that comes and goes"
                faults.add(f"sets:{caller.key}", f"{why}; choose another, or none")
        if use.how == "follows" and not callers:
            why = "nothing sets it off; choose it at another machine, or say how it is used by itself"
            faults.add(f"how:{key}", why)
        cycle = stage_with_figures(use).get("cycle") or {}
        if use.how == "bursts" and not ("on_s" in cycle and "period_s" in cycle):
            at = "cycle.period_s" if "on_s" in cycle else "cycle.on_s"
            faults.add(f"{at}:{key}", "say how long it is on, and once every how long")
        if use.how != "follows":
            _check_time(faults, use, frame)


def check_own(faults: Faults, resolved: Resolved, uses: Sequence[Use]) -> None:
    """Note what the plan has of its own machines that keeps them from only following another."""
    for use in uses:
        if not use.own or use.how != "follows":
            continue
        by_itself = [run for run in resolved.day.runs if run.on and run.appliance == use.document["id"]]
        if by_itself:
            why = f"the plan has it at {by_itself[0].start} by itself; say how it is used, or take that run off first"
            faults.add(f"how:{use.key}", why)
        elif use.document["id"] in resolved.household.any_time:
            why = "it may be switched on at any time, so it does not only follow another; say how it is used"
            faults.add(f"how:{use.key}", why)


def _check_time(faults: Faults, use: Use, frame: DayFrame) -> None:
    if use.start is None:
        faults.add(f"from:{use.key}", "say from when it is used, such as 10:00")
    elif gap := missing_hour(frame, use.start):
        why = f"that night the clock goes from {gap[0]} straight to {gap[1]}; begin before {gap[0]} or from {gap[1]} on"
        faults.add(f"from:{use.key}", why)
    if use.length_s is None and not all(stage.get("duration_s") for stage in use.document["stages"]):
        faults.add(f"for:{use.key}", "say for how long it is used, such as 1 h")


def _circle(use: Use, by_key: Mapping[str, Use]) -> list[str]:
    """The machines of a circle that begins with this one, which comes last again; empty for none."""
    seen = [use.key]
    while (called := by_key[seen[-1]].sets_off) in by_key:
        assert called is not None  # it is a key
        if called == use.key:
            return [*seen, called]
        if called in seen:
            return []  # a circle further on, told there
        seen.append(called)
    return []


def check_circuit(faults: Faults, circuit: Mapping[str, Any]) -> None:
    """Note what cannot be of a circuit, at its field."""
    length_m, size_mm2 = circuit.get("cable_m"), circuit.get("conductor_mm2")
    if (length_m is None) != (size_mm2 is None):
        at, what = ("conductor_mm2", "wire size") if size_mm2 is None else ("cable_m", "length")
        faults.add(at, f"give its {what} too; without both nothing can be said of what is lost on the cable")
    breaker_a, cable_a = circuit.get("breaker_a"), circuit.get("cable_a")
    if breaker_a is not None and cable_a is not None and breaker_a > cable_a:
        why = f"a breaker of {breaker_a:g} A does not protect a cable that carries {cable_a:g} A"
        faults.add("breaker_a", f"{why}; give a smaller breaker, or a cable that carries more")


def missing_hour(frame: DayFrame, clock: str) -> tuple[str, str] | None:
    """From when to when the clock is put forward over a time of day; None for a time that there is."""
    wanted_s = wall_clock_s(clock)

    def is_there(clock_s: int) -> bool:
        there = frame.local(frame.at_ms(clock_s))
        return there.hour * 3600 + there.minute * 60 + there.second == clock_s

    if is_there(wanted_s):
        return None
    minute_s = wanted_s // MINUTE_S * MINUTE_S
    begin_s = next(one for one in range(minute_s, -1, -MINUTE_S) if one == 0 or is_there(one - MINUTE_S))
    end_s = next((one for one in range(minute_s, DAY_S, MINUTE_S) if is_there(one)), DAY_S - MINUTE_S)
    return clock_text(begin_s), clock_text(end_s)
