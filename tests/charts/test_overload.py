"""The inverter's levels over time, with the hardest moments of a plan; and its watts over the temperature."""

import re
import xml.etree.ElementTree as ET
from typing import Any

import pytest

from app.charts.derating import DeratingWords, derating_svg
from app.charts.overload import OverloadChart, moment_said, moments_told, overload_chart, told
from app.charts.overload_svg import OverloadWords, overload_svg
from app.engine.assess import assess
from app.engine.results import Surge
from app.household.household import Household
from app.household.resolve import resolve
from app.household.supply import Inverter
from app.web.figures import duration, quantity
from tests.charts.conftest import made, piece, reading
from tests.charts.pictures import SCREENS, collisions, said, texts, well_formed

WORDS = OverloadWords(quantity, duration)
WARMTH = DeratingWords(quantity, lambda at_c: f"{at_c:g} degC")
PLANS = ("ordinary", "laundry", "shed")


def inverter(**more: Any) -> Inverter:
    """A 5 kVA inverter with three levels."""
    return Inverter.model_validate(
        {
            "rated_va": 5000,
            "continuous_w": [[25, 4500], [40, 3900]],
            "overload": [[6000, 1800], [7500, 60], [10_000, 5]],
            "peak_efficiency": 0.95,
            "peak_efficiency_at": 0.3,
            "full_load_efficiency": 0.92,
            "cut_off_v": 46,
            "ac_voltage": 230,
        }
        | more
    )


def alone(**more: Any) -> OverloadChart:
    """An inverter without a plan."""
    return overload_chart(inverter(**more), None, {})


def of_plan(demo: Household, plan: str) -> OverloadChart:
    """The demo's inverter under one of its plans."""
    resolved = resolve(demo, plan)
    names = {appliance.id: appliance.name for appliance in resolved.household.appliances}
    return overload_chart(resolved.household.supply.inverter, assess(demo, plan), names)


INVERTERS = {
    "three levels": alone(),
    "one level": alone(overload=[[6000, 5]]),
    "eight levels": alone(
        overload=[[5200, 7200], [5500, 600], [6000, 60], [6500, 20], [7000, 10], [8000, 5], [9000, 1], [9500, 0.2]]
    ),
    "a level as long as a day": alone(overload=[[6000, 86_400], [9000, 60]]),
    "small": alone(rated_va=300, continuous_w=[[25, 250]], overload=[[600, 1]]),
}
by_inverter = pytest.mark.parametrize("chart", INVERTERS.values(), ids=INVERTERS)


def corners(drawing: str) -> list[tuple[float, float]]:
    """The corners of the line, in units of the drawing."""
    path = re.search(r'class="carried" d="M([^"]*)"', drawing)
    assert path is not None
    x, y = (float(one) for one in re.split("[HV]", path[1])[0].split(","))
    found = [(x, y)]
    for letter, number in re.findall(r"([HV])([\d.]+)", path[1]):
        x, y = (float(number), y) if letter == "H" else (x, float(number))
        found.append((x, y))
    return found


def test_each_level_lasts_as_long_as_the_inverter_carries_it() -> None:
    """10 kVA for 5 s, 7.5 for a minute, 6 for half an hour, and 4.5 kW for hours."""
    assert [tuple(level) for level in alone().levels] == [
        (10_000, 5, "VA"),
        (7500, 60, "VA"),
        (6000, 1800, "VA"),
        (4500, None, "W"),
    ]


def test_a_level_lasts_no_longer_than_those_it_stands_on() -> None:
    """What passes the first level too fills its store as well: 7.5 kVA for ten minutes last a minute."""
    levels = alone(overload=[[6000, 60], [7500, 600], [9000, 5]]).levels

    assert [tuple(level) for level in levels] == [(9000, 5, "VA"), (7500, 60, "VA"), (4500, None, "W")]


def test_for_hours_the_smaller_of_watts_and_rating_counts() -> None:
    """An inverter of 5 kVA that carries 5.5 kW is carried by its rating."""
    assert tuple(alone(continuous_w=[[25, 5500]]).levels[-1]) == (5000, None, "VA")


def test_the_line_only_goes_down(demo: Household) -> None:
    """From the left to the right, step by step, over the whole width, as high as its levels are."""
    drawing = overload_svg(alone(), WORDS)
    line = corners(drawing)

    assert [x for x, _ in line] == sorted(x for x, _ in line)
    assert [y for _, y in line] == sorted(y for _, y in line)
    assert (line[0][0], line[-1][0]) == (0, 1440)
    heights = sorted({176 - y for _, y in line})
    assert [one / heights[-1] for one in heights] == pytest.approx([0.45, 0.6, 0.75, 1], abs=0.002)


def test_the_axis_is_logarithmic() -> None:
    """Ten times as long is the same way to the right, up to the longest level."""
    xs = sorted({x for x, _ in corners(overload_svg(alone(overload=[[6000, 1000], [7000, 100], [8000, 10]]), WORDS))})

    assert xs[2] - xs[1] == pytest.approx(xs[3] - xs[2], abs=1.5)


@by_inverter
def test_no_two_texts_lie_on_each_other_beside_an_inverter(chart: OverloadChart) -> None:
    """On every width, and the place where it switches off is named."""
    drawing = overload_svg(chart, WORDS)

    well_formed(drawing)
    for face, width_px in SCREENS:
        assert collisions(drawing, face, width_px) == []
    assert "switches off here" in said(drawing)
    assert "hours" in said(drawing)


@pytest.mark.parametrize("plan", PLANS)
def test_no_two_texts_lie_on_each_other_under_a_plan(demo: Household, plan: str) -> None:
    """Every moment that is named has its place, inside the drawing or in the room at its left."""
    drawing = overload_svg(of_plan(demo, plan), WORDS)

    well_formed(drawing)
    for face, width_px in SCREENS:
        assert collisions(drawing, face, width_px) == []
        assert all(box[0] >= -36.5 and box[2] <= width_px + 0.5 for _, box in texts(drawing, face, width_px))


@pytest.mark.parametrize("plan", PLANS)
def test_the_tallest_start_of_a_plan_is_the_engines(demo: Household, plan: str) -> None:
    """The tallest start, its length and its verdict are what the assessment has, and its figure is written."""
    tallest = max(assess(demo, plan).surges, key=lambda surge: surge.total_va)
    chart = of_plan(demo, plan)
    first = chart.moments[0]

    assert (first.kind, first.value, first.lasts_s, first.verdict) == (
        "start", tallest.total_va, tallest.duration_s, tallest.verdict,
    )  # fmt: skip
    assert any(quantity(tallest.total_va, "VA") in text for text in said(overload_svg(chart, WORDS)))


def test_the_longest_time_above_a_level_is_the_engines(demo: Household) -> None:
    """The heat of the laundry day: as long and as high as the reading says."""
    overload = assess(demo, "laundry").limit("inverter_overload")
    assert overload is not None
    assert overload.heat is not None
    (heat,) = [one for one in of_plan(demo, "laundry").moments if one.kind == "heat"]

    assert (heat.lasts_s, heat.value, heat.unit) == (overload.heat.lasts_s, overload.heat.use, overload.heat.unit)


def test_a_steady_peak_has_the_time_it_lasts_and_who_makes_it() -> None:
    """2 kW for ten minutes over 1 kW for two hours: both are moments, with their names."""
    plan = made([piece("oven", 8, 10, 1000), piece("kettle", 9, 9 + 1 / 6, 1000)])
    peak, base = overload_chart(inverter(), plan, {"oven": "Oven", "kettle": "Kettle"}).moments

    assert (peak.value, peak.lasts_s, set(peak.names)) == (2000, 600, {"Oven", "Kettle"})
    assert (base.value, base.lasts_s, base.names) == (1000, 7200, ("Oven",))
    assert moments_told(overload_chart(inverter(), plan, {}), quantity, duration)[1] == "oven, 1.0\u00a0kW for 2\u00a0h"


def test_what_comes_and_goes_does_not_stay_above_what_is_carried_for_hours() -> None:
    """4 kW surely and 2 kW that come and go: steadily there are 4 kW, for the rest is a time above a level."""
    plan = made([piece("oven", 8, 10, 4000), piece("pump", 0, 36, 2000, certain=False)])

    assert [one.value for one in overload_chart(inverter(), plan, {}).moments] == [4000]


def test_starts_behind_a_taller_one_are_not_shown() -> None:
    """Two fridges that start alike are one point; a third machine is another."""
    surges = [
        Surge(0, name, None, 900, length_s, 500, total_va, None, "fits", False)
        for name, length_s, total_va in (("a", 0.4, 5000.0), ("b", 0.4, 4950.0), ("c", 2.0, 4950.0), ("d", 0.4, 3000.0))
    ]
    chart = overload_chart(inverter(), made([piece("a", 0, 1, 0)], surges), {})

    assert [one.names[0] for one in chart.moments] == ["a", "c", "d"]


def test_a_warm_day_lowers_the_line() -> None:
    """Where the plan grows warm there is a second, lower line, as the engine has it."""
    warm = made([piece("oven", 8, 10, 1000)])
    warm.curves.start_limit_va[3:] = 9000.0
    warm.curves.limit_w[3:] = 4050.0
    chart = overload_chart(inverter(), warm, {})

    assert [level.value for level in chart.warmest] == pytest.approx([9000, 6750, 5400, 4050])
    assert [level.value for level in chart.levels] == pytest.approx([10_000, 7500, 6000, 4500])
    assert 'class="warmest"' in overload_svg(chart, WORDS)
    assert 'class="warmest"' not in overload_svg(alone(), WORDS)


def test_a_moment_above_the_line_carries_its_verdict() -> None:
    """A start above the top level is drawn as what it is, and the drawing grows to hold it."""
    surges = [Surge(0, "saw", "r", 9000, 1.0, 3000, 12_000.0, 0.0, "over", True)]
    limits = [reading("inverter_continuous", "fits")]
    drawing = overload_svg(overload_chart(inverter(), made([piece("saw", 0, 1, 900)], surges, limits), {}), WORDS)

    assert 'class="hard start s-over"' in drawing
    assert all(0 <= float(y) <= 100 for y in re.findall(r'cy="([\d.-]+)%"', drawing))


def test_an_empty_plan_has_no_moments() -> None:
    """Nothing runs, nothing is hard."""
    assert overload_chart(inverter(), made([piece("oven", 8, 10, 0)]), {}).moments == ()


def test_the_levels_and_the_moments_are_told() -> None:
    """Who cannot see the drawing has all of it in two sentences."""
    plan = made([piece("oven", 8, 10, 1000)], [Surge(0, "pump", None, 4000, 0.6, 500, 5900.0, None, "fits", False)])
    chart = overload_chart(inverter(), plan, {"oven": "Oven", "pump": "Pump"})

    assert told(chart, quantity, duration).replace("\u00a0", " ") == (
        "The inverter carries 10.0 kVA for 5 s, 7.5 kVA for 1 min, 6.0 kVA for 30 min, 4.5 kW for hours."
        " The hardest moments: Pump starts, 5.9 kVA for 0.6 s; Oven, 1.0 kW for 2 h."
    )


def test_long_names_are_shortened_and_dropped_before_the_figure() -> None:
    """The figure is never cut."""
    plan = made([piece("oven", 8, 10, 1000)])
    (moment,) = overload_chart(inverter(), plan, {"oven": "A very long name of an oven in the kitchen"}).moments

    assert moment_said(moment, quantity) == "A very long name of an oven\u2026, 1.0\u00a0kW"
    assert moment_said(moment, quantity, 0) == "1.0\u00a0kW"


CURVES = {
    "one point": [[25, 2500]],
    "two points": [[25, 4500], [40, 3900]],
    "many": [[-20, 3500], [0, 3200], [25, 3000], [35, 2800], [45, 2000], [60, 500]],
    "close together": [[24, 3000], [25, 2900], [26, 2500]],
}


@pytest.mark.parametrize("points", CURVES.values(), ids=CURVES)
@pytest.mark.parametrize("plan_c", [None, (12, 31), (25, 25), (-30, 70)])
def test_watts_over_temperature_are_drawn_without_a_collision(
    points: list[list[float]], plan_c: tuple[float, float] | None
) -> None:
    """Whatever the points and the plan's temperatures, texts keep apart and every point is inside."""
    drawing = derating_svg(inverter(continuous_w=points), WARMTH, plan_c)

    well_formed(drawing)
    for face, width_px in SCREENS:
        assert collisions(drawing, face, width_px) == []
    assert drawing.count('class="known"') == len(points)
    assert all(0 <= float(x) <= 100 for x in re.findall(r'cx="([\d.-]+)%"', drawing))
    assert ('class="plan-warmth"' in drawing) == (plan_c is not None)


def test_watts_over_temperature_are_told() -> None:
    """The points are in the sentence, and the plan's temperatures."""
    label = ET.fromstring(derating_svg(inverter(), WARMTH, (12, 31))).get("aria-label")

    assert str(label).replace("\u00a0", " ") == (
        "The inverter carries for hours 4.5 kW at 25 degC, 3.9 kW at 40 degC. In this plan it is 12 degC to 31 degC."
    )
