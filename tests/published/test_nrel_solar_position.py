"""Position of the sun: worked example of Reda and Andreas, NREL/TP-560-34302 (revised 2008), table A5.1.

17 October 2003, 12:30:30 at UTC-7, 39.742476 N, 105.1786 W, 1830.14 m, 820 mbar, 11 degC: zenith 50.11162,
azimuth 194.34024 degrees. Read in the report's text and recomputed. Ours takes the pressure from the altitude and
12 degC, which moves refraction by a ten-thousandth of a degree or two.

Length of a day at 43 N on 15 April, 13.19 h: formula of Duffie and Beckman, chapter 1, the source from memory, the
figure recomputed. It knows no refraction, which adds about five minutes.
"""

import datetime
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest

from app.engine.sky import sky, sun_position_deg
from app.household.day import DayFrame
from app.household.household import Site

GOLDEN = Site(latitude=39.742476, longitude=-105.1786, altitude_m=1830.14, timezone="America/Denver")
AT = pd.DatetimeIndex(["2003-10-17 12:30:30-07:00"])
ZENITH_DEG, AZIMUTH_DEG, WITHOUT_REFRACTION_DEG = 50.11162, 194.34024, 90 - 39.872046


def test_the_worked_example() -> None:
    """Zenith and azimuth to a thousandth of a degree."""
    zenith_deg, azimuth_deg = sun_position_deg(GOLDEN, AT)

    assert zenith_deg[0] == pytest.approx(ZENITH_DEG, abs=0.001)
    assert azimuth_deg[0] == pytest.approx(AZIMUTH_DEG, abs=0.001)


def test_refraction_is_in_it() -> None:
    """Without it the same example stands 0.016 degrees lower."""
    zenith_deg, _ = sun_position_deg(GOLDEN, AT)

    assert WITHOUT_REFRACTION_DEG - zenith_deg[0] == pytest.approx(0.0163, abs=0.001)


def test_the_instant_is_meant_in_utc() -> None:
    """The same instant in another zone's clock is the same sun."""
    there = sun_position_deg(GOLDEN, AT)
    assert np.array_equal(there, sun_position_deg(GOLDEN, AT.tz_convert("UTC")))


def test_a_day_s_steps_stand_around_the_example() -> None:
    """In the sky of that day the step from 12:30 to 12:35 is at its middle, a minute or two after the instant."""
    frame = DayFrame(datetime.date(2003, 10, 17), ZoneInfo("America/Phoenix"))  # UTC-7 all year
    step = (12 * 60 + 30) // 5
    zenith_deg, azimuth_deg = sun_position_deg(GOLDEN, pd.DatetimeIndex(["2003-10-17 12:32:30-07:00"]))

    found = sky(GOLDEN, frame, 0)

    assert (found.zenith_deg[step], found.azimuth_deg[step]) == (zenith_deg[0], azimuth_deg[0])
    assert abs(found.azimuth_deg[step] - AZIMUTH_DEG) < 1


def test_the_length_of_a_day() -> None:
    """13.19 h by geometry, and the five minutes or so that refraction adds."""
    frame = DayFrame(datetime.date(2026, 4, 15), ZoneInfo("UTC"))
    found = sky(Site(latitude=43, longitude=0, timezone="UTC"), frame, 0)

    up_h = float((found.zenith_deg[:288] < 90).sum()) * 5 / 60

    assert up_h == pytest.approx(13.19 + 0.1, abs=0.1)
