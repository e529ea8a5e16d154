"""Figures that follow the temperature: lines over the day, with every corner an event."""

from dataclasses import dataclass, field
from functools import cached_property, lru_cache

import numpy as np

from app.engine.results import Floats
from app.household.day import DAY_S, DayFrame

Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True, eq=False)
class Line:
    """A value over the day: linear between its corners.

    t_ms: shape (n,), rising, from 0 to the horizon. value: shape (n,).
    """

    t_ms: Floats
    value: Floats
    _asked: list[tuple[Floats | float, Floats]] = field(default_factory=list)  # the last instants, and the values

    @cached_property
    def is_flat(self) -> bool:
        """It never changes."""
        return bool((self.value == self.value[0]).all())

    @cached_property
    def lowest(self) -> float:
        """The least it ever is."""
        return float(self.value.min())

    def at(self, t_ms: Floats | float) -> Floats:
        """The value at instants of any shape, to be read only.

        Every start and reading of a scope asks for the same edges: those asked last are kept.
        """
        for asked_ms, value in self._asked:
            if asked_ms is t_ms:
                return value
        if self.is_flat:
            value = np.full(np.shape(t_ms), self.value[0])
        else:
            value = np.asarray(np.interp(t_ms, self.t_ms, self.value))
        value.setflags(write=False)
        self._asked[:] = [(t_ms, value)]
        return value

    def times(self, factor: float) -> "Line":
        """The same line, higher or lower."""
        return Line(self.t_ms, self.value * factor)


@lru_cache(maxsize=256)
def temperature_c(ambient_c: Points, room_offset_k: float, frame: DayFrame) -> Line:
    """Temperature in the room, degC, from midnight to the horizon.

    ambient_c: points (wall-clock hour, degC), periodic over the day, linear between.
    """
    corners: dict[int, float] = {}
    for day in (-1, 0, 1, 2):
        for hour, degrees_c in ambient_c:
            corners[frame.at_ms(round(hour * 3600) + day * DAY_S)] = degrees_c + room_offset_k
    t_ms = np.array(sorted(corners), dtype=float)
    value_c = np.array([corners[int(t)] for t in t_ms])
    inside = t_ms[(t_ms > 0) & (t_ms < frame.horizon_ms)]
    grid = np.concatenate(([0.0], inside, [float(frame.horizon_ms)]))
    return Line(grid, np.interp(grid, t_ms, value_c))


@lru_cache(maxsize=256)
def by_temperature(points: Points, ambient_c: Points, room_offset_k: float, frame: DayFrame) -> Line:
    """A figure given by temperature, as a line over the day: linear between its points, flat outside."""
    degrees = temperature_c(ambient_c, room_offset_k, frame)
    if not points:
        return Line(degrees.t_ms, np.ones_like(degrees.value))
    at_c, figure = (np.array(axis, dtype=float) for axis in zip(*points, strict=True))
    line = degrees
    for corner_c in at_c:
        line = _with_crossings(line, float(corner_c))
    return Line(line.t_ms, np.interp(line.value, at_c, figure))


def at_most(line: Line, ceiling: float) -> Line:
    """The line, cut off at a ceiling; where it passes through, a corner."""
    line = _with_crossings(line, ceiling)
    return Line(line.t_ms, np.minimum(line.value, ceiling))


def _with_crossings(line: Line, level: float) -> Line:
    """The same line with a corner wherever it passes through the level."""
    begin, end = line.value[:-1], line.value[1:]
    through = np.flatnonzero((begin - level) * (end - level) < 0)
    if not len(through):
        return line
    part = (level - begin[through]) / (end[through] - begin[through])
    t_ms = line.t_ms[through] + part * np.diff(line.t_ms)[through]
    return Line(np.insert(line.t_ms, through + 1, t_ms), np.insert(line.value, through + 1, np.full(len(t_ms), level)))
