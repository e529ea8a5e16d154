"""Plans over one time axis as a figure for the charting library: the same description as the drawing, as a dict."""

from collections.abc import Callable, Sequence
from html import escape
from typing import Any

from app.charts.side_by_side import HOURS, PlanLine

Json = dict[str, Any]

COLOURS = {"A": "e-base", "B": "ink", "C": "accent", "D": "e-hand1"}
DASHES = {"A": "solid", "B": "solid", "C": "dash", "D": "dot"}


def side_figure(lines: Sequence[PlanLine], quantity: Callable[[float, str], str]) -> Json:
    """Data and layout; x is hours on the clock's face since midnight, y watts and volt-amperes. quantity: in words."""
    traces: list[Json] = []
    for line in lines:
        colour = f"var(--{COLOURS[line.letter]})"
        name = f"{line.letter}: {_plain_text(line.name)}"
        worst = [*line.worst_w.tolist(), float(line.worst_w[-1])]
        edges = line.edges_h.tolist()
        traces.append(
            {
                "type": "scatter",
                "mode": "lines",
                "uid": f"worst{line.letter}",
                "name": name,
                "x": edges,
                "y": worst,
                "yaxis": "y",
                "line": {"shape": "hv", "width": 1.6, "color": colour, "dash": DASHES[line.letter]},
                "text": [
                    f"{line.letter}, {_clock(at)}: {quantity(value, 'W')}"
                    for at, value in zip(edges, worst, strict=True)
                ],
                "hovertemplate": "%{text}<extra></extra>",
                "meta": {"kind": "worst", "letter": line.letter},
            }
        )
        traces.append(_limit(line, "limit", line.limit_w.tolist(), "y", colour, quantity, "W"))
        if line.starts:
            traces.append(
                {
                    "type": "scatter",
                    "mode": "markers",
                    "uid": f"starts{line.letter}",
                    "name": name,
                    "yaxis": "y2",
                    "x": [hour for hour, _, _ in line.starts],
                    "y": [start.total_va for _, start, _ in line.starts],
                    "text": [
                        f"{line.letter}, {_clock(hour)}: {_plain_text(start.name)}, {quantity(start.total_va, 'VA')}"
                        for hour, start, _ in line.starts
                    ],
                    "hovertemplate": "%{text}<extra></extra>",
                    "marker": {"size": 9, "color": colour},
                    "meta": {"kind": "starts", "letter": line.letter},
                }
            )
        traces.append(_limit(line, "start-limit", line.start_limit_va.tolist(), "y2", colour, quantity, "VA"))
    ticks = list(range(0, HOURS + 1, 3))
    axis = {
        "gridcolor": "var(--line)",
        "zeroline": False,
        "linecolor": "var(--edge)",
        "tickfont": {"color": "var(--soft)"},
    }
    layout = {
        "autosize": True, "height": 520, "dragmode": "zoom", "showlegend": False, "uirevision": "side",
        "margin": {"l": 48, "r": 8, "t": 8, "b": 36}, "font": {"size": 13, "color": "var(--ink)"},
        "paper_bgcolor": "rgba(0,0,0,0)", "plot_bgcolor": "rgba(0,0,0,0)", "hovermode": "closest",
        "xaxis": axis | {
            "range": [0, HOURS], "tickvals": ticks, "ticktext": [f"{hour % 24:02d}" for hour in ticks], "anchor": "y2",
        },
        "yaxis": axis | {"domain": [0.42, 1], "rangemode": "tozero", "title": {"text": "W"}, "fixedrange": True},
        "yaxis2": axis | {"domain": [0, 0.34], "rangemode": "tozero", "title": {"text": "VA"}, "fixedrange": True},
    }  # fmt: skip
    return {"data": traces, "layout": layout}


def _limit(
    line: PlanLine,
    kind: str,
    values: list[float],
    yaxis: str,
    colour: str,
    quantity: Callable[[float, str], str],
    unit: str,
) -> Json:
    return {
        "type": "scatter", "mode": "lines", "uid": f"{kind}{line.letter}", "name": line.letter, "yaxis": yaxis,
        "x": line.edges_h.tolist(), "y": values, "line": {"width": 1.2, "dash": "dash", "color": colour},
        "text": [f"{line.letter}, limit: {quantity(value, unit)}" for value in values],
        "hovertemplate": "%{text}<extra></extra>", "meta": {"kind": kind, "letter": line.letter},
    }  # fmt: skip


def _clock(hour: float) -> str:
    minutes = round(hour * 60)
    return f"{minutes // 60 % 24:02d}:{minutes % 60:02d}"


def _plain_text(name: str) -> str:
    """A name somebody gave, to be shown as it is: the library reads tags, and places to fill in, out of texts."""
    return escape(name, quote=False).replace("%{", "% {")
