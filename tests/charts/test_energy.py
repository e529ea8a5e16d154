"""Sun and bank on the day's axis: what is drawn is what was worked out, whole, well formed, no text on another."""

import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from app.charts.energy import EnergyChart, energy_chart, means_w
from app.charts.energy_svg import CHARGE_HIGH, CHARGE_PX, FULL, SUN_HIGH, SUN_PX, charge_svg, sun_svg
from app.engine.charge import BankDay
from app.engine.results import Assessment
from tests.charts.banks import HOUR_MS, bank_day, spell
from tests.charts.test_drawing import Plan, corners
from tests.charts.texts import DAY, collisions, words_of

DAY_MS, HORIZON_MS = 24 * HOUR_MS, 36 * HOUR_MS


def chart_of(bank: BankDay) -> EnergyChart:
    return energy_chart(bank, DAY_MS, HORIZON_MS)


def bank_of(assessment: Assessment) -> BankDay:
    assert assessment.battery is not None
    return assessment.battery


def path_of(drawing: str, kind: str) -> str:
    found = re.search(rf'class="{kind}" d="([^"]*)"', drawing)
    return found[1] if found else ""


def drawings(chart: EnergyChart) -> tuple[str, str]:
    return charge_svg(chart, "Charge", "reserve 25\u00a0%", "41\u00a0%", "97\u00a0%"), sun_svg(
        chart, "Sun", "5.2\u00a0kWh to spare"
    )


def test_bars_keep_the_energy(plan: Plan) -> None:
    """Used and spare sun of all bars come to that of the assessment's own steps."""
    bank = bank_of(plan[1])
    chart = energy_chart(bank, plan[1].day_ms, plan[1].horizon_ms)
    hours = np.diff(bank.edges_ms) / HOUR_MS
    wide_h = [(bar.to_share - bar.from_share) * plan[1].horizon_ms / HOUR_MS for bar in chart.bars]

    for drawn_w, worked_out_w in (
        ([bar.used_w for bar in chart.bars], bank.sun_w - bank.spare_w),
        ([bar.spare_w for bar in chart.bars], bank.spare_w),
    ):
        drawn_wh = sum(w * h for w, h in zip(drawn_w, wide_h, strict=True))
        assert drawn_wh == pytest.approx(float(worked_out_w @ hours), abs=10)


def test_lowest_and_highest_are_points_of_the_line(plan: Plan) -> None:
    """Thinning leaves out neither, and the lowest is the assessment's own."""
    bank = bank_of(plan[1])
    chart = energy_chart(bank, plan[1].day_ms, plan[1].horizon_ms)

    assert (chart.lowest.at_ms, chart.lowest.charge) == (bank.expected.at_ms, bank.expected.state_of_charge)
    assert chart.charge.min() == pytest.approx(chart.lowest.charge)
    assert chart.charge.max() == pytest.approx(float(bank.state_of_charge.max()))
    assert np.interp(chart.share(chart.lowest.at_ms), chart.at, chart.charge) == pytest.approx(chart.lowest.charge)


def test_the_line_ends_where_the_axis_does() -> None:
    """From midnight to noon of the next day, at the heights of the charge."""
    points = corners(path_of(charge_svg(chart_of(bank_day([0.8, 0.4, 1.0])), "", "", "", ""), "charge-line"))

    assert points[0] == (0, round((1 - 0.8 / FULL) * CHARGE_HIGH))
    assert points[-1] == (1440, round((1 - 1.0 / FULL) * CHARGE_HIGH))
    assert (720, round((1 - 0.4 / FULL) * CHARGE_HIGH)) in points


def test_what_is_missing_to_the_reserve_is_filled() -> None:
    """Only where the charge is below it."""
    charge = [0.5, 0.15, 0.15, 0.5]
    below = charge_svg(chart_of(bank_day(charge)), "", "", "", "")
    enough = charge_svg(chart_of(bank_day([0.5, 0.3, 0.5])), "", "", "", "")
    path = path_of(below, "above s-over")
    xs = [x for x, y in corners(path.split("V")[0]) if y > (1 - 0.25 / FULL) * CHARGE_HIGH + 1]

    assert min(xs) > 0
    assert max(xs) < 1440
    assert "s-over" not in enough


def test_filled_is_used_and_hollow_to_spare() -> None:
    """Bars of a day with 2 kW of which a quarter is left over: areas three to one, hollow on top."""
    chart = chart_of(bank_day([0.8] * 37, [2000.0] * 36, [500.0] * 36))
    drawing = sun_svg(chart, "")
    used, spare = path_of(drawing, "sun-used"), path_of(drawing, "sun-spare")

    assert used.count("M") == spare.count("M") == 72
    rise = re.findall(r"M(\d+),(\d+)V(\d+)", used)
    hollow = re.findall(r"M(\d+),(\d+)V(\d+)", spare)
    for (x, foot, top), (x_over, foot_over, top_over) in zip(rise, hollow, strict=True):
        assert (x, foot, top) == (x_over, str(SUN_HIGH), foot_over)
        assert (SUN_HIGH - int(top)) / (SUN_HIGH - int(top_over)) == pytest.approx(0.75, abs=0.02)


def test_hours_between_the_banks_own_steps_keep_the_energy() -> None:
    """A mean over other steps weighs each by its length."""
    bank = bank_day([0.5] * 10, [100.0, 900.0, *[0.0] * 7])
    means = means_w(bank, bank.sun_w, np.array([0.0, 2, 6, 36]) * HOUR_MS)

    assert means.tolist() == pytest.approx([100, 500, 2 * 900 / 30])


def test_a_generator_that_runs_for_a_minute_is_seen() -> None:
    """Its bar is never too narrow, and never outside."""
    drawing = charge_svg(
        chart_of(bank_day([0.3] * 3, generator=(spell(2, 2.01, 30), spell(35.99, 36, 30)))), "", "", "", ""
    )
    bars = re.findall(r"M(\d+),\d+h(\d+)", path_of(drawing, "generator"))

    assert [int(wide) >= 3 for _, wide in bars] == [True, True]
    assert all(int(left) + int(wide) <= 1440 for left, wide in bars)


def test_a_day_without_sun_has_no_bars() -> None:
    """And its charge is drawn all the same."""
    chart = chart_of(bank_day([0.5, 0.4]))

    assert (chart.bars, chart.spare, chart.most_w) == ((), None, 0)
    for drawing in drawings(chart):
        ET.fromstring(drawing)


def test_drawings_are_well_formed_and_carry_no_style(plan: Plan) -> None:
    """XML with presentation attributes only, all of it inside the drawing; words stay text."""
    chart = energy_chart(bank_of(plan[1]), plan[1].day_ms, plan[1].horizon_ms)
    for drawing in drawings(chart):
        ET.fromstring(drawing)
        assert "style=" not in drawing
    assert "<b>" not in charge_svg(chart, '"<b>', "<b>", "<b>", "<b>") + sun_svg(chart, "<b>", "<b>")


DAYS = {
    "full and falling": bank_day([1.0, 0.9, 0.5, 0.41, 0.6]),
    "near nothing": bank_day([0.3, 0.02, 0.0, 0.0, 0.2], generator=(spell(3, 9, 5000),)),
    "flat": bank_day([0.26] * 5),
    "on the reserve": bank_day([0.25, 0.3, 0.25, 0.24, 0.97]),
    "up and down": bank_day([0.3, 0.9] * 9),
    "a reserve of half": bank_day([0.9, 0.5, 0.45, 1.0], reserve=0.5, generator=(spell(20, 36, 5000),)),
    "all day sun": bank_day([0.5] * 37, [3000.0] * 36, [1500.0] * 36, spare=(spell(0, 36, 54000),)),
    "a low sun": bank_day([0.5] * 37, [*[0.0] * 9, *[150.0] * 6, *[0.0] * 21], spare=(spell(10, 14, 300),)),
    "early": bank_day([0.5] * 37, [3000.0] * 6 + [0.0] * 30, [2000.0] * 36, spare=(spell(0, 6, 3000),)),
}


@pytest.mark.parametrize("day", DAYS)
@pytest.mark.parametrize(("face", "width_px"), DAY)
def test_no_text_lies_on_another(day: str, face: str, width_px: float) -> None:
    """On any screen, whatever the day."""
    charge, sun = drawings(chart_of(DAYS[day]))

    assert collisions(charge, face, width_px, CHARGE_PX) == []
    assert collisions(sun, face, width_px, SUN_PX) == []


@pytest.mark.parametrize("face", ["inside", "beside"])
@pytest.mark.parametrize("day", ["full and falling", "near nothing", "on the reserve", "a reserve of half"])
def test_the_lowest_charge_and_the_reserve_are_labelled(day: str, face: str) -> None:
    """On a phone and on a desk."""
    said = words_of(drawings(chart_of(DAYS[day]))[0], face)

    assert "41\u00a0%" in said
    assert "reserve 25\u00a0%" in said


def test_one_label_is_enough_for_a_charge_that_stays() -> None:
    """Where highest and lowest are the same."""
    assert "97\u00a0%" not in words_of(drawings(chart_of(DAYS["flat"]))[0])
