"""A wish with one thing about it eased: a load fewer, a wider window, a later end, no quiet hours."""

from collections.abc import Callable, Mapping
from dataclasses import replace

from app.household.day import DAY_S
from app.household.fields import wall_clock_s
from app.household.gaps import clock_text, run_length_s
from app.web.forms.laundry import Typed, TypedLoad
from app.web.forms.run import clock_typed


def eased(asked: Typed, kind: str, run: str | None, clock: str | None, starts: Mapping[str, str]) -> Typed:
    """A wish as the search would ease it, to be searched from the day that was found for that.

    kind, run, clock, starts: as `Easing` has them.
    """
    asked = replace(asked, begin=tuple(starts.items()))
    match kind:
        case "leave_off":
            # The last first, for of the new ones the later move up.
            for load in reversed(asked.loads):
                if load.may_move and load.key not in starts:
                    asked = without_load(asked, load.key)
            return asked
        case "done_by":
            return replace(asked, done_by=(clock or "")[:5])
        case "window":
            return with_loads(asked, lambda load: widened(load, clock or "") if load.key == run else load)
        case "quiet":
            return replace(asked, quiet_from="", quiet_to="")
        case _:
            return replace(asked, chance=True)


def without_load(asked: Typed, key: str) -> Typed:
    """With one load fewer, which nothing follows then: a run of the plan is left out; of new ones the later move up."""
    machine = next((one for one in asked.machines if any(load.key == key for load in one.loads)), None)
    if machine is None:
        return asked
    load = next(one for one in machine.loads if one.key == key)
    rest = [one for one in machine.loads if one is not load]
    new_keys = iter([one.key for one in machine.loads if one.run is None])
    # New loads are named by their number, so that the page finds them again.
    renamed = {one.key: one.key if one.run is not None else next(new_keys) for one in rest}
    smaller = replace(
        machine,
        count=str(len(rest)),
        loads=tuple(replace(one, key=renamed[one.key]) for one in rest),
        dropped=(*machine.dropped, load.run) if load.run is not None else machine.dropped,
    )

    def following(one: TypedLoad) -> TypedLoad:
        if one.after == key:
            return replace(one, after="", within="")
        return replace(one, after=renamed.get(one.after, one.after))

    machines = tuple(smaller if one is machine else one for one in asked.machines)
    begin = tuple((renamed.get(one, one), at) for one, at in asked.begin if one != key)
    return with_loads(replace(asked, machines=machines, begin=begin), following)


def widened(load: TypedLoad, start: str) -> TypedLoad:
    """With its window as much wider as a start needs. start: HH:MM."""
    length_s = run_length_s(load.appliance, load.run)
    begin_s = wall_clock_s(start)
    end_s = -(-(begin_s + length_s) // 60) * 60
    since, until = load.since, load.until
    if not since or _clock_s(since) > begin_s:
        since = start
    if not until or 0 < _clock_s(until) < end_s:
        until = clock_text(min(int(end_s), DAY_S) % DAY_S)
    return replace(load, since=since, until=until)


def _clock_s(typed_clock: str) -> int:
    """What is a time of day by now, for it has been searched with."""
    face = clock_typed(typed_clock)
    return 0 if face == "24:00" else wall_clock_s(face)


def with_loads(asked: Typed, change: Callable[[TypedLoad], TypedLoad]) -> Typed:
    """With every load changed."""
    return replace(
        asked,
        machines=tuple(replace(one, loads=tuple(change(load) for load in one.loads)) for one in asked.machines),
    )
