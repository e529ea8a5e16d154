"""Readings of limits that may be passed for a time: for hours, and for moments."""

from typing import Literal

import numpy as np

from app.engine.curve import Line
from app.engine.margins import Tightest, judged
from app.engine.readings import Ruled
from app.engine.results import LimitReading, Verdict


def steady_verdict(broken: bool, at: Tightest, wanted_margin: float) -> Verdict:
    """The ladder of a limit that may be passed for a while."""
    if broken:
        return "over"
    if at.exceeded:
        return "short_time"
    return "tight" if at.less_than(wanted_margin) else "fits"


def steady_reading(
    ruled: Ruled, limit_id: str, unit: Literal["W", "VA", "A"], quantity: int, line: Line
) -> LimitReading:
    """A limit for hours: broken when the first store holds too much while this quantity exceeds it."""
    wanted = ruled.view.resolved.day.wanted_margin
    certain_at, at = ruled.running(quantity, line, certain=True), ruled.running(quantity, line)
    certain = steady_verdict(bool(np.isfinite(ruled.certain.own[quantity].trip_ms)), certain_at, wanted)
    broken_ms = ruled.worst.own[quantity].trip_ms
    verdict = judged(certain, bool(np.isfinite(broken_ms)), steady_verdict(False, at, wanted))
    return LimitReading(
        id=limit_id, direction="ceiling", limit=at.limit, unit=unit, use=at.use, margin=at.margin,
        at_ms=at.at_ms, verdict=verdict, verdict_certain=certain, use_certain=certain_at.use,
        contributors=ruled.view.contributors(at.at_ms),
        heat=ruled.heat_of(quantity),
        broken_at_ms=_whole_ms(broken_ms),
    )  # fmt: skip


def peak_reading(ruled: Ruled, limit_id: str, unit: Literal["VA", "A"], quantity: int, line: Line) -> LimitReading:
    """A limit for moments: broken by any store, any start, or by passing its top."""
    certain_peak, peak = ruled.peak(quantity, line, certain=True), ruled.peak(quantity, line)
    certain = timed_verdict(ruled, certain_peak_verdict=ruled.start_verdict(certain_peak))
    worst: Verdict = "short_time" if any(ruled.worst.fullest_s) else ruled.start_verdict(peak)
    return LimitReading(
        id=limit_id, direction="ceiling", limit=peak.at.limit, unit=unit, use=peak.at.use,
        margin=peak.at.margin, at_ms=peak.at.at_ms, verdict=judged(certain, ruled.worst_breaks, worst),
        verdict_certain=certain, use_certain=certain_peak.at.use,
        contributors=ruled.view.contributors(peak.at.at_ms, peak.start, starts=peak.start is None),
        heat=ruled.heat(), broken_at_ms=broken_at_ms(ruled),
    )  # fmt: skip


def timed_verdict(ruled: Ruled, certain_peak_verdict: Verdict) -> Verdict:
    """The ladder of a limit with times, for certain draws."""
    if ruled.certain_breaks:
        return "over"
    return "short_time" if any(ruled.certain.fullest_s) else certain_peak_verdict


def broken_at_ms(ruled: Ruled) -> int | None:
    """First instant at which the rule is known to be broken in the worst case."""
    scheduled_ms = ruled.view.scheduled.begin_ms[ruled.worst_starts_broken].tolist()
    return _whole_ms(min([ruled.worst.broken_ms, *scheduled_ms, *ruled.unscheduled_broken_ms]))


def _whole_ms(at_ms: float) -> int | None:
    return int(at_ms) if np.isfinite(at_ms) else None
