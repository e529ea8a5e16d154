"""What the odds are: expected figures of one such day, from local midnight to local midnight."""

from dataclasses import dataclass
from typing import NamedTuple, Protocol

from app.engine.kinds import Floats


class Above(NamedTuple):
    """How long the running draw is above a limit, in seconds a day."""

    limit: str
    seconds_per_day: float


class Lasting(NamedTuple):
    """How often the draw stays above a level for longer than is allowed.

    limit: whose level it is. above: the level, in the limit's unit at 25 degC (the first is the one for hours).
    filled_per_day: how much more often several times above it, none of them too long, come to too much between them.
    """

    limit: str
    above: float
    longer_than_s: float
    per_day: float
    filled_per_day: float


@dataclass(frozen=True, slots=True, eq=False)
class Band:
    """Between which watts the running draw lies 95 % of the time, stretch by stretch.

    t_ms: shape (n + 1,), edges. low_w, high_w: shape (n,), nominal.
    """

    t_ms: Floats
    low_w: Floats
    high_w: Floats


class Odds(Protocol):
    """How often what the worst case warns of is to be expected; each figure is worked out when it is first asked for.

    per_day: expected times a day at which a limit is broken, by its id, of those that only the worst case breaks and
    that odds may talk down. once_in_days: days to the next time any is, as expected; None where none ever is.
    cut_share: the part of the day in which all that starts again after a power cut is too much; None where the bank's
    voltage is.
    above: how long the running draw is above each limit that odds may talk down.
    overloading_starts_per_day: starts of cycling loads that take the total above the inverter's top level.
    lasting: how often each level that may be passed for a time is passed for longer.
    band: between which watts the running draw lies nearly always.
    """

    @property
    def per_day(self) -> dict[str, float]: ...  # noqa: D102
    @property
    def once_in_days(self) -> float | None: ...  # noqa: D102
    @property
    def cut_share(self) -> float | None: ...  # noqa: D102
    @property
    def above(self) -> tuple[Above, ...]: ...  # noqa: D102
    @property
    def overloading_starts_per_day(self) -> float: ...  # noqa: D102
    @property
    def lasting(self) -> tuple[Lasting, ...]: ...  # noqa: D102
    @property
    def band(self) -> Band: ...  # noqa: D102
