"""Sun at night: what a wrong clock or a wrong place looks like, and which clock would fit."""

import numpy as np

from app.engine.results import Floats
from app.engine.weather.rows import Findings, Rows, Whole, offset_words

# What a sensor, a lamp or a low cloud may still give, and how far down the sun is dark all the same.
BRIGHT_W_M2, DOWN_DEG = 20.0, 3.0
_LOOKED_AT = 400  # bright steps, for the clocks that are tried
_OFFSETS_H = np.arange(-12.0, 14.5, 0.5)


def refuse_sun_at_night(rows: Rows, latitude: float, longitude: float, findings: Findings) -> None:
    """Note every step that is bright while the sun is more than 3 degrees below the horizon all through it."""
    bright_w_m2 = np.max(list(rows.sun_w_m2.values()), axis=0)
    bright = np.flatnonzero(bright_w_m2 > BRIGHT_W_M2)
    if not bright.size:
        return
    begin_s = rows.clock_s[bright] - round(rows.utc_offset_h * 3600)
    dark = _is_night(begin_s, rows.step_s, latitude, longitude)
    if not dark.any():
        return
    some = bright[:: max(1, len(bright) // _LOOKED_AT)]
    fitting_h = _offset_that_fits(rows, some, latitude, longitude)
    first = int(bright[np.flatnonzero(dark)[0]])
    count = int(dark.sum())
    often = "" if count == 1 else f", here and in {count - 1} more steps"
    why = (
        f"has sun at night: {bright_w_m2[first]:g} W/m² with the sun below the horizon at "
        f"{_degrees(latitude, 'N', 'S')}, {_degrees(longitude, 'E', 'W')}{often}. Its clock or its place is wrong"
    )
    if fitting_h is not None and fitting_h != rows.utc_offset_h:
        # Said of the times as the file has them, which the record may have on another clock.
        read_as_h = rows.utc_offset_h if rows.read_as_h is None else rows.read_as_h
        fits = offset_words(fitting_h - rows.utc_offset_h + read_as_h)
        why += f"; its times would fit a clock of {fits}, and were read as {offset_words(read_as_h)}"
    findings.add(why, int(rows.lines[first]))


def _degrees(value: float, positive: str, negative: str) -> str:
    return f"{abs(value):.1f}° {positive if value >= 0 else negative}"


def _is_night(
    begin_s: Whole, step_s: int, latitude: float, longitude: float
) -> "np.ndarray[tuple[int], np.dtype[np.bool_]]":
    """Whether the sun is well below the horizon from the beginning of a step to its end."""
    ends = [_elevation_deg(begin_s + part * step_s // 2, latitude, longitude) for part in (0, 1, 2)]
    return np.asarray(np.max(ends, axis=0) < -DOWN_DEG)


def _elevation_deg(at_s: Whole, latitude: float, longitude: float) -> Floats:
    import pandas as pd
    from pvlib import solarposition

    times = pd.DatetimeIndex(pd.to_datetime(at_s, unit="s", utc=True))
    found = solarposition.get_solarposition(times, latitude, longitude, method="ephemeris")
    return np.asarray(found["elevation"].to_numpy(), dtype=np.float64)


def _offset_that_fits(rows: Rows, some: Whole, latitude: float, longitude: float) -> float | None:
    """The clock under which no bright step falls into the night and the brightest stand under the highest sun."""
    weights = np.max(list(rows.sun_w_m2.values()), axis=0)[some]
    best: tuple[float, float] | None = None
    for offset_h in _OFFSETS_H:
        begin_s = rows.clock_s[some] - round(offset_h * 3600)
        middle_deg = _elevation_deg(begin_s + rows.step_s // 2, latitude, longitude)
        if (middle_deg < -DOWN_DEG - 7.5 * rows.step_s / 3600).any():
            continue
        fits = float(weights @ np.sin(np.radians(middle_deg)))
        if best is None or fits > best[0]:
            best = (fits, float(offset_h))
    return None if best is None else best[1]
