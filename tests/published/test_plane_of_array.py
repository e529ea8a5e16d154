"""Onto the plane of an array, one part at a time.

Angles of incidence (tilt, azimuth of the plane, zenith, azimuth of the sun): (30, 180, 30, 180) 0 degrees,
(90, 0, 30, 60) 75.52249, (90, 0, 30, 170) 119.49870; an even sky of 100 W/m2 on a plane of 40 degrees: 88.3022
W/m2. Figures of an open library's tests; the second recomputed. Incidence at 43 N, 13 February, 10:30 solar time,
plane of 45 degrees 15 degrees west of south: 35.18 degrees, recomputed from Duffie and Beckman's formula; their book
gives about 35.0 for its example 1.6.1 (from memory).
"""

import math

import numpy as np
import pytest

from app.engine.sky import Sky
from app.engine.sun import _on_plane
from app.household.supply import SolarArray


def plane_w_m2(array: SolarArray, zenith_deg: float, azimuth_deg: float, **parts: float) -> float:
    """What falls on an array under a sky of direct normal (dni), diffuse (dhi) and global (ghi) irradiance."""
    ghi, dni, dhi = (np.array([parts.get(one, 0.0)]) for one in ("ghi", "dni", "dhi"))
    sun = (np.array([zenith_deg]), np.array([azimuth_deg]))
    return float(_on_plane(array, Sky(*sun, np.array([1361.0]), ghi, ghi, dni, dhi))[0])


def array(tilt_deg: float, azimuth_deg: float) -> SolarArray:
    """Panels that look that way."""
    return SolarArray(peak_w=1000, tilt_deg=tilt_deg, azimuth_deg=azimuth_deg)


@pytest.mark.parametrize(
    ("tilt_deg", "facing_deg", "zenith_deg", "sun_deg", "incidence_deg"),
    [(30, 180, 30, 180, 0), (90, 0, 30, 60, 75.52249), (90, 0, 30, 170, 119.49870)],
)
def test_the_beam_falls_at_its_angle(
    tilt_deg: float, facing_deg: float, zenith_deg: float, sun_deg: float, incidence_deg: float
) -> None:
    """1000 W/m2 of it, and none from behind."""
    found = plane_w_m2(array(tilt_deg, facing_deg), zenith_deg, sun_deg, dni=1000)

    assert found == pytest.approx(1000 * max(math.cos(math.radians(incidence_deg)), 0), abs=0.002)


def test_the_book_s_winter_morning() -> None:
    """43 N, declination -14, hour angle -22.5 degrees, plane 45 degrees tilted, 15 degrees west of south."""
    latitude, declination, hour = (math.radians(one) for one in (43, -14, -22.5))
    cos_z = math.sin(latitude) * math.sin(declination) + math.cos(latitude) * math.cos(declination) * math.cos(hour)
    zenith = math.acos(cos_z)
    from_south = -math.acos(
        (cos_z * math.sin(latitude) - math.sin(declination)) / (math.sin(zenith) * math.cos(latitude))
    )
    found = plane_w_m2(array(45, 195), math.degrees(zenith), 180 + math.degrees(from_south), dni=1000)

    assert math.degrees(math.acos(found / 1000)) == pytest.approx(35.18, abs=0.02)


def test_an_even_sky() -> None:
    """Without any sun in it: half of it and a bit more."""
    assert plane_w_m2(array(40, 180), 30, 180, dhi=100) == pytest.approx(88.3022, abs=0.001)


def test_the_ground() -> None:
    """A fifth of what falls on it, and of that what an upright plane sees: a half."""
    assert plane_w_m2(array(90, 180), 30, 180, ghi=500) == pytest.approx(500 * 0.2 / 2)
    assert plane_w_m2(array(0, 180), 30, 180, ghi=500) == pytest.approx(0)
