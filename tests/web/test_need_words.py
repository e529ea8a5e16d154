"""What a plan needs at least, in words: never shown as less than it is, and told why where no size would do."""

from __future__ import annotations

import json
from typing import get_args

import pytest

from app.household.demo import demo_text
from app.household.file import household_from
from app.household.resolve import resolve
from app.planner.needs.found import Need, What
from app.planner.needs.needs import needs_of
from app.web.figures import SPACE, at_least
from app.web.words.needs import NO_GENERATOR, need_words, notes

SHED = resolve(household_from(json.loads(demo_text())), "shed")


def plain(text: str) -> str:
    """Without no-break spaces."""
    return text.replace(SPACE, " ")


def test_every_need_of_the_boat_shed_in_words() -> None:
    """A name, a figure, what there is, and how it was found; the air compressor is too much for a start."""
    lines = {need.what: need_words(need, SHED) for need in needs_of(SHED)}

    assert list(lines) == list(get_args(What))
    start = lines["surge_va"]
    assert plain(start.name) == "Inverter, for a start"
    assert plain(start.least) == "11.5 kVA for 1 s"
    assert plain(start.has) == "has 10.0 kVA for 5 s"
    assert start.enough == "not enough"
    assert plain(start.how) == "With less the start of Air compressor at 15:00 would be too much."
    assert plain(lines["continuous_w"].name) == "Inverter, for hours, at 25 °C"
    assert "at midnight" in lines["array_w"].how
    assert "pass the reserve at" in lines["usable_wh"].how


def test_where_there_is_a_generator_it_is_said_that_nothing_counts_on_it() -> None:
    """Among what stands under the table."""
    assert NO_GENERATOR in notes(with_generator=True)
    assert set(notes(with_generator=True)) - {NO_GENERATOR} == set(notes(with_generator=False))


@pytest.mark.parametrize(
    "why", ["cold", "cannot_deliver", "voltage", "begins_below", "night", "no_array", "dark_day", "charger", "full"]
)
def test_why_no_size_would_do_is_a_sentence(why: str) -> None:
    """Whatever stands in the way is said."""
    need = Need("array_w", "W", 4000, None, False, at_ms=0, limit="midnight", why=why)
    words = need_words(need, SHED)

    assert words.least == "no size would do"
    assert words.how.endswith(".") and len(words.how) > 40


@pytest.mark.parametrize(
    ("least", "has", "shown"),
    [
        (4210.3, 4500, ("4.22 kW", "4.50 kW")),
        (4240, 4200, ("4.24 kW", "4.20 kW")),
        (4960, 5000, ("5.0 kW", "5.0 kW")),
        (5001, 5000, ("5.01 kW", "5.00 kW")),
        (4500.2, 4501, ("4.501 kW", "4.501 kW")),
        (120.1, 800, ("121 W", "800 W")),
        (120.1, 1800, ("121 W", "1.8 kW")),
        (1003, 4500, ("1.01 kW", "4.50 kW")),
        (12040, 800, ("12.1 kW", "800 W")),
        (0, 0, ("0 W", "0 W")),
    ],
)
def test_what_is_needed_is_rounded_up(least: float, has: float, shown: tuple[str, str]) -> None:
    """What is bought by the figure carries the plan, and it is plain whether what is there does."""
    assert tuple(map(plain, at_least(least, has, "W"))) == shown
