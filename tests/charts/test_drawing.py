"""The drawing: thinned without losing a peak, well formed, and small."""

import gzip
import re
import xml.etree.ElementTree as ET
from collections.abc import Callable

import numpy as np
import pytest

from app.charts.columns import area_path, columns, line_path
from app.charts.day import DayChart
from app.charts.svg import WIDE, axis_svg, demand_svg, hatch_svg, starts_svg
from app.engine.results import Assessment, Surge
from app.household.resolve import Resolved
from tests.charts.conftest import HOUR_MS, piece

Plan = tuple[Resolved, Assessment, DayChart]
SECOND_H = 1 / 3600


def corners(path: str) -> list[tuple[float, float]]:
    """The corners of the outlines in path data of M, h, v and z."""
    x = y = 0.0
    found = []
    for letter, numbers in re.findall(r"([MhvVzL])([-\d., ]*)", path):
        if letter in "ML":
            x, y = (float(number) for number in numbers.split(","))
        elif letter == "h":
            x += float(numbers)
        elif letter == "v":
            y += float(numbers)
        found.append((x, y))
    return found


def area_of(path: str) -> float:
    """The area inside outlines, by the shoelace rule."""
    total = 0.0
    for outline in re.findall(r"M[^M]*", path):
        points = corners(outline)
        total += sum(x * v - u * y for (x, y), (u, v) in zip(points, points[1:] + points[:1], strict=True)) / 2
    return abs(total)


def test_every_column_shows_the_highest_draw_in_it(plan: Plan) -> None:
    """No column is lower than the worst draw anywhere in its time."""
    _, _, chart = plan
    blocks = columns(chart, WIDE)
    shown = np.repeat(chart.worst_w[blocks.stretch], blocks.end - blocks.begin)
    column_ms = chart.horizon_ms / WIDE

    assert (blocks.begin[0], blocks.end[-1]) == (0, WIDE)
    for column in range(WIDE):
        there = (chart.edges_ms[:-1] < (column + 1) * column_ms - 1) & (chart.edges_ms[1:] > column * column_ms + 1)
        assert shown[column] == chart.worst_w[there].max()


def test_a_pulse_of_a_second_stays_visible(charted: Callable[..., DayChart]) -> None:
    """A draw far shorter than a column is a column wide."""
    chart = charted(piece("fridge", 0, 36, 100), piece("kettle", 13, 13 + SECOND_H, 3000))
    blocks = columns(chart, WIDE)
    tall = chart.worst_w[blocks.stretch] == 3100

    assert (blocks.end - blocks.begin)[tall].tolist() == [1]


def test_an_outline_encloses_what_it_should() -> None:
    """The area of the outline is that of the blocks, gaps left out, whatever the steps below and above."""
    low = np.array([400, 400, 390, 300, 300, 400])
    high = np.array([300, 350, 390, 200, 100, 10])
    begin = np.array([0, 10, 20, 25, 30, 50])
    end = np.array([10, 20, 25, 30, 50, 60])

    path = area_path(low, high, begin, end)
    assert area_of(path) == int(((low - high) * (end - begin)).sum())
    assert path.count("z") == path.count("M") == 2


def test_an_outline_of_nothing_is_empty() -> None:
    """Where both edges meet everywhere there is nothing to draw."""
    edge = np.array([400, 300])

    assert area_path(edge, edge, np.array([0, 5]), np.array([5, 9])) == ""


def test_a_stepped_line_passes_every_level() -> None:
    """The line goes level by level to the end, equal neighbours joined."""
    line = line_path(np.array([400, 400, 100, 400]), np.array([0, 3, 5, 9]), np.array([3, 5, 9, 12]))

    assert corners(line) == [(0, 400), (5, 400), (5, 100), (9, 100), (9, 400), (12, 400)]


def drawings(chart: DayChart) -> list[str]:
    return [
        demand_svg(chart, "a", "b", "c"),
        starts_svg(chart, "a", "b", "c"),
        axis_svg(chart, "Sun"),
        hatch_svg(),
    ]


def test_drawings_are_well_formed_and_carry_no_style(plan: Plan) -> None:
    """Each drawing is XML with presentation attributes only, as the page's rules demand."""
    for drawing in drawings(plan[2]):
        ET.fromstring(drawing)
        assert "style=" not in drawing


def test_words_in_a_drawing_stay_text(plan: Plan) -> None:
    """A name with markup in it is escaped."""
    drawing = demand_svg(plan[2], '"><script>', "<b>", "&")

    assert "<script>" not in drawing
    assert ET.fromstring(drawing).get("aria-label") == '"><script>'


def test_the_whole_day_fits_the_drawing(plan: Plan) -> None:
    """Every corner of every outline lies within the drawing."""
    for drawing in drawings(plan[2])[:1]:
        for path in re.findall(r' d="(M[^"]*)"', drawing):
            points = corners(path)
            assert all(0 <= x <= WIDE and 0 <= y <= 400 for x, y in points)


def test_a_large_start_keeps_its_pin_among_small_ones(charted: Callable[..., DayChart]) -> None:
    """Of starts closer together than a pin is wide, the largest is shown."""
    surges = [
        Surge(13 * HOUR_MS + second * 1000, "washer", "r", 1000, 0.5, 500, 1500.0 + second, None, "fits", True)
        for second in range(50)
    ]
    chart = charted(piece("washer", 13, 14, 500), surges=surges)
    heads = re.findall(r'class="dots [^"]*" d="([^"]*)"', starts_svg(chart, "", "", ""))

    assert [head.count("M") for head in heads] == [1]
    pin = re.search(r'class="pin" d="M\d+,(\d+)V(\d+)"', starts_svg(chart, "", "", ""))
    assert pin is not None
    assert int(pin[2]) < int(pin[1])


@pytest.mark.parametrize("starts", [0, 1])
def test_a_strip_without_starts_still_shows_its_limit(charted: Callable[..., DayChart], starts: int) -> None:
    """The limit for starts is drawn and named, whether anything starts or not."""
    surges = [Surge(HOUR_MS, "washer", "r", 1000, 0.5, 500, 1500.0, None, "fits", False)][:starts]
    drawing = starts_svg(charted(piece("washer", 1, 2, 500), surges=surges), "", "for a start", "10.0 kVA")

    assert 'class="limit"' in drawing
    assert "for a start" in drawing


def test_a_busy_day_stays_small(charted: Callable[..., DayChart]) -> None:
    """Forty runs of twelve stages draw in less than 12 kB compressed."""
    chance = np.random.default_rng(1)
    names = ("washer", "dishwasher", "dryer", "hob", "bread-oven", "vacuum")
    pieces = []
    for run in range(40):
        at_h = float(chance.uniform(0, 22))
        for _ in range(12):
            length_h = float(chance.uniform(60, 1100)) / 3600
            certain = bool(chance.random() < 0.8)
            pieces.append(piece(names[run % 6], at_h, at_h + length_h, float(chance.uniform(20, 2000)), certain))
            at_h += length_h

    assert len(gzip.compress("".join(drawings(charted(*pieces))).encode())) < 12_000
