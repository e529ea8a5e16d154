"""Runs of guests that are moved, and what they made up for where they were planned: what leads, for what lags.

A guest that begins now is its own run of half an hour later. Then that is not on any more while it was to be, and
what else is on may come to more without it.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from app.engine.beside import VOLT_AMPERES, Beside, Comparison, Passing
from app.engine.columns import Columns
from app.engine.draw import HAIR
from app.engine.own_runs import RUNNING, DrawnAs, Span
from app.engine.readings import View
from app.engine.results import Flags, Floats, Instants


def left_behind(
    beside: Beside, view: View, which: Instants, columns: Columns, tests: Sequence[Comparison],
    draws: DrawnAs = RUNNING,
) -> Iterator[Passing]:  # fmt: skip
    """Where others pass what is tested without runs of some guests, `which`, that are moved.

    Before the guest begins and once it is over: while it is on, `Beside.passing` knows.
    """
    made_up_va = beside.made_up_va(view, cold=draws.cold)
    if not made_up_va or not len(columns.t_ms):
        return
    limits = (min(one.begin.min(), one.end.min()) for one in tests if one.quantity == VOLT_AMPERES)
    lowest_va = float(min(limits, default=np.inf))
    if (float(columns.sums.va.max()) + made_up_va) * (1 + beside.uncertainty) <= lowest_va:
        return
    for span in beside.own_runs.moving(which):
        gone = beside.own_runs.gone(view, span.which, span.numbers, draws)
        if gone is None or not gone.figures[1:3].any():
            continue  # with fewer watts alone nothing is more
        before = columns.sums - gone.take(columns.stretch)
        use, was = (before.use_w, before.use_va), (columns.as_planned.use_w, columns.as_planned.use_va)
        stays = staying(beside, span, columns)
        for test in tests:
            begin, end = test.begin[columns.stretch], test.end[columns.stretch]
            drawn = use[test.quantity]
            over = stays & (drawn > np.minimum(begin, end) * (1 + HAIR)) & (drawn > was[test.quantity] * (1 + HAIR))
            if test.longer_than_s is not None:
                over &= columns.seconds > test.longer_than_s * (1 + HAIR)
            one = over.nonzero()[0]
            if len(one):
                level = test.level[columns.stretch[one]]
                yield from absent(beside, test, span, columns.take(one), begin[one], end[one], level, drawn[one])


def staying(beside: Beside, span: Span, columns: Columns) -> Flags:
    """Which columns there are without runs that are moved: no start of what has gone with them."""
    found = np.ones(len(columns.t_ms), dtype=bool)
    went = np.intersect1d(columns.starter, beside.guests.guests[span.which].machine)
    if len(went):
        laid = beside.own_runs.without(span.which, span.numbers)
        for machine, stands in beside.stands(columns.t_ms, laid, went.tolist()).items():
            found &= (columns.starter != machine) | stands
    return found


def absent(
    beside: Beside, test: Comparison, span: Span, columns: Columns, begin: Floats, end: Floats, level: Instants,
    use: Floats,
) -> Iterator[Passing]:  # fmt: skip
    """Columns that fail a test while the guest of a span is not on: not yet, and no longer. As `Beside.found`."""
    row = np.full(len(columns.t_ms), int((beside.guests.which == span.which).argmax()))
    over_ms = float(beside.guests.guests[span.which].edge_ms[-1])
    for when in ((-np.inf, 0.0), (over_ms, np.inf)):
        yield beside.found(test, span, row, columns, begin, end, level, use, when)
