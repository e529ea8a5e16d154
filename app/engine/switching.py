"""What may be switched on this minute: the question asked before a plug goes in.

`switching` answers for an instant of a plan: what is on, what is left, and for every appliance that is off whether
it may be switched on now, until when, and who makes the difference. The results are described in `app.engine.answers`.

It agrees with the assessment of the whole plan with the run in it, or is stricter; never laxer. How often something
could cut out is not asked here: what only the odds make too much, by coming every day, is asked about. Five
differences are meant: what the plan breaks by itself at other hours, earlier or later, refuses nothing; what is said
about later only, the reserve, what comes back after a power cut, and what the generator would be started into once the
run is over, asks at most; an appliance whose own planned run would begin while this one lasts is answered for as well:
that run is taken to be this one, moved; what the plan overloads the generator with anyway is not the run's doing if it
comes at most half an hour sooner or later and lasts five minutes longer at most between all of it, nor is what is too
much for it whenever it runs; and what is too much alone had better not go on at all, though it comes and goes and
might be lucky.
"""

from collections.abc import Container, Iterator

from app.engine.answers import Answer, MaySwitch, OnNow, Room, Switching
from app.engine.asking import GO_HOLDS_MS, Asking, Change
from app.engine.deciding import Deciding, Decisive
from app.engine.guest import guest_of
from app.engine.left import room_at, standing
from app.engine.moment import Inspection
from app.engine.tight import Tight
from app.engine.told import FITS, NEVER
from app.household.appliance import Appliance

__all__ = ["Answer", "MaySwitch", "OnNow", "Room", "Switching", "switching"]

ANSWER: tuple[Answer, ...] = ("go", "ask", "ask", "not_now")  # by level: FITS, CAREFUL, UNSURE, NEVER
LATER_ON = ("reserve", "generator")  # what a run comes to when it is over
HOUR_S = 3600.0  # a run of what has no length of its own


def switching(inspection: Inspection, at_ms: int, but: Container[str] = ()) -> Switching:
    """What may be switched on at an instant of a plan; one outside the day is the nearest inside.

    A run would begin within the second. "The day" is the local day; after its midnight nothing is promised.
    but: ids of what is not asked about, though it is off.
    """
    at_ms = min(max(at_ms, 0), inspection.day.resolved.frame.horizon_ms - 1)
    return Switching(
        at_ms=at_ms,
        room=room_at(inspection, at_ms),
        on=tuple(standing(inspection, at_ms)),
        may=tuple(_may_switch(inspection, at_ms, but)),
    )


def _may_switch(inspection: Inspection, at_ms: int, but: Container[str]) -> Iterator[MaySwitch]:
    day = inspection.day
    places = [place for place in _off_now(inspection, at_ms) if day.rows.appliances[place].id not in but]
    if not places:
        return
    guests = [guest_of(day, place, length_s(day.rows.appliances[place])) for place in places]
    asking = Asking(inspection, guests, at_ms // 1000 * 1000)
    deciding, tight = Deciding(asking), Tight(asking.beside, asking.at_ms)
    for which, place in enumerate(places):
        yield _answer(asking, deciding, tight, which, day.rows.appliances[place].id)


def length_s(appliance: Appliance) -> float | None:
    """How long a run is taken to last, where its one stage does not say."""
    return HOUR_S if any(stage.duration_s is None for stage in appliance.stages) else None


def _off_now(inspection: Inspection, at_ms: int) -> Iterator[int]:
    """Places of the appliances that a hand could switch on."""
    day = inspection.day
    pieces, supply = day.laid.pieces, day.resolved.household.supply
    stands = {int(one) for one in pieces.appliance[(pieces.begin_ms <= at_ms) & (pieces.end_ms > at_ms)]}
    called = {call.appliance for one in day.rows.appliances for stage in one.stages for call in stage.sets_off}
    for place, appliance in enumerate(day.rows.appliances):
        if appliance.always_on or place in stands or appliance.id in day.resolved.day.off:
            continue
        if supply.water is not None and appliance.id == supply.water.pump:
            continue
        if appliance.id in called and length_s(appliance) is not None:  # it lasts as long as what sets it off
            continue
        yield place


def _answer(asking: Asking, deciding: Deciding, tight: Tight, which: int, appliance: str) -> MaySwitch:
    begin_ms = asking.at_ms
    level, change = _asked(asking, which, begin_ms)
    while change is not None and change.level > level and change.at_ms < asking.at_ms + GO_HOLDS_MS:
        begin_ms = change.at_ms + 1.0
        level, change = _asked(asking, which, begin_ms)
    decisive, alone = deciding.decisive(which, begin_ms, level), asking.alone_too_much(which, level)
    if change is None:
        unknown = level > FITS and not alone and asking.is_unknown_later(which, level, begin_ms)
    elif not change.begins:
        unknown = asking.is_unknown_later(which, level, begin_ms, change.at_ms)
    else:
        unknown = asking.is_unknown_from(which, change.at_ms + 1.0)
        change = None if unknown and level > FITS else change
    until_ms, then = (None, None) if change is None else (change.at_ms, ANSWER[change.level])
    because = deciding.because(which, decisive, change)
    own = Decisive("tight" if tight.is_tight(which) else "fits") if decisive is None else decisive
    instead_ms, over_ms = asking.beside.own_runs.instead_ms(which, begin_ms), begin_ms + asking.lasts_ms(which)
    is_missed = bool(instead_ms) and own.at_ms is not None and own.at_ms >= over_ms and own.limit not in LATER_ON
    return MaySwitch(
        appliance=appliance, answer="not_now" if alone else ANSWER[level], verdict=own.verdict, limit=own.limit,
        at_ms=own.at_ms, use=own.use, most=own.most, unit=own.unit, until_ms=until_ms, then=then,
        because=because[0], because_stage=because[1], alone_too_much=alone,
        lasts_ms=asking.lasts_ms(which), caution=own.caution, above_s=own.above_s, allowed_s=own.allowed_s,
        later_unknown=unknown, instead_ms=instead_ms, is_missed=is_missed,
    )  # fmt: skip


def _asked(asking: Asking, which: int, begin_ms: float) -> tuple[int, Change | None]:
    """What beginning then means, and when that changes: what fits for the worse, what is refused for the better."""
    level = asking.level(which, begin_ms)
    if level == FITS:
        return level, asking.next_worse(which)
    if asking.alone_too_much(which, level):
        return level, None  # whatever comes and goes: by itself it is never better
    better = asking.first_better(which, level, begin_ms)
    if level == NEVER:
        return level, better
    return level, asking.next_refused(which, begin_ms, asking.day_ms if better is None else better.at_ms) or better
