"""Irradiance under a sky without clouds: the clear sky of the European Solar Radiation Atlas (ESRA).

Rigollier, Bauer and Wald 2000, Solar Energy 68, 33-48, with the Rayleigh thickness and the corrections for the height
of the ground of Geiger, Diabate, Menard and Wald 2002, Solar Energy 73, 475-480 (by J. Page; also in Remund, Wald,
Lefevre, Ranchin and Page 2003, ISES Solar World Congress). The monthly turbidity that comes with pvlib was made for
this model.
"""

from typing import NamedTuple

import numpy as np

from app.engine.results import Floats

SCALE_HEIGHT_M = 8434.5  # of the pressure of the air; Rigollier, Bauer and Wald 2000
TURBIDITY_SCALE = 0.8662  # from the turbidity at an air mass of 2 to the newer Rayleigh thickness: the same paper
LONG_PATH = 20.0  # air mass from which the Rayleigh thickness follows its second formula: a sun below 2 degrees
LEAST_DIFFUSE = 0.002  # share of the sun's irradiance that is diffuse when it stands at the horizon
# Powers of the relative air mass, lowest first: one over the Rayleigh thickness, and what thinner air divides by it.
RAYLEIGH = (6.625928, 1.92969, -0.170073, 0.011517, -0.000285)
PRESSURES = (0.5, 0.75, 1.0)  # of the air, over that at the sea
THINNER = ((1.682190, -0.030590, 0.00089), (1.248174, -0.011997, 0.00037), (1.0, 0.0, 0.0))
# Powers of the turbidity, lowest first: the diffuse light of a sun overhead, and the three parts of how it falls off.
OVERHEAD = (-0.015843, 0.030543, 0.0003797)
FALLS_OFF = ((0.26463, -0.061581, 0.0031408), (2.0402, 0.018945, -0.011161), (-1.3025, 0.039231, 0.0085079))


class ClearSky(NamedTuple):
    """Global, direct normal and diffuse irradiance, W/m2, shape (n,) each; none while the sun is down."""

    ghi: Floats
    dni: Floats
    dhi: Floats


def clear_sky(zenith_deg: Floats, extra_dni: Floats, turbidity: Floats, altitude_m: float) -> ClearSky:
    """The clear sky over a place.

    zenith_deg: apparent. extra_dni: outside the air, W/m2. turbidity: Linke's, for an air mass of 2. Shape (n,) each.
    """
    up = zenith_deg < 90
    height_deg = np.where(up, 90 - zenith_deg, 0.0)
    sine = np.sin(np.radians(height_deg))
    pressure_share = min(float(np.exp(-altitude_m / SCALE_HEIGHT_M)), 1.0)
    air_mass = 1 / (sine + 0.50572 * (height_deg + 6.07995) ** -1.6364)  # Kasten and Young 1989
    beam = np.exp(-TURBIDITY_SCALE * turbidity * air_mass * _rayleigh(air_mass, pressure_share))
    dni = np.where(up, extra_dni * beam, 0.0)
    dhi = np.where(up, extra_dni * _diffuse(sine, turbidity * pressure_share), 0.0)
    return ClearSky(dni * sine + dhi, dni, dhi)


def _rayleigh(air_mass: Floats, pressure_share: float) -> Floats:
    """Optical thickness of clean dry air by relative air mass and by the pressure of the air over that at the sea."""
    at = np.minimum(air_mass, LONG_PATH)
    parts = [float(np.interp(pressure_share, PRESSURES, one)) for one in zip(*THINNER, strict=True)]
    short = 1 / (_powers(RAYLEIGH, at) * _powers(parts, at))
    long = pressure_share / (10.4 + 0.718 * air_mass * pressure_share)
    return np.where(air_mass > LONG_PATH, long, short)


def _diffuse(sine: Floats, turbidity: Floats) -> Floats:
    """Diffuse over extraterrestrial irradiance, by the sine of the sun's height."""
    overhead = _powers(OVERHEAD, turbidity)
    at_horizon, *others = (_powers(one, turbidity) for one in FALLS_OFF)
    at_horizon = np.maximum(at_horizon, LEAST_DIFFUSE / overhead)
    return np.maximum(overhead * _powers((at_horizon, *others), sine), 0.0)


def _powers(factors: "tuple[Floats | float, ...] | list[float]", of: Floats) -> Floats:
    """A sum of powers, lowest first."""
    return np.asarray(sum(factor * of**power for power, factor in enumerate(factors)))
