"""Irradiance over a day: the sun's position, a clear sky, clouds by a published formula, or a measured day.

pvlib takes half a second to load, so it is loaded when the first sky is asked for.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from app.engine.clear_sky import ClearSky, clear_sky
from app.engine.results import Floats
from app.household.day import DayFrame
from app.household.household import Site
from app.household.measured import MeasuredDay

if TYPE_CHECKING:
    from pandas import DatetimeIndex

STEP_MS = 300_000
# Kasten and Czeplak 1980, Solar Energy 24, 177-189: global irradiance under N oktas over that of a clear sky.
CLOUD_FACTOR, CLOUD_EXPONENT, OVERCAST_OKTAS = 0.75, 3.4, 8.0
# The share of diffuse light grows with the square of the clouds: the same paper, from memory. Erbs, Klein and Duffie
# 1982 give much the same under clouds, but take half the direct light from a clear sky with a low sun.
DIFFUSE_EXPONENT = 2
# A low sun makes the ratio of a measured step to a clear one mean nothing.
DARK_W_M2 = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Sky:
    """Means over the day's steps, shape (steps,) each.

    ghi, dni, dhi: global, direct normal and diffuse irradiance, W/m2; of a day measured in the panels' plane they
    are None and `plane` is there. zenith_deg: apparent, refraction included. azimuth_deg: clockwise from north.
    extra_dni: direct normal irradiance outside the air. clear_ghi: what a clear sky would give.
    """

    zenith_deg: Floats
    azimuth_deg: Floats
    extra_dni: Floats
    clear_ghi: Floats
    ghi: Floats | None
    dni: Floats | None
    dhi: Floats | None
    plane: Floats | None = None


def edges_ms(frame: DayFrame) -> Floats:
    """Edges of the steps from midnight to the horizon; the last step may be shorter."""
    edges = np.arange(0.0, frame.horizon_ms, STEP_MS)
    return np.append(edges, float(frame.horizon_ms))


def cloud_factor(oktas: float) -> float:
    """Global irradiance under so many oktas of cloud, over that of a clear sky.

    >>> round(cloud_factor(6), 4)
    0.718
    """
    covered = min(max(oktas, 0.0), OVERCAST_OKTAS) / OVERCAST_OKTAS
    return float(1 - CLOUD_FACTOR * covered**CLOUD_EXPONENT)


def oktas_of(factor: float) -> float:
    """The oktas under which a clear sky is dimmed to a factor: `cloud_factor` the other way round."""
    dimmed = min(max((1 - factor) / CLOUD_FACTOR, 0.0), 1.0)
    return float(OVERCAST_OKTAS * dimmed ** (1 / CLOUD_EXPONENT))


def sun_position_deg(site: Site, times: "DatetimeIndex") -> tuple[Floats, Floats]:
    """Apparent zenith and azimuth at instants, shape (n,) each: Reda and Andreas 2003, NREL/TP-560-34302."""
    from pvlib import atmosphere, solarposition

    position = solarposition.get_solarposition(
        times, site.latitude, site.longitude, site.altitude_m, atmosphere.alt2pres(site.altitude_m), method="nrel_numpy"
    )
    return position["apparent_zenith"].to_numpy(), position["azimuth"].to_numpy()


def sky(site: Site, frame: DayFrame, oktas: float, measured: MeasuredDay | None = None) -> Sky:
    """The sky of a day, clouded or measured.

    Clear sky: `clear_sky`, with the monthly Linke turbidity that comes with pvlib. Clouds: Kasten and Czeplak 1980.
    Sun: the NREL algorithm, Reda and Andreas 2003.
    """
    import pandas as pd
    from pvlib import clearsky, irradiance

    edges = edges_ms(frame)
    mid_ms = (edges[:-1] + edges[1:]) / 2
    times = pd.DatetimeIndex(pd.Timestamp(frame.t0_utc) + pd.to_timedelta(mid_ms, unit="ms"))
    zenith_deg, azimuth_deg = sun_position_deg(site, times)
    extra_dni = np.asarray(irradiance.get_extra_radiation(times.day_of_year.to_numpy()))
    turbidity = clearsky.lookup_linke_turbidity(times, site.latitude, site.longitude).to_numpy()
    clear = clear_sky(zenith_deg, extra_dni, turbidity, site.altitude_m)
    basis = (zenith_deg, azimuth_deg, extra_dni, clear.ghi)
    if measured is not None:
        return Sky(*basis, *_shaped(measured, frame, mid_ms, clear))
    return Sky(*basis, *_clouded(clear, oktas))


def _clouded(clear: ClearSky, oktas: float) -> tuple[Floats, Floats, Floats]:
    """Global, direct normal and diffuse under so many oktas.

    A clear sky keeps its own share of diffuse light; it grows with the square of the clouds until all is diffuse.
    """
    ghi = clear.ghi * cloud_factor(oktas)
    lit = clear.ghi > 0
    share = np.where(lit, clear.dhi / np.where(lit, clear.ghi, 1.0), 1.0)
    covered = min(max(oktas, 0.0), OVERCAST_OKTAS) / OVERCAST_OKTAS
    clouded = share + (1 - share) * covered**DIFFUSE_EXPONENT
    beam = np.where(share < 1, (1 - clouded) / np.where(share < 1, 1 - share, 1.0), 0.0)
    return ghi, clear.dni * cloud_factor(oktas) * beam, ghi * clouded


def _shaped(measured: MeasuredDay, frame: DayFrame, mid_ms: Floats, clear: ClearSky) -> tuple[Floats | None, ...]:
    """Global, direct, diffuse and plane of a measured day, as means over the day's own steps.

    Within a step of the record the sky keeps a clear one's shape.

    The mean over every whole step of the record stays what it was.
    """
    per_day = 86_400 // measured.step_s
    # Where the record's clock stood at this day's midnight; it keeps standard time, and so begins its own day then.
    utc_s = frame.t0_utc.timestamp()
    date_s = (frame.date.toordinal() - 719_163) * 86_400  # days since 1970-01-01
    clock_s = utc_s + measured.utc_offset_h * 3600 - date_s + mid_ms / 1000
    place = np.floor_divide(clock_s, measured.step_s).astype(int)

    def on_steps(values: tuple[float, ...] | None, clear_of: Floats) -> Floats | None:
        if values is None:
            return None
        # Before its first step and after its last the record's own day stands in: it is night, or much the same.
        figure = np.array(values)[np.where(place < len(values), np.maximum(place, place % per_day), place % per_day)]
        begin = np.unique(place, return_inverse=True)[1]
        own = np.bincount(begin)
        level = (np.bincount(begin, clear_of) / own)[begin]
        shape = np.where(level > DARK_W_M2, clear_of / np.where(level > DARK_W_M2, level, 1.0), 1.0)
        whole = own[begin] == own.max()
        return np.asarray(figure * np.where(whole, shape, 1.0))

    return (
        on_steps(measured.ghi_w_m2, clear.ghi),
        on_steps(measured.dni_w_m2, clear.dni),
        on_steps(measured.dhi_w_m2, clear.dhi),
        on_steps(measured.plane_w_m2, clear.ghi),
    )
