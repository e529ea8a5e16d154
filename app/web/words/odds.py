"""How often: said with one figure, for the odds are no better than the habits they rest on."""

import math

from app.engine.odds.odds import ONCE_A_DAY
from app.engine.results import LimitReading

INDEPENDENT = "if habits are independent"
ONLY_LONGER = "only if something stays on for longer than usual, or several such times follow soon on one another"
ONLY_OTHERWISE = "only if something stays on, or off, for longer than usual"  # what never goes off starts after a cut
NOT_BY_ODDS = (
    "How often is not told where a medical device, medicine or an alarm is on: they need a supply that cannot fail."
)
RAREST_DAYS = 10_000  # more is not to be told apart
RAREST_EXACTLY = 1_000_000


def how_often(reading: LimitReading) -> str:
    """How often a limit that only the worst case breaks is to be expected to be broken; empty for others.

    `About once in 40 such days, if habits are independent.`
    """
    if reading.cut_share is not None:
        return f"Too much after {of_cuts(reading.cut_share)}, if they come at any hour alike."
    if reading.broken_per_day is None:
        return NOT_BY_ODDS if reading.is_vital else ""
    if reading.broken_per_day <= 0:
        otherwise = ONLY_OTHERWISE if reading.decided_by_time is None else ONLY_LONGER
        return f"Hardly while everything keeps to its cycle: {otherwise}."
    return f"About {times(reading.broken_per_day)}, {INDEPENDENT}."


def exactly(reading: LimitReading) -> str:
    """The figure behind it: `0.176 times on such a day, once in 5.7 days`."""
    if reading.cut_share is not None:
        return f"{100 * reading.cut_share:.3g}\u00a0% of the day"
    return exact_times(reading.broken_per_day) if reading.broken_per_day else ""


def exact_times(per_day: float) -> str:
    """How often what comes at all comes, with three figures."""
    if per_day >= ONCE_A_DAY:
        return f"{_figures(per_day)} times on such a day"
    if per_day * RAREST_EXACTLY < 1:
        return f"less than once in {RAREST_EXACTLY:,} such days"
    return f"{_figures(per_day)} times on such a day, once in {_figures(1 / per_day)} days"


def times(per_day: float) -> str:
    """How often what comes at all comes: `once in 40 such days`."""
    if per_day >= ONCE_A_DAY:
        count = one_figure(per_day)
        return "once on such a day" if count == 1 else f"{count:,} times on such a day"
    days = 1 / per_day
    if days < 2:
        tenths = round(10 * per_day)
        return "once on nearly every such day" if tenths >= 10 else f"{tenths} times in 10 such days"
    if days > RAREST_DAYS:
        return f"once in more than {RAREST_DAYS:,} such days"
    return f"once in {one_figure(days):,} such days"


def of_cuts(share: float) -> str:
    """After how many power cuts: `about 1 power cut in 10`."""
    if share >= 0.95:
        return "nearly every power cut"
    return f"about 1 power cut in {one_figure(1 / share):,}" if share < 0.3 else f"{round(10 * share)} power cuts in 10"


def one_figure(value: float) -> int:
    """A value of one or more with one significant figure.

    >>> one_figure(5.7), one_figure(38), one_figure(951)
    (6, 40, 1000)
    """
    scale: int = 10 ** math.floor(math.log10(value))
    return round(value / scale) * scale


def _figures(value: float) -> str:
    """Three figures, without an exponent."""
    decimals = max(2 - math.floor(math.log10(value)), 0)
    return f"{value:,.{decimals}f}"
