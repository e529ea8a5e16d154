"""The chart's description: what is stacked on what, and what is marked."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from app.charts.behaviour import behaviours
from app.charts.day import DayChart, day_chart
from app.engine.assess import assess
from app.engine.results import Assessment, Contributor
from app.household.file import document_of, household_from
from app.household.household import Household
from app.household.resolve import Resolved, resolve
from tests.charts.conftest import HOUR_MS, made, piece, reading

Plan = tuple[Resolved, Assessment, DayChart]


def test_the_solid_layers_end_at_what_is_certain_and_all_layers_at_the_worst(plan: Plan) -> None:
    """Certain draws fill the stack up to the certain curve, what comes and goes from there to the worst."""
    _, _, chart = plan
    solid = [layer for layer in chart.layers if layer.certain]

    np.testing.assert_allclose(solid[-1].high_w, chart.certain_w, atol=1e-6)
    np.testing.assert_allclose(chart.layers[-1].high_w, chart.worst_w, atol=1e-6)


def test_each_layer_begins_where_the_one_below_ends(plan: Plan) -> None:
    """There is no gap and no overlap in the stack, and no layer is negative."""
    _, _, chart = plan
    below = np.zeros(len(chart.worst_w))
    for layer in chart.layers:
        np.testing.assert_array_equal(layer.low_w, below)
        assert (layer.high_w >= layer.low_w).all()
        below = layer.high_w


def test_the_chart_covers_the_whole_horizon(plan: Plan) -> None:
    """From midnight to noon of the next day, with a label every three hours and midnight marked once."""
    _, assessment, chart = plan

    assert (chart.edges_ms[0], chart.edges_ms[-1]) == (0, assessment.horizon_ms)
    assert [tick.hour for tick in chart.ticks] == [0, 3, 6, 9, 12, 15, 18, 21, 0, 3, 6, 9, 12]
    assert [tick.at_ms for tick in chart.ticks if tick.midnight] == [assessment.day_ms]


@pytest.mark.parametrize(("day", "hours"), [("2026-03-29", 35), ("2026-10-25", 37)])
def test_a_day_on_which_clocks_change_keeps_its_hours(demo: Household, day: str, hours: int) -> None:
    """Labels stand at the clock's hours, so the axis of such a day is an hour shorter or longer."""
    document = document_of(demo)
    document["scenarios"][1]["date"] = day
    household = household_from(document)
    resolved = resolve(household, "laundry")
    chart = day_chart(resolved, assess(household, "laundry"))

    assert chart.horizon_ms == hours * HOUR_MS
    assert chart.ticks[-1].at_ms == chart.horizon_ms
    assert chart.ticks[4].at_ms == (hours - 24) * HOUR_MS  # noon


def test_behaviour_decides_the_layer(resolved: Resolved, charted: Callable[..., DayChart]) -> None:
    """Always on, a programme, by hand, and what others set off are layers of their own."""
    keys = behaviours(resolved)
    assert (keys["fridge"], keys["washer"][:4], keys["kettle"][:4]) == ("base", "prog", "hand")

    chart = charted(
        piece("fridge", 0, 36, 110, certain=False),
        piece("washer", 9, 10, 2000),
        piece("kettle", 9, 9.5, 2000),
        piece("well-pump", 9, 9.1, 900, set_off=True),
    )
    assert [(layer.key[:4], layer.certain) for layer in chart.layers] == [
        ("foll", True), ("prog", True), ("hand", True), ("base", False),
    ]  # fmt: skip


def test_the_stack_never_rises_above_the_engines_curve(charted: Callable[..., DayChart]) -> None:
    """Where an interlock lets only one of two count, the engine's curve is below the sum: so is the stack."""
    chart = charted(piece("washer", 9, 10, 2000), piece("kettle", 9, 10, 2000), ceiling_w=2000)

    assert chart.layers[-1].high_w.max() == 2000


def test_the_worst_limit_marks_its_stretch_and_its_runs(resolved: Resolved) -> None:
    """The mark is the stretch of constant draw the limit is tightest in, with the runs that make it."""
    over = replace(
        reading("inverter_continuous", "over", at_h=9.5),
        contributors=(
            Contributor("washer", "wash-1", "heat", True, 2000, 2000),
            Contributor("fridge", None, None, False, 110, 110),
        ),
    )
    fine = reading("dc_fuse", "fits", at_h=3)
    assessment = made([piece("washer", 9, 10, 5000)], limits=[fine, over], verdict="over")
    chart = day_chart(resolved, assessment, over)

    assert chart.mark is not None
    assert (chart.mark.from_ms, chart.mark.to_ms) == (9 * HOUR_MS, 10 * HOUR_MS)
    assert chart.mark.runs == {"wash-1"}


def test_a_day_that_fits_has_no_mark(resolved: Resolved) -> None:
    """Where nothing is wrong, nothing is marked."""
    fine = reading("dc_fuse", "fits")
    assessment = made([piece("washer", 9, 10, 500)], limits=[fine])

    assert day_chart(resolved, assessment, fine).mark is None


@pytest.mark.parametrize(
    ("limits", "above"),
    [
        ([("inverter_continuous", "short_time")], "short_time"),
        ([("inverter_continuous", "over")], "over"),
        ([("inverter_apparent", "chance"), ("inverter_continuous", "short_time")], "chance"),
        ([("inverter_overload", "chance"), ("inverter_continuous", "short_time")], "short_time"),
    ],
)
def test_what_lies_above_the_line_has_the_verdict_on_running(
    charted: Callable[..., DayChart], limits: list[tuple[str, str]], above: str
) -> None:
    """A start that is too much says nothing about what runs above the limit for hours."""
    readings = [reading(limit_id, verdict) for limit_id, verdict in limits]  # type: ignore[arg-type]

    assert charted(piece("washer", 9, 10, 5000), limits=readings).above == above
