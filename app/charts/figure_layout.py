"""The frame of the figure: one time axis, three panels over it, and what stands behind the traces."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from app.charts.day import DayChart
from app.charts.shapes import grid_levels
from app.engine.results import Floats, Verdict

Json = dict[str, Any]

# Lower and upper edge of each panel, as shares of the height.
DEMAND, STARTS, USE = (0.5, 1.0), (0.3, 0.44), (0.0, 0.24)
HEADROOM = 1.14
MINUTE_MS = 60_000
ZOOM_STEPS = (60, 15)


def layout(
    chart: DayChart,
    shares: Sequence[Floats],
    colours: Mapping[str, str],
    next_day: str,
    clock: Callable[[float], str],
) -> Json:
    """Axes, panels and shapes of the figure.

    shares: use over limit of each line in the panel of limits. next_day: stands at midnight. clock: an instant.
    `meta.ticks` holds labels of the time axis by their distance in minutes, for the page to put in when it zooms.
    """
    demand_w = HEADROOM * max(float(chart.worst_w.max()), float(chart.limit_w.max()), 1.0)
    starts_va = HEADROOM * max(float(chart.start_limit_va.max()), *(one.total_va for one in chart.starts), 1.0)
    percent = 110 * max(1.0, *(float(share.max()) for share in shares), 0.0)
    return {
        # A finger scrolls the page; zooming is the page's own buttons.
        "dragmode": False, "hovermode": "x", "showlegend": False, "autosize": True, "uirevision": "day",
        "margin": {"l": 56, "r": 8, "t": 8, "b": 36}, "font": {"size": 13, "color": colours["soft"]},
        "paper_bgcolor": "rgba(0,0,0,0)", "plot_bgcolor": "rgba(0,0,0,0)",
        "xaxis": {
            "range": [0, chart.horizon_ms], "fixedrange": True, "anchor": "y3", "zeroline": False,
            "gridcolor": colours["line"], "tickmode": "array", "tickvals": [tick.at_ms for tick in chart.ticks],
            # A phone has room for every second label; the gridlines stand at all of them.
            "ticktext": [next_day if one.midnight else f"{one.hour:02d}" * (one.hour % 6 == 0) for one in chart.ticks],
        },
        "yaxis": _panel(DEMAND, demand_w, _thousands(demand_w, 6, "kW"), colours),
        "yaxis2": _panel(STARTS, starts_va, _thousands(starts_va, 3, "kVA"), colours),
        "yaxis3": _panel(USE, percent, {value: f"{value} %" for value in range(50, int(percent) + 1, 50)}, colours),
        "shapes": list(_shapes(chart, bool(shares), colours)),
        "meta": {"ticks": {str(step): _ticks(chart.horizon_ms, step * MINUTE_MS, clock) for step in ZOOM_STEPS}},
    }  # fmt: skip


def _panel(domain: tuple[float, float], most: float, labels: Mapping[int, str], colours: Mapping[str, str]) -> Json:
    return {
        "domain": list(domain), "range": [0, most], "fixedrange": True, "zeroline": False,
        "gridcolor": colours["line"], "tickmode": "array", "tickvals": list(labels), "ticktext": list(labels.values()),
    }  # fmt: skip


def _thousands(most: float, count: int, unit: str) -> dict[int, str]:
    """At most `count` round levels, in thousands."""
    levels = grid_levels(most)
    while len(levels) > count:
        levels = levels[1::2]
    return {level: f"{level / 1000:g} {unit}" for level in levels}


def _ticks(horizon_ms: int, step_ms: int, clock: Callable[[float], str]) -> Json:
    at_ms = list(range(0, horizon_ms + 1, step_ms))
    return {"tickvals": at_ms, "ticktext": [clock(one) for one in at_ms]}


def _shapes(chart: DayChart, with_limits: bool, colours: Mapping[str, str]) -> Iterator[Json]:
    """Midnight, the stretch the verdict is about, and where all of a limit is used."""
    midnight = {"width": 1, "dash": "dot", "color": colours["edge"]}
    yield _shape("midnight", "line", (chart.day_ms, chart.day_ms), "paper", (0, 1), midnight)
    if chart.mark is not None:
        name = tone(chart.mark.verdict)
        band = (chart.mark.from_ms, chart.mark.to_ms)
        shape = _shape(f"mark {name}", "rect", band, "paper", (0, 1), {"width": 1, "color": colours[name]})
        yield shape | {"layer": "below", "fillcolor": colours[name], "opacity": 0.14}
    if with_limits:
        line = {"width": 1.6, "dash": "dash", "color": colours["ink"]}
        yield _shape("all of it", "line", (0, chart.horizon_ms), "y3", (100, 100), line)


def _shape(name: str, kind: str, x: tuple[int, int], yref: str, y: tuple[int, int], line: Json) -> Json:
    return {
        "name": name, "type": kind, "xref": "x", "x0": x[0], "x1": x[1], "yref": yref, "y0": y[0], "y1": y[1],
        "line": line,
    }  # fmt: skip


def tone(verdict: Verdict) -> str:
    """The stylesheet's colour of a verdict."""
    if verdict in ("over", "chance"):
        return "over"
    return "fits" if verdict == "fits" else "tight"
