"""Ribbons of any-time loads."""

import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

from app.charts.ribbon import ribbon, ribbon_svg
from app.engine.assess import assess
from app.engine.results import AnyTime, NotThen
from app.household.household import Household
from app.household.resolve import Resolved, resolve
from tests.charts.conftest import HOUR_MS, made


@pytest.mark.parametrize("plan_id", ["ordinary", "laundry", "shed"])
def test_a_ribbon_covers_the_day_without_a_gap(demo: Household, plan_id: str) -> None:
    """Free and refused stretches follow each other from midnight to the horizon, as the engine found them."""
    assessment = assess(demo, plan_id)
    for one, load in zip(ribbon(resolve(demo, plan_id), assessment), assessment.any_time, strict=True):
        assert one.appliance == load.appliance
        assert (one.spans[0].from_ms, one.spans[-1].to_ms) == (0, assessment.horizon_ms)
        assert all(a.to_ms == b.from_ms for a, b in zip(one.spans, one.spans[1:], strict=False))
        refused = [(span.from_ms, span.to_ms, span.refused_by) for span in one.spans if span.refused_by]
        assert refused == [tuple(vars_of(stretch)) for stretch in load.not_then]


def vars_of(stretch: NotThen) -> tuple[int, int, str]:
    return stretch.from_ms, stretch.to_ms, stretch.limit


def test_refused_at_both_ends_of_the_day(resolved: Resolved) -> None:
    """A stretch may begin at midnight and end at the horizon; nothing empty is drawn before or after."""
    refused = (NotThen(0, 9 * HOUR_MS, "dc_fuse"), NotThen(9 * HOUR_MS, 36 * HOUR_MS, "inverter_overload"))
    (one,) = ribbon(resolved, replace(made([]), any_time=(AnyTime("kettle", refused),)))

    assert [span.refused_by for span in one.spans] == ["dc_fuse", "inverter_overload"]
    assert [(span.from_share, span.to_share) for span in one.spans] == [(0, 0.25), (0.25, 1)]


def test_refused_is_told_by_height_and_pattern_not_by_colour_alone(resolved: Resolved) -> None:
    """Free is a thin line; refused is a block as high as the ribbon, barred, and never too narrow to be seen."""
    refused = (NotThen(9 * HOUR_MS, 9 * HOUR_MS + 1000, "dc_fuse"),)
    (one,) = ribbon(resolved, replace(made([]), any_time=(AnyTime("kettle", refused),)))
    drawing = ET.fromstring(ribbon_svg(one, 'Kettle "any time"'))
    free, block, _ = drawing.iter("rect")

    assert drawing.get("aria-label") == 'Kettle "any time"'
    assert int(free.get("height") or 0) < int(block.get("height") or 0)
    assert block.get("fill") == "url(#bars-refused)"
    assert float((block.get("width") or "").rstrip("%")) >= 0.3
