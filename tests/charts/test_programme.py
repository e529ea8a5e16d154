"""The picture of a programme: what it shows, from one stage of ten seconds to twelve of two hours."""

import re
import xml.etree.ElementTree as ET
from typing import Any

import pytest

from app.charts.programme import ProgrammeChart, programme_chart, told
from app.charts.programme_svg import ProgrammeWords, programme_svg
from app.household import library
from app.household.appliance import Appliance
from app.web.figures import duration, quantity
from tests.charts.pictures import SCREENS, collisions, said, texts, well_formed

KNOWN = {entry.id: entry.appliance for entry in library.entries()}
WORDS = ProgrammeWords(quantity, duration, open_end="as long as it runs")


def chart_of(*stages: dict[str, Any], **more: Any) -> ProgrammeChart:
    """The description of an appliance of these stages, among the library's."""
    document = {"id": "new", "name": "New", "stages": list(stages)} | more
    return programme_chart(Appliance.model_validate(document), KNOWN)


def start(va: float) -> dict[str, float]:
    return {"va": va, "power_factor": 0.6, "duration_s": 0.5}


SHORTEST = chart_of({"name": "beep", "duration_s": 10, "watts": 800})
LONGEST = chart_of(
    *(
        {
            "name": f"stage number {number}",
            "duration_s": 7200,
            "watts": 300 + 200 * (number % 4),
            "water_l": 8 if number % 3 == 0 else 0,
            "start": start(3000 + 100 * number),
        }
        for number in range(12)
    )
)
CHARTS = {"shortest": SHORTEST, "longest": LONGEST} | {
    entry.id: programme_chart(entry.appliance, KNOWN) for entry in library.entries()
}
by_chart = pytest.mark.parametrize("chart", CHARTS.values(), ids=CHARTS)


def blocks(drawing: str) -> list[tuple[float, float, float, float]]:
    """The stages as drawn: left, top, width and height in per cent, in the order of time."""
    rects = re.findall(
        r'<rect class="(?:layer|hatch) (?!follow)[^>]*x="([\d.]+)%" y="([\d.]+)%" width="([\d.]+)%" height="([\d.]+)%"',
        drawing,
    )
    return sorted(tuple(map(float, rect)) for rect in rects)  # type: ignore[misc]


@by_chart
def test_no_two_texts_lie_on_each_other(chart: ProgrammeChart) -> None:
    """On every width from a phone with large text to a desk."""
    drawing = programme_svg(chart, WORDS)

    for face, width_px in SCREENS:
        assert collisions(drawing, face, width_px) == []


@by_chart
def test_every_text_lies_inside_the_picture(chart: ProgrammeChart) -> None:
    """Nothing is cut at either side."""
    drawing = programme_svg(chart, WORDS)

    for face, width_px in SCREENS:
        assert all(box[0] >= -0.5 and box[2] <= width_px + 0.5 for _, box in texts(drawing, face, width_px))


@by_chart
def test_a_picture_is_well_formed_and_says_what_it_shows(chart: ProgrammeChart) -> None:
    """It has a sentence for who cannot see it, that begins with the appliance's name."""
    drawing = programme_svg(chart, WORDS)

    well_formed(drawing)
    assert str(ET.fromstring(drawing).get("aria-label")).startswith(f"{chart.name}: ")


def test_ten_seconds_are_read_in_seconds() -> None:
    """One stage of ten seconds has its name, its draw and an axis of seconds."""
    written = said(programme_svg(SHORTEST, WORDS))

    assert "beep 800\u00a0W" in written
    assert "10\u00a0s" in written


def test_a_day_of_twelve_stages_is_read_in_hours() -> None:
    """The highest stages have their names, the largest start its figure, the axis its hours."""
    written = said(programme_svg(LONGEST, WORDS))

    assert "24\u00a0h" in written
    assert "4.1\u00a0kVA" in written
    assert any(text.startswith("stage number") for text in written)


def test_stages_are_drawn_in_proportion_to_their_time_and_draw() -> None:
    """Twice as long is twice as wide, twice the watts twice as high, and each begins where the last ended."""
    chart = chart_of({"duration_s": 600, "watts": 500}, {"duration_s": 1200, "watts": 1000})
    first, second = blocks(programme_svg(chart, WORDS))

    assert second[2] == pytest.approx(2 * first[2], abs=0.02)
    assert second[3] == pytest.approx(2 * first[3], abs=0.02)
    assert second[0] == pytest.approx(first[0] + first[2], abs=0.02)
    assert first[1] + first[3] == pytest.approx(100, abs=0.02)


def test_a_stage_of_seconds_in_a_programme_of_hours_can_still_be_seen() -> None:
    """It is two pixels wide on a phone, and stays inside the picture at its end."""
    chart = chart_of({"duration_s": 7200, "watts": 500}, {"duration_s": 2, "watts": 2000})
    last = blocks(programme_svg(chart, WORDS))[-1]

    assert last[2] * 340 / 100 >= 2
    assert last[0] + last[2] <= 100.001


def test_what_comes_and_goes_is_hatched_with_a_line_at_its_average() -> None:
    """600 W on for a third of the time is 200 W on average."""
    drawing = programme_svg(
        chart_of({"duration_s": 3600, "watts": 600, "cycle": {"on_s": 60, "period_s": 180}}, name="Dryer"), WORDS
    )

    assert 'fill="url(#hatch-hand1)"' in drawing
    assert 'class="average"' in drawing
    assert "average 200\u00a0W" in said(drawing)


def test_an_unknown_instant_has_a_hollow_head() -> None:
    """The start of a stage is a filled head; that of what comes and goes is not."""
    known, unknown = (
        programme_svg(chart_of({"duration_s": 60, "watts": 900, "start": start(4500)} | more), WORDS)
        for more in ({}, {"cycle": {"on_s": 1, "period_s": 5}})
    )

    assert 'class="head planned"' in known
    assert 'class="head itself"' in unknown


def test_water_is_a_drop_with_its_litres_where_it_begins() -> None:
    """Two fills are two drops; without water there is no room kept for it."""
    filled = programme_svg(
        chart_of({"duration_s": 600, "watts": 9, "water_l": 12.5}, {"duration_s": 600, "watts": 9, "water_l": 8}), WORDS
    )

    assert filled.count('class="drop"') == 2
    assert {"12.5\u00a0l", "8\u00a0l"} <= set(said(filled))
    assert 'class="drop"' not in programme_svg(SHORTEST, WORDS)


def test_what_follows_has_a_lane_of_its_own_name() -> None:
    """An extractor lasts as long as its saw; a kettle set off later lasts as long as a kettle, and is drawn whole."""
    chart = chart_of(
        {"duration_s": 600, "watts": 900, "sets_off": [
            {"appliance": "dust-extractor"}, {"appliance": "kettle", "after_s": 500}]}
    )  # fmt: skip
    extractor, kettle = chart.followers
    drawing = programme_svg(chart, WORDS)

    assert extractor.spans_s == ((0, 600),)
    assert kettle.spans_s == ((500, 680),)
    assert chart.length_s == 680
    assert drawing.count('class="layer follow"') == 2
    assert {KNOWN["dust-extractor"].name, KNOWN["kettle"].name} <= set(said(drawing))


def test_what_is_set_off_twice_has_one_lane() -> None:
    """Two stages that set off one extractor are two bars in its lane."""
    called = {"duration_s": 600, "watts": 900, "sets_off": [{"appliance": "dust-extractor"}]}
    (only,) = chart_of(called, {"duration_s": 60, "watts": 20}, called).followers

    assert only.spans_s == ((0, 600), (660, 1260))


def test_a_follower_that_is_not_there_yet_keeps_its_id() -> None:
    """While an appliance is entered, what it sets off may not be in the household; it lasts as long as the stage."""
    (only,) = chart_of({"duration_s": 9, "watts": 9, "sets_off": [{"appliance": "new-fan"}]}).followers

    assert (only.name, only.spans_s) == ("new-fan", ((0, 9),))


def test_what_has_no_end_of_its_own_says_so() -> None:
    """A saw lasts as long as it runs; a fridge is on all day, and three of its cycles are shown."""
    saw = chart_of({"watts": 1100})
    fridge = chart_of({"watts": 110, "cycle": {"on_s": 900, "period_s": 2700}}, always_on=True)

    assert saw.open_ended
    assert 'class="no-end"' in programme_svg(saw, WORDS)
    assert "1.1\u00a0kW, as long as it runs" in said(programme_svg(saw, WORDS))
    assert fridge.length_s == 3 * 2700
    assert "110\u00a0W all day, on and off by itself, 37\u00a0W on average" in told(fridge, quantity, duration)


def test_colour_follows_behaviour() -> None:
    """Always there, a programme of three stages, and what is used by hand."""
    one = {"duration_s": 60, "watts": 5}

    assert chart_of({"watts": 5}, always_on=True).key == "base"
    assert chart_of(one, one, one).key == "prog1"
    assert chart_of(one).key == "hand1"


def test_a_programme_is_told_stage_by_stage() -> None:
    """Name, draw, length, start, water and what it sets off are in the sentence."""
    chart = chart_of(
        {"name": "fill", "duration_s": 120, "watts": 20, "water_l": 12},
        {"name": "spin", "duration_s": 300, "watts": 420, "start": start(1400),
         "sets_off": [{"appliance": "dust-extractor"}]},
        name="Washer",
    )  # fmt: skip

    assert told(chart, quantity, duration).replace("\u00a0", " ") == (
        "Washer: fill 20 W for 2 min, taking in 12 l of water; spin 420 W for 5 min, starting with 1.4 kVA."
        f" It also starts {KNOWN['dust-extractor'].name}."
    )


def test_names_stay_text() -> None:
    """A name with markup in it is escaped, in the picture and in what is said of it."""
    drawing = programme_svg(chart_of({"name": "<b>", "duration_s": 60, "watts": 5}, name='"><script>'), WORDS)

    well_formed(drawing)
    assert "<script" not in drawing
    assert "<b> 5\u00a0W" in said(drawing)


def test_a_stage_that_draws_nothing_has_a_line_and_no_trouble() -> None:
    """A pause of 0 W is drawn, alone or between others."""
    well_formed(programme_svg(chart_of({"name": "wait", "duration_s": 60, "watts": 0}), WORDS))
