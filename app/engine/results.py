"""What the engine found: frozen results, codes and numbers only. Sentences are made elsewhere.

Those made by the hundred are named tuples, which are made several times faster than frozen dataclasses.
"""

from dataclasses import dataclass
from typing import Literal, NamedTuple

from app.engine.charge import BankDay
from app.engine.kinds import LADDER, Flags, Floats, Instants, Verdict, worst_of
from app.engine.likely import Odds

__all__ = [
    "LADDER",
    "AnyTime",
    "Assessment",
    "BankDay",
    "Caution",
    "ChargeReading",
    "CircuitReading",
    "Contributor",
    "Curves",
    "Demand",
    "DropReading",
    "Flags",
    "Floats",
    "HeatReading",
    "Instants",
    "LimitReading",
    "NotThen",
    "Params",
    "Piece",
    "Surge",
    "Verdict",
    "worst_of",
]


class Contributor(NamedTuple):
    """One stage's share of a limit's nominal use.

    run: the id of the run it belongs to (of the run that set it off); None for what runs by itself.
    w, va: its watts, and its projection on the total volt-amperes; both sum to the nominal use.
    starting: it is in its start, not running.
    """

    appliance: str
    run: str | None
    stage: str | None
    certain: bool
    w: float
    va: float
    starting: bool = False


@dataclass(frozen=True, slots=True)
class HeatReading:
    """The fullest heat store of a rule, and the time over which it fills that a person has to know about.

    level: the store fills above this level, in the limit's unit at 25 degC (for the first level: hours).
    lasts_s: its largest value over the day; it goes on past what is allowed. allowed_s: what the rule allows.

    since_ms, until_ms: the first time over which it comes to hold too much, from empty to its fullest; where it
    never does, the time over which it comes to its largest value. held_s: what it holds at the end of that.
    trips_at_ms: when in that time it holds more than allowed, None if it never does.
    at_ms: when in that time, up to the cut-out, the running draw presses most. use, limit, unit: the draw then,
    and what it exceeds.
    contributors: who makes it.
    """

    level: float
    lasts_s: float
    allowed_s: float
    since_ms: int
    until_ms: int
    held_s: float
    trips_at_ms: int | None
    at_ms: int
    use: float
    limit: float
    unit: Literal["W", "VA", "A"]
    contributors: tuple[Contributor, ...] = ()


@dataclass(frozen=True, slots=True)
class CircuitReading:
    """More about a circuit: its worst start, what may trip the breaker at once, what the cable carries."""

    start_a: float
    trip_a: float
    cable_a: float | None


@dataclass(frozen=True, slots=True)
class DropReading:
    """Voltage drop along the feed path, running and with the worst start, per cent."""

    running_percent: float
    starting_percent: float


@dataclass(frozen=True, slots=True)
class ChargeReading:
    """More about the reserve: when it is passed and when the house goes dark, on the whole and on a darker day.

    pessimistic: the lowest charge of the darker day, per cent. Instants are None for never within the horizon.
    """

    below_ms: int | None
    dark_ms: int | None
    pessimistic: float
    pessimistic_below_ms: int | None
    pessimistic_dark_ms: int | None


@dataclass(frozen=True, slots=True)
class LimitReading:
    """One limit, judged in the worst case at the instant of its smallest margin.

    id: as in the household file's reports, `inverter_continuous` or `circuit:shed`.
    unit: W, VA, A, V or per cent ("%").
    at_ms: first instant of the smallest margin.
    use_certain, verdict_certain: the same with certain draws alone.
    broken_at_ms: first instant at which it is known to be broken, None where it is not.
    broken_per_day: how often a day it is, as expected, where only the worst case breaks it; None where certain
    draws do, or odds say nothing. cut_share: of the restart, the part of the day in which it would be too much; None
    where the bank's voltage is too low then, of which no odds are told.
    is_vital: no odds are told, for somebody's health or safety hangs on what draws while it may be broken.
    sure: of another hour, where certain draws alone break it then, and this is of one at which more could be on.
    """

    id: str
    direction: Literal["ceiling", "floor"]
    limit: float
    unit: Literal["W", "VA", "A", "V", "%"]
    use: float
    margin: float
    at_ms: int
    verdict: Verdict
    verdict_certain: Verdict
    use_certain: float
    contributors: tuple[Contributor, ...] = ()
    heat: HeatReading | None = None
    open_circuit_v: float | None = None
    circuit: CircuitReading | None = None
    drop: DropReading | None = None
    switch_off: tuple[str, ...] | None = None
    broken_at_ms: int | None = None
    charge: ChargeReading | None = None
    broken_per_day: float | None = None
    cut_share: float | None = None
    is_vital: bool = False
    sure: "LimitReading | None" = None

    @property
    def by_chance(self) -> bool:
        """Only the worst case breaks it, however often that is."""
        return self.verdict == "chance" or self.broken_per_day is not None or self.is_vital

    @property
    def decided_by_time(self) -> HeatReading | None:
        """The heat store, where the time above a level decides rather than how high the use goes."""
        if self.heat is None or not (self.verdict == "short_time" or self.heat.lasts_s > self.heat.allowed_s):
            return None
        return self.heat


class Surge(NamedTuple):
    """One start on top of what runs.

    before_va: the worst running draw without the starters' own; total_va: with the start.
    allowed_s: how long the inverter carries such a total; None below its rating, 0 above its top level.
    scheduled: its instant is known; False for what comes on by itself (then at its worst instant).
    """

    at_ms: int
    appliance: str
    run: str | None
    start_va: float
    duration_s: float
    before_va: float
    total_va: float
    allowed_s: float | None
    verdict: Verdict
    scheduled: bool


@dataclass(frozen=True, slots=True)
class Demand:
    """The day's energy (typical, 00:00 to 24:00) and the running peaks over the horizon, nominal."""

    energy_wh: float
    peak_certain_w: float
    peak_worst_w: float
    peak_worst_va: float
    peak_at_ms: int


@dataclass(frozen=True, slots=True)
class NotThen:
    """A stretch in which an any-time load may not be on, and the limit that says so."""

    from_ms: int
    to_ms: int
    limit: str


@dataclass(frozen=True, slots=True)
class AnyTime:
    """When an any-time load may not be on."""

    appliance: str
    not_then: tuple[NotThen, ...]


Params = dict[str, float | str | tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class Caution:
    """Something to know that no limit says: a code and its parameters."""

    code: str
    params: Params


class Piece(NamedTuple):
    """One stage as it stands on the day: who draws what from when to when, clipped to the horizon.

    certain: not cycling. set_off: it runs because something else does (follow-on or pump).
    """

    appliance: str
    run: str | None
    stage: str | None
    begin_ms: int
    end_ms: int
    w: float
    va: float
    certain: bool
    set_off: bool


@dataclass(frozen=True, slots=True, eq=False)
class Curves:
    """The stacked day, exact at every instant.

    t_ms: shape (n + 1,), edges of the stretches of constant draw, from 0 to the horizon.
    certain_w, worst_w: shape (n,), nominal running watts in each stretch.
    limit_w: shape (n + 1,), the watts the inverter carries for hours, at the edges (linear between).
    start_limit_va: shape (n + 1,), its top level, which no start may pass.
    """

    t_ms: Floats
    certain_w: Floats
    worst_w: Floats
    limit_w: Floats
    start_limit_va: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Assessment:
    """Everything `assess` says about one plan.

    battery: sun and bank over the day; None while the sun has not been worked out.
    odds: how often what the worst case warns of is to be expected.
    """

    verdict: Verdict
    limits: tuple[LimitReading, ...]
    surges: tuple[Surge, ...]
    demand: Demand
    any_time: tuple[AnyTime, ...]
    trust: dict[str, float]
    cautions: tuple[Caution, ...]
    pieces: tuple[Piece, ...]
    curves: Curves
    day_ms: int
    horizon_ms: int
    odds: Odds
    battery: BankDay | None = None

    def limit(self, limit_id: str) -> LimitReading | None:
        """The reading of that id, if it applies."""
        return next((reading for reading in self.limits if reading.id == limit_id), None)
