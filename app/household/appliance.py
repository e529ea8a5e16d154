"""An appliance is a programme of stages; a stage may cycle, kick at switch-on, draw water, set others off."""

from typing import Annotated, Literal, Self

from annotated_types import Ge, Le
from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from app.household.fields import (
    CycleSeconds,
    Fraction,
    Id,
    Note,
    Number,
    Pair,
    Part,
    PositiveFraction,
    PositiveSeconds,
    Seconds,
    Text,
    VoltAmperes,
    Watts,
    such_as,
)

PowerFactorKind = Literal["lagging", "leading", "distortion"]
AfterCut = Literal["starts", "waits", "stays_off"]
Basis = Literal["typical", "nameplate", "measured"]


class Cycle(Part):
    """On and off by itself: `on_s` out of every `period_s`, at most `longest_on_s` at a stretch."""

    on_s: CycleSeconds
    period_s: Annotated[CycleSeconds, Ge(0.1)]
    longest_on_s: PositiveSeconds | None = None

    @property
    def longest_s(self) -> float:
        """The longest stretch on, in seconds."""
        return self.on_s if self.longest_on_s is None else self.longest_on_s

    @model_validator(mode="after")
    def _fits_its_period(self) -> Self:
        if self.on_s > self.period_s:
            raise PydanticCustomError(
                "on_s",
                "on_s is {on} but the whole cycle takes only period_s {period}; on_s must not be longer",
                {"on": self.on_s, "period": self.period_s},
            )
        if self.longest_s < self.on_s:
            raise PydanticCustomError(
                "longest_on_s",
                "longest_on_s is {longest}, shorter than the usual on_s {on}; it must be at least that",
                {"longest": self.longest_s, "on": self.on_s},
            )
        return self


class Start(Part):
    """The higher draw while a motor or compressor starts, in place of the running draw; always lagging."""

    va: VoltAmperes
    power_factor: PositiveFraction
    duration_s: PositiveSeconds


class SetsOff(Part):
    """Another appliance that starts with the stage, `after_s` later."""

    appliance: Id
    after_s: Seconds = 0


class Stage(Part):
    """A stretch of a programme with one running draw.

    `duration_s` None: all day (always on), as long as the run says, or as long as the stage that sets it off.
    """

    name: Text | None = None
    duration_s: PositiveSeconds | None = None
    watts: Watts
    power_factor: PositiveFraction = 1
    power_factor_kind: PowerFactorKind = "lagging"
    cycle: Cycle | None = None
    start: Start | None = None
    water_l: Annotated[Number, Ge(0), Le(100_000)] = 0
    sets_off: Annotated[tuple[SetsOff, ...], Pair, Field(max_length=50)] = ()

    @model_validator(mode="after")
    def _start_is_the_higher_draw(self) -> Self:
        running_va = self.watts / self.power_factor
        if self.start is not None and self.start.va < running_va * (1 - 1e-9):
            raise PydanticCustomError(
                "start.va",
                "start.va is {start} VA, below the running draw of {running} VA; a start draws at least that",
                {"start": self.start.va, "running": round(running_va, 1)},
            )
        return self

    @model_validator(mode="after")
    def _start_ends_before_the_next(self) -> Self:
        if self.start is not None and self.cycle is not None and self.start.duration_s > self.cycle.period_s:
            raise PydanticCustomError(
                "start.duration_s",
                "start.duration_s is {start} but the whole cycle takes only cycle.period_s {period}; make the start"
                " shorter or the cycle longer",
                {"start": self.start.duration_s, "period": self.cycle.period_s},
            )
        return self


class Source(Part):
    """Where the figures come from."""

    kind: Literal["published", "common practice", "nameplate", "measured", "own"]
    text: Note | None = None
    date: Text | None = None


class Appliance(Part):
    """A library entry."""

    id: Id
    name: Annotated[Text, such_as("Coffee grinder")]
    circuit: Id | None = None
    always_on: bool = False
    after_cut: AfterCut | None = None
    basis: Basis = "typical"
    uncertainty: Fraction = 0
    source: Source | None = None
    stages: Annotated[tuple[Stage, ...], Pair, Field(min_length=1, max_length=200)]

    @property
    def restarts(self) -> AfterCut:
        """What it does after a power cut; unless told, whatever has one stage or is always on starts."""
        if self.after_cut is not None:
            return self.after_cut
        return "starts" if self.always_on or len(self.stages) == 1 else "waits"

    @model_validator(mode="after")
    def _open_ended_only_alone(self) -> Self:
        open_ended = [stage for stage in self.stages if stage.duration_s is None]
        if self.always_on and (len(self.stages) != 1 or not open_ended):
            raise PydanticCustomError(
                "always_on",
                "what is always on has exactly one stage, and that stage has no duration_s",
            )
        if open_ended and len(self.stages) > 1:
            raise PydanticCustomError(
                "duration_s",
                "duration_s is missing in a programme of several stages; give every stage its seconds",
            )
        return self
