"""What the arrays give over a day, before anybody uses it: from the sky to watts, array by array.

It depends on the supply and the day and not on what runs, so it is kept: a tap on a run never asks for it anew.
"""

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from threading import Event, Lock
from typing import NamedTuple

import numpy as np

from app.engine.curve import Points, temperature_c
from app.engine.results import Floats
from app.engine.sky import Sky, cloud_factor, edges_ms, oktas_of, sky
from app.household.day import DayFrame
from app.household.household import Site
from app.household.measured import MeasuredDay
from app.household.resolve import Resolved
from app.household.supply import SolarArray

WIND_M_S = 1.0  # at the panels; the speed nominal cell temperature is defined at. Common practice, no source.
ALBEDO = 0.2  # of the ground before the panels; common practice, and pvlib's default
DARKER_OKTAS = 2.0  # the pessimistic case has two oktas more
KEPT = 64


@dataclass(frozen=True, slots=True, eq=False)
class Sun:
    """What the panels would give, means over the day's steps.

    edges_ms: shape (steps + 1,). dc_w: shape (arrays behind charge controllers, steps), before the controller's
    own limit. controller_a: per such array, infinite where there is none. ac_w: shape (steps,), of all arrays on
    the AC side.
    oktas: the cloud that dims a clear sky as much; None where the day was told and no sun reaches the panels all day.
    clear_wh: the yield of a clear day, where this day's is told or measured.
    unreached_wh: an expected yield that could not be scaled to, for the day has no sun to scale.
    """

    edges_ms: Floats
    dc_w: Floats
    controller_a: tuple[float, ...]
    ac_w: Floats
    oktas: float | None
    unreached_wh: float | None = None
    clear_wh: float | None = None

    @property
    def total_w(self) -> Floats:
        """All arrays together, shape (steps,)."""
        return np.asarray(self.dc_w.sum(axis=0) + self.ac_w)

    def yield_wh(self, until_ms: float) -> float:
        """What all arrays give until an instant."""
        hours = np.diff(np.minimum(self.edges_ms, until_ms)) / 3_600_000
        return float(self.total_w @ hours)

    def times(self, factor: float) -> "Sun":
        """The same day, brighter or darker."""
        return replace(self, dc_w=self.dc_w * factor, ac_w=self.ac_w * factor)

    def at_most(self, other: "Sun") -> "Sun":
        """The darker of two days in every step."""
        return replace(self, dc_w=np.minimum(self.dc_w, other.dc_w), ac_w=np.minimum(self.ac_w, other.ac_w))


class Suns(NamedTuple):
    """The sun as the plan has it, and two oktas darker."""

    expected: Sun
    darker: Sun


class _Asked(NamedTuple):
    site: Site
    frame: DayFrame
    arrays: tuple[SolarArray, ...]
    oktas: float
    ambient_c: Points
    measured: MeasuredDay | None
    expected_wh: float | None


_SUNS: OrderedDict[_Asked, Suns] = OrderedDict()
_LOCK = Lock()
_LOADED = Event()  # the first sun was worked out


def is_at_hand() -> bool:
    """Whether pvlib is loaded, so that a sun costs some hundredths of a second and not one or two whole ones.

    While somebody else is still loading it, it is not: who asked would wait for them.
    """
    return _LOADED.is_set()


def known_suns(resolved: Resolved) -> Suns | None:
    """The sun of a plan's day if it is at hand without any work; None where it has to be worked out."""
    asked = _asked(resolved)
    if not asked.arrays:
        return _no_sun(asked.frame)
    with _LOCK:
        if asked in _SUNS:
            _SUNS.move_to_end(asked)
        return _SUNS.get(asked)


def suns_of(resolved: Resolved) -> Suns:
    """The sun of a plan's day; the first of all loads pvlib."""
    found = known_suns(resolved)
    if found is None:
        asked = _asked(resolved)
        found = _suns(asked)
        _LOADED.set()
        with _LOCK:
            _SUNS[asked] = found
            while len(_SUNS) > KEPT:
                _SUNS.popitem(last=False)
    return found


def _asked(resolved: Resolved) -> _Asked:
    household, day = resolved.household, resolved.day
    return _Asked(
        household.site, resolved.frame, household.supply.arrays, day.cloud_oktas, day.ambient_c,
        day.measured_day, day.expected_yield_wh,
    )  # fmt: skip


def _no_sun(frame: DayFrame) -> Suns:
    edges = edges_ms(frame)
    steps = len(edges) - 1
    night = Sun(edges, np.zeros((0, steps)), (), np.zeros(steps), None)
    return Suns(night, night)


def _suns(asked: _Asked) -> Suns:
    """The sun, scaled if its yield is told; and the darker one."""

    def under(oktas: float, measured: MeasuredDay | None = None) -> Sun:
        given = sky(asked.site, asked.frame, oktas, measured)
        return replace(arrays_under(given, asked.arrays, asked.frame, asked.ambient_c), oktas=oktas)

    sun, day_ms = under(asked.oktas, asked.measured), asked.frame.day_ms
    if asked.measured is None and asked.expected_wh is None:
        darker_oktas = min(asked.oktas + DARKER_OKTAS, 8.0)
        # Panels that look away from the sun get more from a sky with some clouds; the pessimistic case has none of it.
        dimmed = sun.times(cloud_factor(darker_oktas) / cloud_factor(asked.oktas))
        return Suns(sun, under(darker_oktas).at_most(dimmed))
    if asked.expected_wh is not None:
        had_wh = sun.yield_wh(day_ms)
        if had_wh > 0:
            sun = sun.times(asked.expected_wh / had_wh)
        elif asked.expected_wh > 0:
            sun = replace(sun, unreached_wh=asked.expected_wh)
    # How cloudy such a day is, so that the darker one can have two oktas more.
    clear_wh = under(0.0).yield_wh(day_ms)
    sun = replace(sun, clear_wh=clear_wh)
    if clear_wh <= 0:
        dark = replace(sun, oktas=None)
        return Suns(dark, dark)
    oktas = oktas_of(sun.yield_wh(day_ms) / clear_wh)
    darker_oktas = min(oktas + DARKER_OKTAS, 8.0)
    darker = sun.times(cloud_factor(darker_oktas) / cloud_factor(oktas))
    return Suns(replace(sun, oktas=oktas), replace(darker, oktas=darker_oktas))


def arrays_under(given: Sky, arrays: Sequence[SolarArray], frame: DayFrame, ambient_c: Points) -> Sun:
    """What the arrays give under a sky.

    Onto the plane: Hay and Davies 1980. Cells: Faiman 2008. Power: linear in irradiance and temperature (PVWatts,
    Dobos 2014, NREL/TP-6A20-62641).
    """
    edges = edges_ms(frame)
    air_c = temperature_c(ambient_c, 0.0, frame).at((edges[:-1] + edges[1:]) / 2)
    watts = [_array_w(array, given, air_c) for array in arrays]
    dc = [place for place, array in enumerate(arrays) if array.coupling == "dc"]
    steps = len(edges) - 1
    return Sun(
        edges_ms=edges,
        dc_w=np.array([watts[place] for place in dc]).reshape(len(dc), steps),
        controller_a=tuple(arrays[place].controller_a or np.inf for place in dc),
        ac_w=np.sum([watts[place] for place in range(len(arrays)) if place not in dc], axis=0) + np.zeros(steps),
        oktas=None,
    )


def _array_w(array: SolarArray, given: Sky, air_c: Floats) -> Floats:
    from pvlib import pvsystem, temperature

    plane = given.plane if given.plane is not None else _on_plane(array, given)
    cell_c = temperature.faiman(plane, air_c, WIND_M_S)
    dc_w = pvsystem.pvwatts_dc(plane, cell_c, array.peak_w, array.temperature_coefficient)
    return np.asarray(np.maximum(dc_w, 0.0) * (1 - array.losses), dtype=np.float64)


def _on_plane(array: SolarArray, given: Sky) -> Floats:
    """Irradiance in the plane of an array, W/m2; behind the horizon the sun and the glow around it are left out."""
    from pvlib import irradiance

    assert given.ghi is not None and given.dni is not None and given.dhi is not None
    angles = (array.tilt_deg, array.azimuth_deg, given.zenith_deg, given.azimuth_deg)
    seen = 90 - given.zenith_deg > np.maximum(_skyline_deg(array, given.azimuth_deg), 0.0)
    beam = irradiance.beam_component(*angles, np.where(seen, given.dni, 0.0))
    diffuse = irradiance.haydavies(
        array.tilt_deg, array.azimuth_deg, given.dhi, given.dni, given.extra_dni,
        solar_zenith=given.zenith_deg, solar_azimuth=given.azimuth_deg, return_components=True,
    )  # fmt: skip
    glow = np.where(seen, diffuse["poa_circumsolar"], 0.0)
    ground = irradiance.get_ground_diffuse(array.tilt_deg, given.ghi, ALBEDO)
    plane = np.asarray(beam + diffuse["poa_isotropic"] + glow + ground, dtype=np.float64)
    return np.asarray(np.nan_to_num(plane), dtype=np.float64)


def _skyline_deg(array: SolarArray, azimuth_deg: Floats) -> Floats:
    """How high the horizon stands in a direction: linear between its points, all round."""
    if not array.horizon:
        return np.zeros_like(azimuth_deg)
    at_deg, height_deg = (np.array(axis, dtype=float) for axis in zip(*array.horizon, strict=True))
    return np.asarray(np.interp(azimuth_deg, at_deg, height_deg, period=360), dtype=np.float64)
