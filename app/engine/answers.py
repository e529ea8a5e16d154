"""What is said about switching on: frozen results of `app.engine.switching`."""

from dataclasses import dataclass
from typing import Literal, NamedTuple

from app.engine.results import Verdict

Answer = Literal["go", "ask", "not_now"]


class MaySwitch(NamedTuple):
    """Whether an appliance may be switched on at an instant.

    answer: `go`: nothing it takes part in is broken or passed while it runs; `ask`: fine only for a while, or it
    could cut out if everything happens to be on or to follow one another, or the charge would go below the reserve,
    or the generator run while too much is on when it is off again, or an interlock speaks against it; `not_now`:
    certain draws break a limit, or a limit that odds cannot talk down (battery voltage, fuse, circuits, voltage drop,
    generator) is broken in the worst case, or it is too much alone.
    verdict: the worst of the limits it presses on from then on while it runs; `tight` is still `go`.
    limit: the one that decides, as in `LimitReading.id`; None where all fit, or where only `caution` speaks.
    at_ms: when it presses most. use, most, unit: the figures then, with it. For a floor (`battery_voltage`, `reserve`)
    `most` is the least allowed. All None where `limit` is, and where it decides by time (use and most are told then).
    until_ms: for `go` the last instant up to which it may still be started, None for all the rest of the day; for
    the others the first instant from which the answer is better, None for not any more on this day; for `ask` that
    from which it is `not_now`, where that comes sooner.
    then: the answer after until_ms (`go`) or from it on (the others); None where until_ms is.
    because, because_stage: the appliance, and its stage, that makes the difference: for `go` who comes on and ends it;
    for the others who goes off at until_ms, else the largest other that draws at at_ms. None where nobody else does.
    alone_too_much: it breaks a limit with nothing else on at all.
    lasts_ms: how long its run lasts, with all it sets off. One hour where its stage has no length of its own.
    above_s, allowed_s: where it is fine for a while only: for how long it would be above the limit, and for how long
    the supply may; of several levels, of the one that comes nearest to its time.
    caution: the code of a caution it would bring (`interlocked_at_once`), else None.
    instead_ms: when those of its own planned runs would begin that this one is taken to be, moved. is_missed: at at_ms
    it is not on, and what it made up for there as planned is too much without it.
    later_unknown: what would become of the charge, or the generator do, later is not known: `go` may hold for longer
    than until_ms, the others may be better before until_ms, or, without it, later today.
    """

    appliance: str
    answer: Answer
    verdict: Verdict
    limit: str | None
    at_ms: int | None
    use: float | None
    most: float | None
    unit: Literal["W", "VA", "A", "V", "%"] | None
    until_ms: int | None
    then: Answer | None
    because: str | None
    because_stage: str | None
    alone_too_much: bool
    lasts_ms: int
    caution: str | None = None
    above_s: float | None = None
    allowed_s: float | None = None
    later_unknown: bool = False
    instead_ms: tuple[int, ...] = ()
    is_missed: bool = False


class OnNow(NamedTuple):
    """Something that stands at an instant: on, or coming and going.

    run: the id of the run it belongs to (of the run that set it off), None for what runs by itself. stage: its name,
    None where the appliance has one stage without a name. until_ms: when that stage ends. done_ms: when all of it is
    over. certain: it does not cycle. by_itself: something else set it off: a follow-on, or the pump. w, va: nominal
    running draw of what stands of it.
    """

    appliance: str
    run: str | None
    stage: str | None
    until_ms: int
    done_ms: int
    certain: bool
    by_itself: bool
    always_on: bool
    w: float
    va: float


class Room(NamedTuple):
    """What is left at an instant, in the worst case, uncertainty in it. Negative where there is too much.

    room_w: of the inverter, or of the generator while it runs, for hours, at its least until `until_ms`.
    room_va: for a start, beside the worst start that may come then. room_a: of the bank in amperes, at its reserve.
    until_ms: the next instant at which the draw changes by more than 50 W, or the temperature has changed room_w by
    250 W; then_w: what it is then. None for no more today. because, because_stage: what begins or ends then; None
    where it is the temperature, or (by_generator) the generator that starts or stops. begins: it begins then, and the
    room shrinks. goes_on: it ends, and another stage of the appliance begins.
    to_reserve_h: hours until the reserve with what the plan typically draws from now on and no sun at all; 0 where
    the charge is below it, None for more than a day or while the charge is not known.
    bank_w: what the bank has left for hours, at its reserve; None while the generator runs.
    legs_w: what each leg of a house with two has left for hours, for what draws no more volt-amperes than watts.
    """

    room_w: float
    room_va: float
    room_a: float
    until_ms: int | None
    then_w: float | None
    because: str | None
    because_stage: str | None
    begins: bool
    goes_on: bool
    by_generator: bool
    to_reserve_h: float | None
    legs_w: tuple[tuple[str, float], ...] = ()
    bank_w: float | None = None

    @property
    def least_w(self) -> float:
        """What of both inverter and bank is left for hours."""
        return self.room_w if self.bank_w is None else min(self.room_w, self.bank_w)


@dataclass(frozen=True, slots=True)
class Switching:
    """The answers for an instant of a plan.

    on: what stands then, the largest draw first; always-on loads too. may: every appliance that is not on then, not
    always on, not off for the day, and not only set off by others; in the library's order.
    """

    at_ms: int
    room: Room
    on: tuple[OnNow, ...]
    may: tuple[MaySwitch, ...]
