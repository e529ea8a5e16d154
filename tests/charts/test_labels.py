"""Texts in drawings: none lies on another, on any screen, whatever the day."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given

from app.charts.closeup import CloseUp, closeup
from app.charts.closeup_svg import closeup_svg
from app.charts.closeup_texts import HIGH as CLOSE_UP_PX
from app.charts.day import DayChart, day_chart
from app.charts.labels import Face, Labels, Lettering, Spot, text_width_px
from app.charts.svg import DEMAND_PX, HIGH, STARTS_PX, demand_svg, starts_svg
from app.engine.assess import assess
from app.engine.results import Assessment, Surge
from app.household.file import household_from
from app.household.resolve import Resolved, resolve
from app.web.figures import quantity
from app.web.words import decisive
from tests.charts.conftest import HOUR_MS, piece
from tests.charts.texts import CLOSE_UP, DAY, SAID, boxes, collisions, limit_y, words_of
from tests.oracle.profiles import examples
from tests.oracle.strategies import households
from tests.stories.golden import demo_plans, stories

Document = dict[str, Any]
PLANS: dict[str, tuple[Document, str]] = {name: (document, "plan") for name, document in stories().items()}
PLANS |= demo_plans()


def drawings_of_the_day(chart: DayChart) -> tuple[str, str]:
    peak = quantity(float(chart.worst_w.max()), "W")
    largest = max(chart.starts, key=lambda start: start.total_va, default=None)
    said = f"{largest.name} {quantity(largest.total_va, 'VA')}" if largest else ""
    return (
        demand_svg(chart, "Demand", "inverter, for hours", "4.2 kW to 4.5 kW", peak),
        starts_svg(chart, "Starts", "for a start", "9.2 kVA to 10.0 kVA", said),
    )


def closeups(resolved: Resolved, assessment: Assessment) -> Iterator[CloseUp]:
    """A close-up for the limit that decides, and for each other as if it did."""
    for reading in [decisive(assessment, resolved.day.wanted_margin), *assessment.limits]:
        part = closeup(resolved, assessment, replace(reading, verdict="over"))
        if part is not None:
            yield part


def colliding(resolved: Resolved, assessment: Assessment) -> list[tuple[str, float, tuple[str, str]]]:
    demand, starts = drawings_of_the_day(day_chart(resolved, assessment))
    found = []
    for face, width_px in DAY:
        for drawing, high_px in ((demand, DEMAND_PX[face]), (starts, STARTS_PX[face])):
            found += [(face, width_px, pair) for pair in collisions(drawing, face, width_px, high_px)]
    for part in closeups(resolved, assessment):
        drawing = closeup_svg(part, SAID)
        for face, width_px in CLOSE_UP:
            found += [(face, width_px, pair) for pair in collisions(drawing, face, width_px, CLOSE_UP_PX)]
    return found


@pytest.mark.parametrize("name", PLANS)
def test_no_two_texts_touch_in_a_plan_we_know(name: str) -> None:
    """In every story and every plan of the demo, on phones and desks, texts keep clear of each other."""
    document, plan = PLANS[name]
    household = household_from(document)

    assert colliding(resolve(household, plan), assess(household, plan)) == []


@examples(16)
@given(households())
def test_no_two_texts_touch_on_any_day(document: Document) -> None:
    """Nor do they in households drawn at random."""
    household = household_from(document)
    plan = household.scenarios[-1].id

    assert colliding(resolve(household, plan), assess(household, plan)) == []


@pytest.mark.parametrize("face", ["tight", "inside", "beside"])
@pytest.mark.parametrize("plan_id", ["ordinary", "laundry", "shed"])
def test_a_limit_line_does_not_run_through_a_text_of_the_day(plan_id: str, face: str) -> None:
    """Neither the limit's own words nor those of the grid stand on its dashes."""
    document, _ = PLANS["demo: Laundry day"]
    household = household_from(document)
    chart = day_chart(resolve(household, plan_id), assess(household, plan_id))
    demand, starts = drawings_of_the_day(chart)
    for drawing, units, high_px in ((demand, HIGH, DEMAND_PX[face]), (starts, 120, STARTS_PX[face])):
        corners = limit_y(drawing, "limit", units)
        for width_px in (136, 174, 276) if face == "tight" else (300, 366, 860):
            for said, (left, top, right, bottom) in boxes(drawing, face, width_px, high_px):
                under = np.linspace(max(left, 0), min(right, width_px), 50) / width_px
                line_px = np.interp(under, *zip(*corners, strict=True)) * high_px
                outside = left >= width_px or right <= 0
                assert outside or (line_px < top).all() or (line_px > bottom).all(), said


@pytest.mark.parametrize("plan_id", ["ordinary", "laundry", "shed"])
def test_what_matters_is_always_written(plan_id: str) -> None:
    """The limits' words find a place on every face, and so does what the bracket says."""
    document, _ = PLANS["demo: Laundry day"]
    household = household_from(document)
    resolved, assessment = resolve(household, plan_id), assess(household, plan_id)
    demand, starts = drawings_of_the_day(day_chart(resolved, assessment))
    part = closeup(resolved, assessment, decisive(assessment, resolved.day.wanted_margin))
    assert part is not None
    near = closeup_svg(part, SAID)

    for face in ("tight", "inside", "beside"):
        assert "inverter, for hours" in words_of(demand, face)
        assert "for a start" in words_of(starts, face)
    for face in ("small", "narrow", "wide"):
        assert {SAID.mark, SAID.limit} <= set(words_of(near, face))


def test_the_words_of_the_starts_limit_cover_no_pin_where_there_is_room(charted: Callable[..., DayChart]) -> None:
    """The largest of three beyond the limit comes in the evening, so that words would begin at the left, on two."""
    at_h = (7, 8, 20)
    surges = [
        Surge(hours * HOUR_MS, "kettle", "r", 9000, 0.5, 900, 11_000.0 + hours, 0.0, "over", True) for hours in at_h
    ]
    chart = charted(piece("kettle", 7, 21, 900), surges=surges)
    _, starts = drawings_of_the_day(chart)
    for face, width_px in DAY:
        if face != "inside":
            continue
        for said, (left, _, right, _) in boxes(starts, face, width_px, STARTS_PX[face]):
            if said == "for a start":
                pins = [hours / 36 * width_px for hours in at_h]
                assert not [x for x in pins if left - 3 < x < right + 3], (face, width_px)


def test_a_text_takes_the_first_place_that_is_free() -> None:
    """What is placed first stays; what comes later goes elsewhere, or is left out."""
    labels = Labels(Face("inside", (300, 600)), 100)
    kind = Lettering("words", 12)
    here, there = Spot(0.5, 0, 50, "middle"), Spot(0.5, 0, 80, "middle")

    assert labels.place("first", kind, [here, there])
    assert labels.place("second", kind, [here, there])
    assert not labels.place("third", kind, [here, there])
    assert words_of(f"<svg>{labels.svg()}</svg>") == ["first", "second"]


def test_a_text_stays_in_the_drawing() -> None:
    """A place from which it would stick out is none."""
    labels = Labels(Face("inside", (300, 600)), 100)
    kind = Lettering("words", 12)

    assert not labels.place("far out at the right", kind, [Spot(0.95, 0, 50, "start")])
    assert not labels.place("too high", kind, [Spot(0.5, 0, 5, "middle")])


def test_the_estimate_of_a_texts_width_grows_with_it() -> None:
    """Wide letters, bold type and a larger size make a text wider; capitals are not mistaken for small letters."""
    plain = Lettering("words", 12)

    assert text_width_px("iii", plain) < text_width_px("nnn", plain) < text_width_px("WWW", plain)
    assert text_width_px("Washer", plain) < text_width_px("Washer", Lettering("words", 12, bold=True))
    assert text_width_px("Washer", Lettering("words", 6)) == pytest.approx(text_width_px("Washer", plain) / 2)
