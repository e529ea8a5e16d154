"""The close-up: which stretch it shows, how wide, and what stands in it."""

import re
import xml.etree.ElementTree as ET
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from app.charts.closeup import CloseUp, closeup
from app.charts.closeup_svg import AXIS_PX, closeup_axis_svg, closeup_svg, leader_svg
from app.charts.day import day_chart
from app.engine.assess import assess
from app.engine.results import Assessment, Contributor, HeatReading, LimitReading, Surge
from app.household.household import Household
from app.household.resolve import Resolved, resolve
from app.web.figures import face
from app.web.words import decisive
from tests.charts.conftest import HOUR_MS, made, piece, reading
from tests.charts.texts import SAID, collisions, words_of

MINUTE_MS = 60_000
Near = Callable[[str], CloseUp]


@pytest.fixture
def near(demo: Household) -> Near:
    """The close-up of one of the demo's plans."""

    def of(plan_id: str) -> CloseUp:
        resolved, assessment = resolve(demo, plan_id), assess(demo, plan_id)
        part = closeup(resolved, assessment, decisive(assessment, resolved.day.wanted_margin))
        assert part is not None
        return part

    return of


def over(at_h: float, **more: object) -> LimitReading:
    return replace(reading("inverter_continuous", "over", at_h), **more)  # type: ignore[arg-type]


@pytest.mark.parametrize("plan_id", ["ordinary", "laundry", "shed"])
def test_the_window_is_about_an_hour_on_round_edges(near: Near, plan_id: str) -> None:
    """It begins and ends at a multiple of five minutes, and lasts 40 to 90."""
    part = near(plan_id)

    assert part.from_ms % (5 * MINUTE_MS) == part.to_ms % (5 * MINUTE_MS) == 0
    assert 40 * MINUTE_MS <= part.to_ms - part.from_ms <= 90 * MINUTE_MS


def test_the_stretch_lies_inside_with_what_leads_into_it_and_out(resolved: Resolved) -> None:
    """Both its edges are inside, and so is a change a few minutes before."""
    assessment = made([piece("washer", 9, 9.1, 5000), piece("kettle", 8.8, 9.3, 500)])
    part = closeup(resolved, assessment, over(9.05))
    assert part is not None

    assert (part.mark.from_ms, part.mark.to_ms) == (9 * HOUR_MS, round(9.1 * HOUR_MS))
    assert part.from_ms < 8.8 * HOUR_MS
    assert part.to_ms > 9.3 * HOUR_MS


@pytest.mark.parametrize(("at_h", "length_h"), [(0, 0.05), (0.1, 0.05), (35.9, 0.05), (12, 2.3), (34, 1.9)])
def test_the_window_stays_on_the_axis(resolved: Resolved, at_h: float, length_h: float) -> None:
    """At midnight and at the horizon it is moved inwards; it holds the stretch and is never shorter than 40 minutes."""
    assessment = made([piece("washer", at_h, at_h + length_h, 5000)])
    part = closeup(resolved, assessment, over(at_h))
    assert part is not None

    assert 0 <= part.from_ms <= part.mark.from_ms
    assert part.mark.to_ms <= part.to_ms <= 36 * HOUR_MS
    assert part.to_ms - part.from_ms >= 40 * MINUTE_MS


def test_what_the_day_shows_well_has_no_close_up(resolved: Resolved) -> None:
    """Three hours are wide enough to be read on a phone's day, two are not."""
    long, short = made([piece("washer", 9, 12, 5000)]), made([piece("washer", 9, 11, 5000)])

    assert closeup(resolved, long, over(9)) is None
    assert closeup(resolved, short, over(9)) is not None


@pytest.mark.parametrize(("limit_id", "verdict"), [("inverter_continuous", "fits"), ("cold_restart", "over")])
def test_a_plan_that_fits_and_a_power_cut_have_none(resolved: Resolved, limit_id: str, verdict: str) -> None:
    """Where nothing decides there is nothing to show; what comes back after a cut is not what runs."""
    assessment = made([piece("washer", 9, 9.1, 5000)])

    assert closeup(resolved, assessment, None) is None
    assert closeup(resolved, assessment, reading(limit_id, verdict, 9)) is None  # type: ignore[arg-type]


@pytest.mark.parametrize("plan_id", ["ordinary", "laundry", "shed"])
def test_the_bands_of_appliances_make_the_days_curves(near: Near, demo: Household, plan_id: str) -> None:
    """Stacked appliance by appliance they end at the same certain and worst draws as the day's chart."""
    part, assessment = near(plan_id), assess(demo, plan_id)
    middles_ms = (part.edges_ms[:-1] + part.edges_ms[1:]) / 2
    place = np.searchsorted(assessment.curves.t_ms, middles_ms) - 1
    solid = [layer for layer in part.layers if layer.certain]

    np.testing.assert_allclose(part.layers[-1].high_w, assessment.curves.worst_w[place], atol=1e-6)
    np.testing.assert_allclose(solid[-1].high_w, assessment.curves.certain_w[place], atol=1e-6)
    assert len({(layer.kind.appliance, layer.certain) for layer in part.layers}) == len(part.layers)


def test_each_band_is_one_appliances_own_draw(near: Near, demo: Household) -> None:
    """In the hour of the laundry day the washer's band is as high as its stages draw."""
    part, assessment = near("laundry"), assess(demo, "laundry")
    washer = next(layer for layer in part.layers if layer.kind.appliance == "washer" and layer.certain)
    for number, at_ms in enumerate(((part.edges_ms[:-1] + part.edges_ms[1:]) / 2).tolist()):
        own_w = sum(
            one.w
            for one in assessment.pieces
            if one.appliance == "washer" and one.certain and one.begin_ms <= at_ms < one.end_ms
        )
        assert washer.high_w[number] - washer.low_w[number] == pytest.approx(own_w)


def test_time_above_a_level_shows_that_level_and_that_time(near: Near, demo: Household) -> None:
    """On the laundry day the minute above 6 kVA decides, not the largest start of the day."""
    part = near("laundry")
    heat = next(one.heat for one in assess(demo, "laundry").limits if one.id == "inverter_overload")
    assert heat is not None
    assert part.level is not None

    assert part.mark.from_ms <= heat.since_ms < part.mark.to_ms
    assert part.level.allowed_s == 60
    assert 5600 < part.level.va.min() <= part.level.va.max() <= 6000
    assert part.starts == ()


def test_the_day_marks_the_same_time(near: Near, demo: Household) -> None:
    """The day's chart and the close-up mark one stretch."""
    resolved, assessment = resolve(demo, "laundry"), assess(demo, "laundry")
    chart = day_chart(resolved, assessment, decisive(assessment, resolved.day.wanted_margin))

    assert chart.mark == near("laundry").mark


def test_a_start_that_decides_is_among_the_pins(near: Near) -> None:
    """In the shed the compressor's start is too much: the close-up shows it with the limit for starts."""
    part = near("shed")
    largest = max(part.starts, key=lambda start: start.total_va)

    assert (largest.name, largest.verdict) == ("Air compressor", "chance")
    assert part.start_limit_va is not None
    assert largest.total_va > part.start_limit_va.max()
    assert any("Air compressor 10.3" in words for words in words_of(closeup_svg(part, SAID), "narrow"))


def test_a_start_by_itself_in_a_long_stretch_is_shown_at_its_instant(resolved: Resolved) -> None:
    """It may happen any time in five hours; the window stands where it is worst."""
    starting = (Contributor("fridge", None, None, False, 900, 900, starting=True),)
    surge = Surge(10 * HOUR_MS, "fridge", None, 900, 0.5, 5000, 5900.0, 0, "chance", False)
    assessment = made([piece("washer", 10, 15, 5000)], surges=[surge])
    part = closeup(resolved, assessment, replace(over(10), id="inverter_overload", contributors=starting))
    assert part is not None

    assert part.to_ms - part.from_ms <= 90 * MINUTE_MS
    assert part.from_ms < 10 * HOUR_MS < part.to_ms
    assert [start.total_va for start in part.starts] == [5900.0]


def test_a_leg_has_no_level_in_a_picture_of_the_house(resolved: Resolved) -> None:
    """A level of half the inverter would be a line at the wrong height."""
    nine_ms = 9 * HOUR_MS
    heat = HeatReading(2500, 90, 60, nine_ms, nine_ms + 90_000, 90, nine_ms + 60_000, nine_ms, 2600, 2500, "VA")
    assessment = made([piece("washer", 9, 9.1, 5000)])
    part = closeup(resolved, assessment, replace(over(9), id="leg:A", unit="VA", heat=heat))
    assert part is not None

    assert part.level is None


def times(resolved: Resolved) -> Callable[[float], str]:
    return lambda ms: face(resolved.frame, ms)


def test_the_axis_has_as_many_labels_as_a_phone_can_carry(near: Near, demo: Household) -> None:
    """Four to seven, at round minutes, on the clock's face."""
    for plan_id in ("ordinary", "laundry", "shed"):
        part = near(plan_id)
        shown = words_of(closeup_axis_svg(part, times(resolve(demo, plan_id))), "roomy")
        assert 4 <= len(shown) <= 7
        assert all(re.fullmatch(r"\d\d:\d[05]", text) for text in shown)


def test_labels_follow_the_clock_when_it_changes(demo: Household) -> None:
    """On the morning clocks go forward, the hour from 01:00 to 02:00 is not there."""
    plan = demo.scenarios[0].model_copy(update={"date": "2026-03-29"})
    changed = resolve(demo.model_copy(update={"scenarios": (plan,)}))
    part = closeup(changed, made([piece("washer", 1, 1.1, 5000)]), over(1))
    assert part is not None

    assert [times(changed)(tick) for tick in part.ticks] == ["00:40", "00:50", "02:00", "02:10", "02:20"]


def test_the_hour_that_comes_twice_is_told_apart(demo: Household) -> None:
    """On the night clocks go back the second passing says so on the axis, and labels still keep clear."""
    plan = demo.scenarios[0].model_copy(update={"date": "2026-10-25"})
    changed = resolve(demo.model_copy(update={"scenarios": (plan,)}))
    part = closeup(changed, made([piece("washer", 2, 2.1, 5000)]), over(2))
    assert part is not None
    axis = closeup_axis_svg(part, times(changed))

    assert words_of(axis, "tight") == ["01:40", "01:10 (second)"]
    assert {"01:40", "01:00 (second)"} <= set(words_of(axis, "roomy"))
    for width_px, name in ((136, "tight"), (276, "roomy"), (860, "roomy")):
        assert collisions(axis, name, width_px, AXIS_PX) == []


def test_a_place_in_the_window_is_an_instant_and_back(near: Near) -> None:
    """From share to instant to share; outside of the window it is its edge."""
    part = near("laundry")

    assert part.at_ms(part.at_share(part.mark.from_ms)) == part.mark.from_ms
    assert (part.at_share(0), part.at_share(36 * HOUR_MS)) == (0, 1)
    assert (part.at_ms(-1), part.at_ms(2)) == (part.from_ms, part.to_ms)


def test_the_window_knows_where_it_lies_on_the_day(near: Near) -> None:
    """The lines down to the day's chart end where the window begins and ends there."""
    part = near("laundry")
    ends = re.search(r'd="M0,0L(\d+),\d+H(\d+)L1440,0"', leader_svg(part))
    assert ends is not None

    assert part.from_share == part.from_ms / (36 * HOUR_MS)
    assert [int(end) for end in ends.groups()] == [round(share * 1440) for share in (part.from_share, part.to_share)]


@pytest.mark.parametrize("plan_id", ["ordinary", "laundry", "shed"])
def test_its_drawings_are_well_formed_and_carry_no_style(near: Near, plan_id: str) -> None:
    """XML with presentation attributes only; a name with markup in it would stay text."""
    part = near(plan_id)
    for drawing in (closeup_svg(part, SAID), closeup_axis_svg(part, str), leader_svg(part)):
        ET.fromstring(drawing)
        assert "style=" not in drawing
    assert "<b>" not in closeup_svg(part, replace(SAID, mark="<b>"))


def test_names_stand_where_their_bands_are(near: Near) -> None:
    """The heavy loads of the laundry hour are named with their draw on a desk, where there is room."""
    said = words_of(closeup_svg(near("laundry"), SAID), "wide")

    assert any(text.startswith("Washing machine 2.0") for text in said)
    assert any(text.startswith("Heat-pump dryer 1.3") for text in said)


def test_an_assessment_is_not_changed(demo: Household) -> None:
    """Describing a close-up reads only."""
    before: Assessment = assess(demo, "shed")
    t_ms = before.curves.t_ms.copy()
    closeup(resolve(demo, "shed"), before, decisive(before, 0.15))

    np.testing.assert_array_equal(before.curves.t_ms, t_ms)
