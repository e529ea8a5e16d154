"""The figure for the browser's charting library: valid, and the same numbers as the drawing."""

import json
from dataclasses import replace
from typing import Any

import numpy as np
import plotly.graph_objects as go
import pytest

from app.charts.day import DayChart
from app.charts.figure import FigureWords, LimitSeries, _plain_text, figure
from app.charts.layers import STACK
from app.engine.results import Assessment, Floats
from app.household.resolve import Resolved
from app.web.figures import clock, quantity

Plan = tuple[Resolved, Assessment, DayChart]
COLOURS = dict.fromkeys(
    [*STACK, *(f"{key}-l" for key in STACK), *(f"e-{key}" for key in STACK)], "#2f5f8a"
) | dict.fromkeys(["ink", "soft", "line", "edge", "fits", "tight", "over"], "#20262b")


def for_hours(chart: DayChart, name: str) -> LimitSeries:
    """How much of what the inverter carries for hours the worst case takes, from the chart's own curves."""
    lowest_w = np.minimum(chart.limit_w[:-1], chart.limit_w[1:])
    return LimitSeries("inverter_continuous", name, chart.edges_ms, chart.worst_w / lowest_w)


def drawn(plan: Plan, *more: LimitSeries) -> dict[str, Any]:
    resolved, _, chart = plan
    words = FigureWords(
        behaviours={key: f"kind {key}" for key in STACK},
        worst="if all is on",
        certain="for sure",
        nearly="nearly always",
        limit="inverter, for hours",
        starts="starts",
        start_limit="for a start",
        next_day="Wed",
        quantity=quantity,
        clock=lambda at_ms: clock(resolved.frame, at_ms),
    )
    return figure(chart, [for_hours(chart, "Inverter, for hours"), *more], COLOURS, words)


def trace(found: dict[str, Any], uid: str) -> dict[str, Any]:
    return next(dict(one) for one in found["data"] if one["uid"] == uid)


def stepped(edges_ms: Floats, one: dict[str, Any]) -> Floats:
    """The value of a stepped trace in each stretch."""
    place = np.searchsorted(np.array(one["x"], dtype=float), edges_ms[:-1], side="right") - 1
    return np.array(one["y"], dtype=float)[place]


def test_the_library_accepts_every_figure(plan: Plan) -> None:
    """It passes the library's own validation, is plain JSON, and no id has a space, which would draw black."""
    other = LimitSeries("dc_fuse", "Battery fuse", plan[2].edges_ms, np.full(len(plan[2].edges_ms) - 1, 0.4))
    found = drawn(plan, other)

    go.Figure(found)
    assert json.loads(json.dumps(found)) == found
    assert all(" " not in one["uid"] for one in found["data"])
    assert len({one["uid"] for one in found["data"]}) == len(found["data"])


def test_the_bands_carry_the_charts_numbers(plan: Plan) -> None:
    """Each band's height in every stretch is that of the drawing, and together they are the worst draw."""
    chart = plan[2]
    bands = [one for one in drawn(plan)["data"] if one.get("stackgroup")]
    drawn_w = {one["uid"]: stepped(chart.edges_ms, one) for one in bands}
    for number, layer in enumerate(chart.layers):
        own_w = layer.high_w - layer.low_w
        np.testing.assert_array_equal(drawn_w.get(f"band{number}", np.zeros_like(own_w)), own_w)
    np.testing.assert_allclose(np.sum(list(drawn_w.values()), axis=0), chart.worst_w, atol=1e-6)


def test_all_stacked_traces_share_their_instants(plan: Plan) -> None:
    """They step at the same places, to the horizon, for the library fills others wrongly."""
    bands = [one for one in drawn(plan)["data"] if one.get("stackgroup")]

    assert all(one["x"] == bands[0]["x"] for one in bands)
    assert (bands[0]["x"][0], bands[0]["x"][-1]) == (0, plan[2].horizon_ms)
    assert all(one["line"]["shape"] == "hv" for one in bands)


def test_lines_and_starts_carry_the_charts_numbers(plan: Plan) -> None:
    """The worst draw, both limits at every instant, and each start's foot and head."""
    chart, found = plan[2], drawn(plan)
    np.testing.assert_array_equal(stepped(chart.edges_ms, trace(found, "worst")), chart.worst_w)
    for uid, line in (("limit", chart.limit_w), ("start-limit", chart.start_limit_va)):
        one = trace(found, uid)
        np.testing.assert_allclose(np.interp(chart.edges_ms, one["x"], one["y"]), line, rtol=1e-9)
    heads, stems = trace(found, "heads"), trace(found, "stems")
    assert list(zip(heads["x"], heads["y"], strict=True)) == [(one.at_ms, one.total_va) for one in chart.starts]
    assert stems["y"][::3] == [one.before_va for one in chart.starts]


def test_what_comes_and_goes_is_hatched(plan: Plan) -> None:
    """A pattern, not a colour, tells it from what is certain; `meta` says which is which."""
    for one in drawn(plan)["data"]:
        if one.get("stackgroup"):
            assert ("fillpattern" in one) is not one["meta"]["certain"]


def test_limits_are_shown_in_per_cent_of_themselves(plan: Plan) -> None:
    """All of a limit is marked in its row; the largest share over the day is that of the reading."""
    _, assessment, _ = plan
    found = drawn(plan)
    steady = assessment.limit("inverter_continuous")
    assert steady is not None

    assert any(shape["name"] == "all of it" and shape["y0"] == 1 for shape in found["layout"]["shapes"])
    told = max(trace(found, "use0")["customdata"])
    # The chart's curve is nominal; the reading's use has the uncertainty of its parts on top.
    assert 0.9 * 100 * steady.use / steady.limit < told <= 100 * steady.use / steady.limit


def test_every_limit_has_a_row_of_its_own(plan: Plan) -> None:
    """Its name over it, none drawn into another's, the nearest to all of it first; the figure is as high as needed."""
    edges_ms = plan[2].edges_ms
    others = [
        LimitSeries(f"circuit:{n}", f"Circuit {n}", edges_ms, np.full(len(edges_ms) - 1, n / 10)) for n in range(20)
    ]
    found = drawn(plan, *others)
    layout = found["layout"]
    rows = [one for one in found["data"] if one["meta"]["kind"] == "use"]
    names_y = [one["y"] for one in layout["annotations"]]

    assert len(rows) == len(names_y) == 21
    assert names_y == sorted(names_y, reverse=True)
    assert layout["annotations"][0]["text"] == "Circuit 19: 190\u00a0%"
    for number, row in enumerate(rows):
        assert max(row["y"]) <= names_y[number]
        assert number == 0 or max(row["y"]) < min(rows[number - 1]["y"])
    assert layout["height"] - drawn(plan)["layout"]["height"] == 20 * 44


def test_a_finger_on_the_figure_scrolls_the_page(plan: Plan) -> None:
    """Nothing is dragged, and no axis reacts to touch."""
    layout = drawn(plan)["layout"]

    assert layout["dragmode"] is False
    assert all(layout[axis]["fixedrange"] for axis in ("xaxis", "yaxis", "yaxis2", "yaxis3"))


def test_the_axis_tells_clock_times(plan: Plan) -> None:
    """Instants are milliseconds, labels every sixth hour of the clock, the next day's name at midnight."""
    axis = drawn(plan)["layout"]["xaxis"]

    assert axis["tickvals"] == [tick.at_ms for tick in plan[2].ticks]
    assert axis["ticktext"] == ["00", "", "06", "", "12", "", "18", "", "Wed", "", "06", "", "12"]


def test_a_zoomed_axis_finds_its_labels(plan: Plan) -> None:
    """Every full hour and every quarter have theirs, on the clock's face."""
    ticks = drawn(plan)["layout"]["meta"]["ticks"]

    assert (len(ticks["60"]["tickvals"]), len(ticks["15"]["tickvals"])) == (37, 145)
    assert ticks["15"]["ticktext"][:3] == ["00:00", "00:15", "00:30"]


@pytest.mark.parametrize("count", [0, 1])
def test_a_day_without_draws_or_starts_is_a_figure_too(plan: Plan, count: int) -> None:
    """Its panels are there, with their limits."""
    resolved, assessment, chart = plan
    zero = np.zeros_like(chart.worst_w)
    bare = replace(chart, layers=(), starts=chart.starts[:count], worst_w=zero, certain_w=zero)
    found = drawn((resolved, assessment, bare))

    go.Figure(found)
    assert not [one for one in found["data"] if one.get("stackgroup")]


def test_a_name_is_shown_as_it_was_given() -> None:
    """Tags and places to fill in, in a name somebody gave, are text to the library."""
    assert _plain_text("<b>Oven</b> %{x}") == "&lt;b&gt;Oven&lt;/b&gt; % {x}"


def test_the_band_is_that_of_the_chart(plan: Plan) -> None:
    """Between which watts the draw lies nearly always: never below what is there for sure, never above the worst."""
    _, _, chart = plan
    found = drawn(plan)

    for uid, draw_w in (("nearly-low", chart.low_w), ("nearly-high", chart.high_w)):
        assert np.allclose(stepped(chart.edges_ms, trace(found, uid)), draw_w)
    assert (chart.low_w >= chart.certain_w - 1e-9).all()
    assert (chart.high_w <= chart.worst_w + 1e-9).all()
    assert (chart.high_w < chart.worst_w - 1).any()
