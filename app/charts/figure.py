"""The day as a figure for the charting library in the browser: the same description as the drawing, as a plain dict.

Three panels over one time: demand, starts, and a row for each limit with how much of it is used, the one that comes
nearest to all of it first. All stacked traces share one
row of instants, for the library fills steps wrongly otherwise. Every trace says in `meta` what it is, so that the
page can colour it anew when the screen turns dark.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from textwrap import shorten
from typing import Any

import numpy as np

from app.charts.day import DayChart, Start
from app.charts.figure_layout import MOST_SHARE, layout, row_base, tone
from app.engine.results import Floats

Json = dict[str, Any]

NAME_LETTERS = 50  # what a phone has room for over a row


@dataclass(frozen=True, slots=True, eq=False)
class LimitSeries:
    """How much of a limit is used over the day.

    t_ms: shape (n + 1,), edges. share: shape (n,), use over limit in each stretch, at its highest; 1 is all of it.
    """

    id: str
    name: str
    t_ms: Floats
    share: Floats


@dataclass(frozen=True, slots=True)
class FigureWords:
    """What is written in the figure.

    behaviours: a name for each behaviour's key. worst, certain, nearly, limit, starts, start_limit: of the lines.
    next_day: stands at midnight. quantity: a value with its unit, of W or VA. clock: an instant.
    """

    behaviours: Mapping[str, str]
    worst: str
    certain: str
    nearly: str
    limit: str
    starts: str
    start_limit: str
    next_day: str
    quantity: Callable[[float, str], str]
    clock: Callable[[float], str]


def figure(chart: DayChart, series: Sequence[LimitSeries], colours: Mapping[str, str], words: FigureWords) -> Json:
    """Data and layout of the figure; x is whole milliseconds since midnight, y watts, volt-amperes and rows of limits.

    series: a row each in the panel of limits. colours: the stylesheet's variables by name, without dashes
    before them: each behaviour's fill, and its pale `-l` and edge `e-`; `ink`, `soft`, `line`, `edge`, and `fits`,
    `tight`, `over` for verdicts.
    """
    nearest_first = sorted(series, key=lambda one: -float(one.share.max()))
    traces = [*_layers(chart, colours, words), *_demand_lines(chart, colours, words)]
    traces += [*_starts(chart, colours, words), *_uses(nearest_first, colours)]
    names = [(_over_row(one), bool(one.share.max() > 1)) for one in nearest_first]
    return {"data": traces, "layout": layout(chart, names, colours, words.next_day, words.clock)}


def _layers(chart: DayChart, colours: Mapping[str, str], words: FigureWords) -> list[Json]:
    """The stack, bottom up. Bands of no height are left out: their outlines would show."""
    kept, x = _shared(chart)
    traces = []
    for number, layer in enumerate(chart.layers):
        draw_w = layer.high_w - layer.low_w
        if not draw_w.any():
            continue
        trace = {
            "type": "scatter", "mode": "lines", "uid": f"band{number}", "stackgroup": "demand",
            "name": words.behaviours[layer.key], "x": x, "y": _stepped(draw_w[kept]),
            "line": {"shape": "hv", "width": 0, "color": colours[f"e-{layer.key}"]},
            "fillcolor": colours[layer.key], "hoverinfo": "none",
            "meta": {"kind": "band", "key": layer.key, "certain": layer.certain},
        }  # fmt: skip
        if not layer.certain:
            trace["fillpattern"] = {
                "shape": "/", "size": 6, "solidity": 0.3, "fgcolor": colours[f"e-{layer.key}"],
                "bgcolor": colours[f"{layer.key}-l"], "fillmode": "replace",
            }  # fmt: skip
        traces.append(trace)
    return traces


def _demand_lines(chart: DayChart, colours: Mapping[str, str], words: FigureWords) -> list[Json]:
    kept, x = _shared(chart)
    draws = zip(
        *(one[kept].tolist() for one in (chart.worst_w, chart.certain_w, chart.low_w, chart.high_w)), strict=True
    )
    texts = [
        f"{words.clock(at_ms)}: {words.quantity(worst_w, 'W')} {words.worst},"
        f" {words.quantity(certain_w, 'W')} {words.certain},"
        f" {words.quantity(low_w, 'W')} to {words.quantity(high_w, 'W')} {words.nearly}"
        for at_ms, (worst_w, certain_w, low_w, high_w) in zip(x, draws, strict=False)
    ]
    worst = _line("worst", words.worst, x, _stepped(chart.worst_w[kept]), colours["ink"], "y")
    worst |= {"text": [*texts, texts[-1]], "hovertemplate": "%{text}<extra></extra>"}
    worst["line"] |= {"shape": "hv", "width": 1}
    return [
        *_nearly(chart, kept, x, colours, words),
        worst,
        _limit("limit", words.limit, chart.edges_ms, chart.limit_w, colours, "y", "W", words),
    ]


def _nearly(
    chart: DayChart, kept: Any, x: list[int | float], colours: Mapping[str, str], words: FigureWords
) -> Iterator[Json]:
    """Between which watts the draw lies nearly always."""
    if not (chart.high_w > chart.low_w).any():
        return
    for uid, draw_w in (("nearly-low", chart.low_w), ("nearly-high", chart.high_w)):
        line = _line(uid, words.nearly, x, _stepped(draw_w[kept]), colours["soft"], "y")
        line["line"] |= {"shape": "hv", "width": 1, "dash": "dot"}
        yield line | {"hoverinfo": "skip"}


def _starts(chart: DayChart, colours: Mapping[str, str], words: FigureWords) -> list[Json]:
    """Stems in one trace, with gaps between them; planned heads filled, others open."""
    stems_x: list[int | None] = []
    stems_y: list[float | None] = []
    for start in chart.starts:
        stems_x += [start.at_ms, start.at_ms, None]
        stems_y += [start.before_va, start.total_va, None]
    traces = []
    if chart.starts:
        stems = _line("stems", words.starts, stems_x, stems_y, colours["ink"], "y2")
        stems |= {"hoverinfo": "skip"}
        heads = {
            "type": "scatter", "mode": "markers", "uid": "heads", "name": words.starts, "yaxis": "y2",
            "x": [start.at_ms for start in chart.starts], "y": [start.total_va for start in chart.starts],
            "text": [_said(start, words) for start in chart.starts], "hovertemplate": "%{text}<extra></extra>",
            "marker": {
                "size": 8, "line": {"width": 2, "color": [colours[_tone(start)] for start in chart.starts]},
                "color": [colours[_tone(start)] for start in chart.starts],
                "symbol": ["circle" if start.scheduled else "circle-open" for start in chart.starts],
            },
            "meta": {"kind": "heads", "tones": [_tone(start) for start in chart.starts]},
        }  # fmt: skip
        traces += [stems, heads]
    limit = _limit("start-limit", words.start_limit, chart.edges_ms, chart.start_limit_va, colours, "y2", "VA", words)
    return [*traces, limit]


def _uses(series: Sequence[LimitSeries], colours: Mapping[str, str]) -> list[Json]:
    """A stepped area for each limit, in a row of its own; what it is cut off at is told in full when pointed at."""
    traces = []
    for number, one in enumerate(series):
        x, shares = _thinned(one.t_ms, one.share)
        base = row_base(number, len(series))
        y = [base, *(base + min(share, MOST_SHARE) for share in shares), base]
        colour = colours["over" if one.share.max() > 1 else "ink"]
        trace = _line(f"use{number}", _plain_text(one.name), [x[0], *x, x[-1]], y, colour, "y3")
        trace["line"] |= {"shape": "hv", "width": 1}
        trace |= {
            "xaxis": "x2", "fill": "toself", "fillcolor": colours["line"], "hoveron": "points",
            "customdata": [100 * share for share in (shares[0], *shares, shares[-1])],
            "hovertemplate": "%{customdata:.0f}\u00a0%<extra></extra>", "meta": {"kind": "use", "limit": one.id},
        }  # fmt: skip
        traces.append(trace)
    return traces


def _shared(chart: DayChart) -> tuple[Any, list[int | float]]:
    """The stretches that differ from the one before them, and their begins with the horizon after them."""
    rows = np.vstack(
        [chart.worst_w, chart.certain_w, chart.low_w, chart.high_w, *(layer.high_w for layer in chart.layers)]
    )
    kept = np.concatenate([[0], np.flatnonzero((np.diff(rows, axis=1) != 0).any(axis=0)) + 1])
    return kept, [*_plain(chart.edges_ms[kept]), chart.horizon_ms]


def _stepped(values: Floats) -> list[float]:
    """A value for each begin, the last once more at the end."""
    return [*values.tolist(), float(values[-1])]


def _thinned(edges_ms: Floats, values: Floats) -> tuple[list[int | float], list[float]]:
    kept = np.concatenate([[0], np.flatnonzero(np.diff(values) != 0) + 1])
    return [*_plain(edges_ms[kept]), *_plain(edges_ms[-1:])], _stepped(values[kept])


def _limit(
    uid: str, name: str, edges_ms: Floats, line: Floats, colours: Mapping[str, str], yaxis: str, unit: str,
    words: FigureWords,
) -> Json:  # fmt: skip
    """A dashed line, drawn through its corners alone."""
    bends = np.abs(np.diff(np.diff(line) / np.diff(edges_ms))) > 1e-12
    kept = np.concatenate([[True], bends, [True]])
    trace = _line(uid, name, _plain(edges_ms[kept]), line[kept].tolist(), colours["ink"], yaxis)
    trace["line"] |= {"width": 1.6, "dash": "dash"}
    trace["text"] = [f"{name}: {words.quantity(value, unit)}" for value in line[kept].tolist()]
    trace["hovertemplate"] = "%{text}<extra></extra>"
    return trace


def _line(uid: str, name: str, x: Sequence[float | None], y: Sequence[float | None], colour: str, yaxis: str) -> Json:
    return {
        "type": "scatter", "mode": "lines", "uid": uid, "name": name, "x": x, "y": y, "yaxis": yaxis,
        "line": {"color": colour, "width": 1.2}, "meta": {"kind": uid},
    }  # fmt: skip


def _said(start: Start, words: FigureWords) -> str:
    return f"{words.clock(start.at_ms)}: {_plain_text(start.name)}, {words.quantity(start.total_va, 'VA')}"


def _over_row(one: LimitSeries) -> str:
    """A limit's name with its highest use."""
    return f"{_plain_text(shorten(one.name, NAME_LETTERS, placeholder=' …'))}: {_percent(one.share.max())}"


def _percent(share: float) -> str:
    return f"{share * 100:.0f}\u00a0%"


def _plain_text(name: str) -> str:
    """A name somebody gave, to be shown as it is: the library reads tags, and places to fill in, out of texts."""
    return escape(name, quote=False).replace("%{", "% {")


def _tone(start: Start) -> str:
    return "over" if tone(start.verdict) == "over" else "ink"


def _plain(at_ms: Floats) -> list[int | float]:
    """Instants as plain numbers, whole ones without a point."""
    return [int(one) if one.is_integer() else one for one in at_ms.tolist()]
