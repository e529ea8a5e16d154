"""How often: said with one figure, for the odds are no better than the habits they rest on."""

import math
from typing import Literal

from app.engine.results import LimitReading
from app.engine.run_odds import RunOdds
from app.household.household import Household
from app.web.words.limits import passing_name

INDEPENDENT = "if habits are independent"
ONLY_LONGER = "only if something stays on for longer than usual, or several such times follow soon on one another"
ONLY_OTHERWISE = "only if something stays on, or off, for longer than usual"  # what never goes off starts after a cut
NOT_BY_ODDS = (
    "How often is not told where a medical device, medicine or an alarm is on: they need a supply that cannot fail."
)
NOT_BY_VOLTS = "How often is not told: the battery's voltage would be too low."
ALL_LEVELS = ", all its levels counted"
BROKEN_BY_ANY_LEVEL = ("inverter_overload", "battery_peak", "leg:")  # ids, or their beginnings
Of = Literal["day", "rest", "run"]  # rest: what is left of a day
_ON_ONE: dict[Of, str] = {"day": "on such a day", "rest": "in the rest of such a day", "run": "in such a run"}
_ON_NEARLY_EVERY: dict[Of, str] = {
    "day": "on nearly every such day",
    "rest": "in the rest of nearly every such day",
    "run": "in nearly every such run",
}
_SUCH: dict[Of, str] = {"day": "such days", "rest": "such days", "run": "such runs"}
RAREST_DAYS = 10_000  # more is not to be told apart
RAREST_EXACTLY = 1_000_000


def how_often(reading: LimitReading, of: Of = "day") -> str:
    """How often a limit that only the worst case breaks is to be expected to be broken; empty for others.

    `About once in 40 such days, if habits are independent.` of: what the reading is of.
    """
    if reading.cut_share is not None:
        return f"Too much after {of_cuts(reading.cut_share)}, if they come at any hour alike."
    if reading.broken_per_day is None:
        if reading.is_vital:
            return NOT_BY_ODDS
        return NOT_BY_VOLTS if reading.id == "cold_restart" and reading.by_chance else ""
    if reading.broken_per_day <= 0:
        otherwise = ONLY_OTHERWISE if reading.decided_by_time is None else ONLY_LONGER
        return f"Hardly while everything keeps to its cycle: {otherwise}."
    # One time above one level is told; how often is of all there are.
    by_any = reading.decided_by_time is not None and reading.id.startswith(BROKEN_BY_ANY_LEVEL)
    return f"About {times(reading.broken_per_day, of)}{ALL_LEVELS if by_any else ''}, {INDEPENDENT}."


def exactly(reading: LimitReading, of: Of = "day") -> str:
    """The figure behind it: `0.176 times on such a day, once in 5.7 days`. of: as in `how_often`."""
    if reading.cut_share is not None:
        return f"{100 * reading.cut_share:.3g}\u00a0% of the day"
    return exact_times(reading.broken_per_day, of) if reading.broken_per_day else ""


def how_often_it_runs(odds: RunOdds, household: Household) -> str:
    """How often one run of an appliance is to be expected to break a limit: `About once in 6 such runs, ...`.

    It says so where they are of another limit than the answer.
    """
    if odds.cut_share is not None:
        return f"Too much after {of_cuts(odds.cut_share)}, if they come at any time of its run alike."
    if odds.broken_per_run is None:
        return NOT_BY_ODDS
    if odds.broken_per_run <= 0:
        return f"Hardly while everything keeps to its cycle: {ONLY_LONGER}."
    with_it, another = times(odds.broken_per_run, "run"), ""
    if odds.of_another is not None:
        another = f" This is of another limit, to which it adds more: {passing_name(odds.of_another, household)}."
    if not odds.without_per_run:
        return f"About {with_it}, {INDEPENDENT}.{another}"
    without = times(odds.without_per_run, "run")
    if odds.broken_per_run <= odds.without_per_run or without == with_it:
        return f"No more often than without it: about {without}, {INDEPENDENT}.{another}"
    return f"About {with_it}, without it {without}, {INDEPENDENT}.{another}"


def exactly_it_runs(odds: RunOdds) -> str:
    """The figures behind it: `To be exact: 1.70 times in such a run; without it ...`; empty where there are none."""
    if not odds.broken_per_run:
        return ""
    figure = exact_times(odds.broken_per_run, "run")
    without = f"; without it {exact_times(odds.without_per_run, 'run')}" if odds.without_per_run else ""
    return f"To be exact: {figure}{without}."


def exact_times(often: float, of: Of = "day") -> str:
    """How often what comes at all comes, with three figures."""
    if often >= 1:
        return f"{_figures(often)} times {_ON_ONE[of]}"
    if often * RAREST_EXACTLY < 1:
        return f"less than once in {RAREST_EXACTLY:,} {_SUCH[of]}"
    return f"{_figures(often)} times {_ON_ONE[of]}, once in {_figures(1 / often)} {'runs' if of == 'run' else 'days'}"


def times(often: float, of: Of = "day") -> str:
    """How often what comes at all comes: `once in 40 such days`."""
    if often >= 1:
        count = one_figure(often)
        return f"once {_ON_ONE[of]}" if count == 1 else f"{count:,} times {_ON_ONE[of]}"
    days = 1 / often
    if days < 2:
        tenths = round(10 * often)
        return f"once {_ON_NEARLY_EVERY[of]}" if tenths >= 10 else f"{tenths} times in 10 {_SUCH[of]}"
    if days > RAREST_DAYS:
        return f"once in more than {RAREST_DAYS:,} {_SUCH[of]}"
    return f"once in {one_figure(days):,} {_SUCH[of]}"


def of_cuts(share: float) -> str:
    """After how many power cuts: `about 1 power cut in 10`."""
    if share <= 0:
        return "hardly any power cut"
    if share >= 0.95:
        return "nearly every power cut"
    return f"about 1 power cut in {one_figure(1 / share):,}" if share < 0.3 else f"{round(10 * share)} power cuts in 10"


def one_figure(value: float) -> int:
    """A value of one or more with one significant figure.

    >>> one_figure(5.7), one_figure(38), one_figure(951), one_figure(2.4999), one_figure(2.5001)
    (6, 40, 1000, 3, 3)
    """
    scale: int = 10 ** math.floor(math.log10(value))
    # Of the figures that are told as exact: what is 2.50 there is one thing here.
    return math.floor(round(value / scale, 2) + 0.5) * scale


def _figures(value: float) -> str:
    """Three figures, without an exponent."""
    decimals = max(2 - math.floor(math.log10(value)), 0)
    return f"{value:,.{decimals}f}"
