"""Machines that are not in the household yet: when each could be switched on for its usual time on a plan's day.

All of them are guests of the day at once, as "Switch on" has them; none has a circuit.
"""

from collections.abc import Iterator, Sequence
from typing import Literal, NamedTuple

from app.engine.asking import Asking
from app.engine.day import PlannedDay, lay_day
from app.engine.deciding import Deciding, Decisive
from app.engine.guest import guest_of
from app.engine.moment import Inspection
from app.engine.told import CAREFUL, FITS, NEVER, UNSURE
from app.household.appliance import Appliance
from app.household.library import Entry
from app.household.resolve import Resolved
from app.planner.growth.closeness import Closeness

SLOT_MS = 1_800_000  # beginnings are told from one half hour to the next
OPEN_S = 3600.0  # what has no length of its own is asked about for an hour

Standing = Literal["fits", "tight", "for_a_while", "chance", "over"]
LADDER: tuple[Standing, ...] = ("fits", "tight", "for_a_while", "chance", "over")
_OF_LEVEL: dict[int, Standing] = {FITS: "fits", CAREFUL: "for_a_while", UNSURE: "chance", NEVER: "over"}


class Window(NamedTuple):
    """From when to when it may be switched on."""

    from_ms: int
    to_ms: int


class Machine(NamedTuple):
    """A machine of the library on a plan's day.

    standing: its best hours'. windows: these, in order; empty where it is too much all day. just: for what fits, those
    in which it only just does. lasts_ms: how long it runs, all it sets off included. against: what decides where it
    does not fit, else at its worst hour; None where it always fits. alone: it is too much with nothing else on at all.
    w: the most it draws with what it sets off. start_va: its largest start, with what runs of it then.
    """

    entry: Entry
    standing: Standing
    windows: tuple[Window, ...]
    just: tuple[Window, ...]
    lasts_ms: int
    against: Decisive | None
    alone: bool
    w: float
    start_va: float


def machines(inspection: Inspection, entries: Sequence[Entry], library: Sequence[Entry]) -> tuple[Machine, ...]:
    """How some entries stand, what fits first, then what fits longest.

    library: all there are, for what others set off.
    """
    if not entries:
        return ()
    guests_day, places = _with(inspection.day, entries, library)
    there = Inspection(guests_day, inspection.assessment)
    guests = [guest_of(guests_day, place, _length_s(guests_day, place)) for place in places]
    asking, closeness = Asking(there, guests, 0), Closeness(guests_day, guests)
    found = [_standing(there, asking, closeness, which, one) for which, one in enumerate(entries)]
    return tuple(sorted(found, key=_order))


def _order(machine: Machine) -> tuple[int, int, str]:
    long_ms = sum(to_ms - from_ms for from_ms, to_ms in (*machine.windows, *machine.just))
    return LADDER.index(machine.standing), -long_ms, machine.entry.name


def _length_s(day: PlannedDay, place: int) -> float | None:
    return OPEN_S if any(stage.duration_s is None for stage in day.rows.appliances[place].stages) else None


def _with(day: PlannedDay, entries: Sequence[Entry], library: Sequence[Entry]) -> tuple[PlannedDay, list[int]]:
    """The same day with the entries, and what they set off, in its library; their places there."""
    resolved = day.resolved
    by_id = {one.id: one for one in library}
    wanted = dict.fromkeys([one.id for one in entries])
    for one in list(wanted):
        _bring(one, by_id, wanted)
    taken = {one.id for one in resolved.household.appliances}
    prefix = next(one for one in ("".join(["new-"] * n) for n in range(1, 99)) if not _meets(one, wanted, taken))
    new = [_named(by_id[one].appliance, prefix) for one in wanted]
    household = resolved.household.model_copy(update={"appliances": (*resolved.household.appliances, *new)})
    with_them = lay_day(Resolved(household, resolved.day, resolved.frame))
    place_of = {appliance.id: place for place, appliance in enumerate(with_them.rows.appliances)}
    return with_them, [place_of[f"{prefix}{one.id}"] for one in entries]


def _bring(entry_id: str, by_id: dict[str, Entry], wanted: dict[str, None]) -> None:
    for one in by_id[entry_id].brings:
        if one not in wanted:
            wanted[one] = None
            _bring(one, by_id, wanted)


def _meets(prefix: str, wanted: dict[str, None], taken: set[str]) -> bool:
    return any(f"{prefix}{one}" in taken for one in wanted)


def _named(appliance: Appliance, prefix: str) -> Appliance:
    """The same under a name that no other has, and so what it sets off."""
    stages = tuple(
        stage.model_copy(
            update={
                "sets_off": tuple(
                    one.model_copy(update={"appliance": f"{prefix}{one.appliance}"}) for one in stage.sets_off
                )
            }
        )
        for stage in appliance.stages
    )
    return appliance.model_copy(update={"id": f"{prefix}{appliance.id}", "stages": stages, "circuit": None})


def _standing(inspection: Inspection, asking: Asking, closeness: Closeness, which: int, entry: Entry) -> Machine:
    slots = list(_slots(inspection.assessment.day_ms))
    asked = [asking.worst_between(which, slot.from_ms, slot.to_ms) for slot in slots]
    standings: list[Standing] = [
        "tight" if level == FITS and closeness.tight(which, slot.from_ms, slot.to_ms) else _OF_LEVEL[level]
        for slot, (level, _) in zip(slots, asked, strict=True)
    ]
    best = min(standings, key=LADDER.index)

    def when(standing: Standing) -> tuple[Window, ...]:
        return tuple(_joined(slot for slot, one in zip(slots, standings, strict=True) if one == standing))

    worst_level, at_ms = max(asked, key=lambda one: one[0])
    if best not in ("fits", "tight"):
        # What decides is what does so where it stands best.
        place = standings.index(best)
        worst_level, at_ms = asked[place]
    against = None if worst_level == FITS else Deciding(asking).decisive(which, at_ms, worst_level)
    return Machine(
        entry=entry,
        standing=best,
        windows=() if best == "over" else when(best),
        just=when("tight") if best == "fits" else (),
        lasts_ms=asking.lasts_ms(which),
        against=against,
        alone=asking.alone_too_much(which, worst_level),
        w=closeness.most_w(which),
        start_va=closeness.start_va(which),
    )


def _slots(day_ms: int) -> Iterator[Window]:
    for from_ms in range(0, day_ms, SLOT_MS):
        yield Window(from_ms, min(from_ms + SLOT_MS, day_ms))


def _joined(slots: Iterator[Window]) -> Iterator[Window]:
    """Neighbours as one."""
    current: Window | None = None
    for slot in slots:
        if current is not None and current.to_ms == slot.from_ms:
            current = Window(current.from_ms, slot.to_ms)
            continue
        if current is not None:
            yield current
        current = slot
    if current is not None:
        yield current
