"""The supply: inverter, battery bank, solar arrays, circuits, water, generator and the household's rules."""

from typing import Annotated, Literal, Self

from annotated_types import Ge, Le
from pydantic import BeforeValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from app.household.fields import (
    Celsius,
    Degrees,
    Fraction,
    Id,
    Kelvin,
    NotNegative,
    Number,
    OpenFraction,
    Pair,
    Part,
    Positive,
    PositiveFraction,
    PositiveSeconds,
    PositiveWatts,
    Rising,
    Seconds,
    Text,
    VoltAmperes,
    Volts,
    WallClock,
    Watts,
    Whole,
    wall_clock_s,
)

Curve = Literal["B", "C", "D"]
Leg = Literal["A", "B", "AB"]


def _two_or_three(value: object) -> object:
    if isinstance(value, list | tuple) and len(value) not in (2, 3):
        raise PydanticCustomError("point", "give VA, the seconds it may last and, if need be, the seconds to cool")
    return value


OverloadPoint = Annotated[tuple[VoltAmperes, ...], BeforeValidator(_two_or_three)]
WattsByTemperature = Annotated[
    tuple[Annotated[tuple[Celsius, PositiveWatts], Pair], ...], Pair, Field(min_length=1), Rising
]
FactorByTemperature = Annotated[
    tuple[Annotated[tuple[Celsius, Fraction], Pair], ...], Pair, Field(min_length=1), Rising
]

# What design and trade give a lithium iron phosphate bank; lead acid has no such factor unless told.
LFP_CHARGE_FACTOR: tuple[tuple[float, float], ...] = ((0, 0.0), (5, 0.2), (15, 1.0))
LFP_DISCHARGE_FACTOR: tuple[tuple[float, float], ...] = ((-10, 0.5), (10, 1.0))
# Peukert's exponent of a flooded lead-acid bank: the lower end of 1.2 to 1.6, as an encyclopaedia gives it.
LEAD_ACID_PEUKERT = 1.2


def _no_flag(value: object) -> object:
    """True is no number of legs, though Python counts it as 1."""
    return str(value).lower() if isinstance(value, bool) else value


class Inverter(Part):
    """The inverter's ratings, its overload times and its losses."""

    rated_va: VoltAmperes
    continuous_w: WattsByTemperature
    overload: Annotated[tuple[Annotated[OverloadPoint, Pair], ...], Pair, Field(min_length=1, max_length=12), Rising]
    room_offset_k: Kelvin = 0
    no_load_w: Watts = 0
    peak_efficiency: PositiveFraction
    peak_efficiency_at: OpenFraction
    full_load_efficiency: PositiveFraction
    cut_off_v: Volts
    cut_off_delay_s: Seconds = 0
    restart_v: Volts | None = None
    ac_voltage: Volts
    legs: Annotated[Literal[1, 2], BeforeValidator(_no_flag)] = 1

    @model_validator(mode="after")
    def _consistent(self) -> Self:
        first_va = self.overload[0][0]
        if first_va <= self.rated_va:
            raise PydanticCustomError(
                "overload",
                "overload begins at {first} VA; its first point must lie above rated_va {rated}",
                {"first": first_va, "rated": self.rated_va},
            )
        if self.restart_v is not None and self.restart_v < self.cut_off_v:
            raise PydanticCustomError(
                "restart_v",
                "restart_v is {restart} V, below cut_off_v {cut_off} V; it must be at least that",
                {"restart": self.restart_v, "cut_off": self.cut_off_v},
            )
        return self


class Battery(Part):
    """The battery bank: modules side by side, their currents, resistance, temperature factors, reserve."""

    chemistry: Literal["lfp", "lead_acid"]
    modules: Whole
    module_ah: Positive
    module_v: Annotated[Number, Ge(1), Le(1500)]
    health: PositiveFraction = 1
    continuous_discharge_a: Positive
    peak_discharge_a: Positive
    peak_s: PositiveSeconds
    continuous_charge_a: NotNegative
    sharing: Annotated[Number, Ge(1), Le(10)] = 1.1
    module_resistance_ohm: Annotated[Number, Ge(0), Le(100)]
    dc_path_ohm: Annotated[Number, Ge(0), Le(100)] = 0
    charge_efficiency: PositiveFraction = 0.97
    peukert: Annotated[Number, Ge(1), Le(2)] | None = None
    rated_hours: Annotated[Number, Ge(0.1), Le(1000)] = 20
    room_offset_k: Kelvin = 0
    charge_factor_by_temp: FactorByTemperature | None = None
    discharge_factor_by_temp: FactorByTemperature | None = None
    dc_load_w: Watts = 0
    reserve: Annotated[Number, Ge(0), Le(1)] = 0.2
    dc_fuse_a: Positive | None = None

    @property
    def discharge_factor(self) -> tuple[tuple[float, float], ...]:
        """Points (degC, fraction of the discharge current that may be drawn); empty means always all."""
        if self.discharge_factor_by_temp is not None:
            return self.discharge_factor_by_temp
        return LFP_DISCHARGE_FACTOR if self.chemistry == "lfp" else ()

    @property
    def charge_factor(self) -> tuple[tuple[float, float], ...]:
        """Points (degC, fraction of the charge current that is let in); empty means always all."""
        if self.charge_factor_by_temp is not None:
            return self.charge_factor_by_temp
        return LFP_CHARGE_FACTOR if self.chemistry == "lfp" else ()

    @property
    def peukert_exponent(self) -> float:
        """How much less a bank gives the faster it is emptied; 1 means it gives its rating at any current."""
        if self.peukert is not None:
            return self.peukert
        return 1 if self.chemistry == "lfp" else LEAD_ACID_PEUKERT

    @model_validator(mode="after")
    def _peak_is_the_larger(self) -> Self:
        if self.peak_discharge_a < self.continuous_discharge_a:
            raise PydanticCustomError(
                "peak_discharge_a",
                "peak_discharge_a is {peak} A, below continuous_discharge_a {steady} A; it must be at least that",
                {"peak": self.peak_discharge_a, "steady": self.continuous_discharge_a},
            )
        return self


class SolarArray(Part):
    """A plane of panels, behind one charge controller or, coupled on the AC side, an inverter of its own."""

    name: Text | None = None
    peak_w: PositiveWatts
    tilt_deg: Annotated[Number, Ge(0), Le(90)]
    azimuth_deg: Degrees
    temperature_coefficient: Annotated[Number, Ge(-0.02), Le(0.02)] = -0.0035
    losses: Annotated[Number, Ge(0), Le(1)] = 0
    controller_a: Positive | None = None
    horizon: Annotated[tuple[Annotated[tuple[Degrees, Annotated[Number, Ge(0), Le(90)]], Pair], ...], Pair, Rising] = ()
    coupling: Literal["dc", "ac"] = "dc"

    @model_validator(mode="after")
    def _controller_on_the_dc_side(self) -> Self:
        if self.coupling == "ac" and self.controller_a is not None:
            raise PydanticCustomError(
                "controller_a", "an array on the AC side has no charge controller; leave controller_a out"
            )
        return self


class Circuit(Part):
    """A circuit, fed from the board or from another circuit."""

    id: Id
    name: Text | None = None
    fed_from: Id | None = None
    breaker_a: Positive | None = None
    curve: Curve = "C"
    cable_m: Annotated[Number, Ge(0.01), Le(10_000)] | None = None
    conductor_mm2: Annotated[Number, Ge(0.01), Le(1000)] | None = None
    cable_a: Positive | None = None
    leg: Leg = "AB"


class Water(Part):
    """A pump that fills a pressure vessel, and the taps that draw from it."""

    pump: Id
    vessel_l: Positive
    pump_l_per_min: Positive
    taps_l_per_day: NotNegative = 0
    taps_between: Annotated[tuple[WallClock, WallClock], Pair] | None = None

    @model_validator(mode="after")
    def _taps_within_a_day(self) -> Self:
        if self.taps_between is None:
            if self.taps_l_per_day > 0:
                raise PydanticCustomError(
                    "taps_between", "taps_between is missing: give the first and the last hour of the taps"
                )
            return self
        begin_s, end_s = map(wall_clock_s, self.taps_between)
        if end_s <= begin_s:
            raise PydanticCustomError("taps_between", "taps_between must begin before it ends, within one day")
        on_s = self.vessel_l / self.pump_l_per_min * 60
        if self.taps_l_per_day > 0 and on_s > (end_s - begin_s) * self.vessel_l / self.taps_l_per_day:
            raise PydanticCustomError(
                "taps_l_per_day",
                "the taps draw more than the pump can lift in that time; lower taps_l_per_day",
            )
        return self


class Generator(Part):
    """A generator with its charger, started and stopped by the state of charge."""

    rated_w: PositiveWatts
    charger_w: Watts = 0
    start_below: Fraction
    stop_above: Fraction

    @model_validator(mode="after")
    def _starts_before_it_stops(self) -> Self:
        if self.start_below >= self.stop_above:
            raise PydanticCustomError("start_below", "start_below must be smaller than stop_above")
        return self


class TripMultiple(Part):
    """At how many times its rating a breaker of each curve may trip at once (IEC 60898-1, lower bound)."""

    B: Positive = 3
    C: Positive = 5
    D: Positive = 10


class Rules(Part):
    """What the household tolerates: voltage drop running and starting, and when breakers trip at once."""

    drop_running: PositiveFraction = 0.05
    drop_starting: PositiveFraction = 0.10
    trip_multiple: TripMultiple = TripMultiple()


class Supply(Part):
    """Everything the power comes from and goes through."""

    inverter: Inverter
    battery: Battery
    arrays: Annotated[tuple[SolarArray, ...], Pair, Field(max_length=50)] = ()
    circuits: Annotated[tuple[Circuit, ...], Pair, Field(max_length=200)] = ()
    water: Water | None = None
    generator: Generator | None = None
    rules: Rules = Rules()
