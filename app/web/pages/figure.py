"""The day's chart as data, for looking closer in the browser."""

from typing import Any

import numpy as np
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from app.charts.day import day_chart
from app.charts.figure import FigureWords, LimitSeries, figure
from app.charts.layers import STACK
from app.engine.traces import Trace
from app.household.household import Household
from app.web import words
from app.web.access import Routes
from app.web.answering import scenario_of
from app.web.asked import asked_household
from app.web.figures import WEEKDAYS, clock, quantity
from app.web.planned import Planned, planned

routes = Routes()

# Named, and looked up in the style sheet by the page, so that the figure follows light and dark.
COLOURS = {
    name: f"var(--{name})"
    for name in (
        *(f"{before}{key}{after}" for key in STACK for before, after in (("", ""), ("", "-l"), ("e-", ""))),
        *("ink", "soft", "line", "edge", "fits", "tight", "over"),
    )
}
CONFIG = {
    "displayModeBar": False, "responsive": True, "scrollZoom": False, "doubleClick": False, "showTips": False,
}  # fmt: skip


@routes.at("GET", "/h/{household_key}/{scenario_key}/figure", "reader")
def day_figure(request: Request, household_key: str, scenario_key: str) -> Response:
    """The figure's data, layout and settings, as JSON; colours by their names in the style sheet."""
    stored = asked_household(request, household_key)
    worked_out = planned(stored, scenario_of(stored, scenario_key), with_sun=True)
    return JSONResponse(figure_of(worked_out) | {"config": CONFIG}, headers={"Cache-Control": "no-store"})


def figure_of(worked_out: Planned) -> dict[str, Any]:
    """The figure of a plan."""
    resolved, assessment = worked_out.resolved, worked_out.assessment
    chart = day_chart(resolved, assessment, words.decisive(assessment, resolved.day.wanted_margin))
    frame = resolved.frame
    said = FigureWords(
        behaviours=words.BEHAVIOURS,
        worst="if everything happens to be on",
        certain="for sure",
        nearly="95\u00a0% of the time",
        limit="inverter, for hours",
        starts="starts",
        start_limit="for a start",
        next_day=WEEKDAYS[frame.local(chart.day_ms).weekday()],
        quantity=quantity,
        clock=lambda ms: clock(frame, ms),
    )
    series = [_series(trace, resolved.household) for trace in worked_out.inspection.traces]
    return figure(chart, series, COLOURS, said)


def _series(trace: Trace, household: Household) -> LimitSeries:
    """How much of a limit is used; of a floor, how near the value is to it."""
    least, most = trace.limit.min(axis=0), trace.limit.max(axis=0)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = trace.use / least if trace.direction == "ceiling" else most / trace.use
    return LimitSeries(trace.id, words.limit_name(trace.id, household), trace.t_ms, np.nan_to_num(share, posinf=9.99))
