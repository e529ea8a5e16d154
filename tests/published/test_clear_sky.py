"""A clear sky beside two other published ones, a sanity check: Haurwitz 1945 and simplified Solis (Ineichen 2008).

Haurwitz: 1098 cos z exp(-0.059 / cos z); at elevations of 5, 10, 50 and 90 degrees 48.630, 135.742, 778.767 and
1035.092 W/m2, figures of an open library's tests, recomputed. Simplified Solis at 80 degrees: 1064.653 W/m2, of the
same tests. Ours is Ineichen and Perez 2002 with the month's turbidity; three models of a clear sky differ by up
to a seventh where the turbidity is high.
"""

import datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from pvlib import clearsky

from app.engine.sky import sky
from app.household.day import DayFrame
from app.household.household import Site


def haurwitz_w_m2(elevation_deg: float) -> float:
    """The formula as it is printed."""
    cos_z = np.sin(np.radians(elevation_deg))
    return float(1098 * cos_z * np.exp(-0.059 / cos_z))


@pytest.mark.parametrize(("elevation_deg", "w_m2"), [(5, 48.630), (10, 135.742), (50, 778.767), (90, 1035.092)])
def test_haurwitz(elevation_deg: float, w_m2: float) -> None:
    """The published figures are the formula's."""
    assert haurwitz_w_m2(elevation_deg) == pytest.approx(w_m2, abs=0.01)


def test_solis() -> None:
    """The published figure is the library's."""
    assert clearsky.simplified_solis(80)["ghi"] == pytest.approx(1064.653, abs=0.01)


# In January the sun stays below 20 degrees at 55 N.
@pytest.mark.parametrize(
    ("latitude", "month"),
    [(latitude, month) for latitude in (55, 40, 0, -35) for month in (1, 4, 7, 10) if (latitude, month) != (55, 1)],
)
def test_ours_is_near_both(latitude: float, month: int) -> None:
    """Within a seventh of either while the sun stands above 20 degrees, over the whole day."""
    found = sky(
        Site(latitude=latitude, longitude=0, timezone="UTC"),
        DayFrame(datetime.date(2026, month, 15), ZoneInfo("UTC")),
        0,
    )
    high = np.flatnonzero(found.zenith_deg < 70)
    elevation_deg = 90 - found.zenith_deg[high]
    ours = float(found.clear_ghi[high].sum())

    assert ours == pytest.approx(sum(haurwitz_w_m2(one) for one in elevation_deg), rel=0.15)
    assert ours == pytest.approx(float(np.sum(clearsky.simplified_solis(elevation_deg)["ghi"])), rel=0.15)
