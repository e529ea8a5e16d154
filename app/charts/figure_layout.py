"""The frame of the figure: three panels over one time, and what stands behind the traces.

Its height follows the number of limits, each of which has a row of its own with its name over it.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from app.charts.day import DayChart
from app.charts.shapes import grid_levels
from app.engine.results import Verdict

Json = dict[str, Any]

# Heights from the top, in pixels: the panels, the gap over the starts, and that which holds the hours as well.
DEMAND_PX, GAP_PX, STARTS_PX, HOURS_PX, ROW_PX = 220, 26, 84, 34, 44
LEFT_PX, TOP_PX, BOTTOM_PX = 56, 8, 36
# In parts of what stands for all of a limit: how high its row is, up to where its use is drawn, and its name stands.
PITCH, MOST_SHARE, NAME_SHARE = 2.6, 1.25, 1.5
HEADROOM = 1.14
MINUTE_MS = 60_000
ZOOM_STEPS = (60, 15)


def layout(
    chart: DayChart,
    rows: Sequence[tuple[str, bool]],
    colours: Mapping[str, str],
    next_day: str,
    clock: Callable[[float], str],
) -> Json:
    """Axes, panels and shapes of the figure.

    rows: what stands over each limit's row, from the top, and whether more than all of it is used.
    next_day: stands at midnight. clock: an instant.
    `meta.ticks` holds labels of the time axis by their distance in minutes, for the page to put in when it zooms;
    `meta.pitch` how far the limits' rows stand apart, for it to set them wider where names take several lines.
    """
    demand_w = HEADROOM * max(float(chart.worst_w.max()), float(chart.limit_w.max()), 1.0)
    starts_va = HEADROOM * max(float(chart.start_limit_va.max()), *(one.total_va for one in chart.starts), 1.0)
    demand, starts, uses, high_px = _panels(len(rows))
    levels = {row_base(row, len(rows)) + 1: "100 %" for row in range(len(rows))}
    hours = {
        "range": [0, chart.horizon_ms], "fixedrange": True, "zeroline": False, "gridcolor": colours["line"],
        "tickmode": "array", "tickangle": 0, "tickvals": [tick.at_ms for tick in chart.ticks],
        # A phone has room for every second label; the gridlines stand at all of them.
        "ticktext": [next_day if one.midnight else f"{one.hour:02d}" * (one.hour % 6 == 0) for one in chart.ticks],
    }  # fmt: skip
    return {
        # A finger scrolls the page; zooming is the page's own buttons.
        "dragmode": False, "hovermode": "x", "showlegend": False, "autosize": True, "uirevision": "day",
        "height": high_px, "margin": {"l": LEFT_PX, "r": 8, "t": TOP_PX, "b": BOTTOM_PX},
        "font": {"size": 13, "color": colours["soft"]},
        "paper_bgcolor": "rgba(0,0,0,0)", "plot_bgcolor": "rgba(0,0,0,0)",
        "xaxis": hours | {"anchor": "y2"},
        "xaxis2": hours | {"anchor": "y3", "matches": "x"},
        "yaxis": _panel(demand, demand_w, _thousands(demand_w, 6, "kW"), colours),
        "yaxis2": _panel(starts, starts_va, _thousands(starts_va, 3, "kVA"), colours),
        "yaxis3": _panel(uses, max(len(rows), 1) * PITCH, levels, colours) | {"anchor": "x2", "showgrid": False},
        "shapes": list(_shapes(chart, len(rows), colours)),
        "annotations": [
            {
                "text": name, "showarrow": False, "xref": "paper", "x": 0, "xshift": 2 - LEFT_PX, "xanchor": "left",
                "yref": "y3", "y": row_base(row, len(rows)) + NAME_SHARE, "yanchor": "bottom", "borderpad": 0,
                "align": "left",
                "font": {"color": colours["over" if beyond else "ink"]},
            }
            for row, (name, beyond) in enumerate(rows)
        ],
        "meta": {
            "ticks": {str(step): _ticks(chart.horizon_ms, step * MINUTE_MS, clock) for step in ZOOM_STEPS},
            "pitch": PITCH,
        },
    }  # fmt: skip


def row_base(row: int, count: int) -> float:
    """Where on the axis of the panel of limits a row's nought stands. row: from the top."""
    return (count - 1 - row) * PITCH


def _panels(count: int) -> tuple[tuple[float, float], tuple[float, float], tuple[float, float], int]:
    """Lower and upper edge of each panel as shares of what lies between the margins, and the figure's height."""
    uses_px = max(count, 1) * ROW_PX
    starts_px = uses_px + HOURS_PX
    demand_px = starts_px + STARTS_PX + GAP_PX
    whole_px = demand_px + DEMAND_PX
    return (
        (demand_px / whole_px, 1.0),
        (starts_px / whole_px, (starts_px + STARTS_PX) / whole_px),
        (0.0, uses_px / whole_px),
        whole_px + TOP_PX + BOTTOM_PX,
    )


def _panel(domain: tuple[float, float], most: float, labels: Mapping[float, str], colours: Mapping[str, str]) -> Json:
    return {
        "domain": list(domain), "range": [0, most], "fixedrange": True, "zeroline": False,
        "gridcolor": colours["line"], "tickmode": "array", "tickvals": list(labels), "ticktext": list(labels.values()),
    }  # fmt: skip


def _thousands(most: float, count: int, unit: str) -> dict[float, str]:
    """At most `count` round levels, in thousands."""
    levels = grid_levels(most)
    while len(levels) > count:
        levels = levels[1::2]
    return {level: f"{level / 1000:g} {unit}" for level in levels}


def _ticks(horizon_ms: int, step_ms: int, clock: Callable[[float], str]) -> Json:
    at_ms = list(range(0, horizon_ms + 1, step_ms))
    return {"tickvals": at_ms, "ticktext": [clock(one) for one in at_ms]}


def _shapes(chart: DayChart, rows: int, colours: Mapping[str, str]) -> Iterator[Json]:
    """Midnight, the stretch the verdict is about, and where all of a limit is used."""
    midnight = {"width": 1, "dash": "dot", "color": colours["edge"]}
    yield _shape("midnight", "line", (chart.day_ms, chart.day_ms), "paper", (0, 1), midnight)
    if chart.mark is not None:
        name = tone(chart.mark.verdict)
        band = (chart.mark.from_ms, chart.mark.to_ms)
        shape = _shape(f"mark {name}", "rect", band, "paper", (0, 1), {"width": 1, "color": colours[name]})
        yield shape | {"layer": "below", "fillcolor": colours[name], "opacity": 0.14}
    for row in range(rows):
        line = {"width": 1, "dash": "dash", "color": colours["edge"]}
        level = row_base(row, rows) + 1
        yield _shape("all of it", "line", (0, chart.horizon_ms), "y3", (level, level), line) | {"layer": "below"}


def _shape(name: str, kind: str, x: tuple[int, int], yref: str, y: tuple[float, float], line: Json) -> Json:
    return {
        "name": name, "type": kind, "xref": "x", "x0": x[0], "x1": x[1], "yref": yref, "y0": y[0], "y1": y[1],
        "line": line,
    }  # fmt: skip


def tone(verdict: Verdict) -> str:
    """The stylesheet's colour of a verdict."""
    if verdict in ("over", "chance"):
        return "over"
    return "fits" if verdict == "fits" else "tight"
