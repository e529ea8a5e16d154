"""What the odds are: expected figures of one such day, from local midnight to local midnight."""

from dataclasses import dataclass
from typing import NamedTuple

from app.engine.kinds import Floats


class Above(NamedTuple):
    """How long the running draw is above a limit, in seconds a day."""

    limit: str
    seconds_per_day: float


class Lasting(NamedTuple):
    """How often the draw stays above a level for longer than is allowed.

    limit: whose level it is. above: the level, in the limit's unit at 25 degC (the first is the one for hours).
    """

    limit: str
    above: float
    longer_than_s: float
    per_day: float


@dataclass(frozen=True, slots=True, eq=False)
class Band:
    """Between which watts the running draw lies 95 % of the time, stretch by stretch.

    t_ms: shape (n + 1,), edges. low_w, high_w: shape (n,), nominal.
    """

    t_ms: Floats
    low_w: Floats
    high_w: Floats
