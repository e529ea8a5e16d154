"""Where time above a level decides: one stretch, told by the sentence, the panel and the close-up alike."""

from typing import Any

from hypothesis import given

from app.charts.deciding import deciding
from app.engine.assess import assess
from app.engine.results import Assessment, HeatReading
from app.household.file import household_from
from app.household.resolve import resolve
from app.web.words.verdict import headline
from tests.engine.home import house, load
from tests.oracle.profiles import examples
from tests.oracle.strategies import households

HOUR_MS = 3_600_000
MINUTE_MS = 60_000

TWO_TIMES = house(
    load("oven", 4500, 35 * 60), load("kiln", 4700, 7200), runs={"oven": "06:00", "kiln": "12:00"}
)  # both above 4 kW; 30 minutes are allowed


def heat_of(document: dict[str, Any], limit_id: str) -> tuple[Assessment, HeatReading]:
    """A document's assessment, and what the time above that limit's level says."""
    assessment = assess(household_from(document))
    reading = assessment.limit(limit_id)
    assert reading is not None
    assert reading.heat is not None
    return assessment, reading.heat


def test_of_two_times_that_are_too_long_the_first_is_told() -> None:
    """35 minutes at six cut out at 06:30, whatever two hours at noon do; the largest value stays that of noon."""
    _, heat = heat_of(TWO_TIMES, "inverter_continuous")

    assert (heat.since_ms, heat.trips_at_ms, heat.until_ms) == (
        6 * HOUR_MS, 6 * HOUR_MS + 30 * MINUTE_MS, 6 * HOUR_MS + 35 * MINUTE_MS,
    )  # fmt: skip
    assert (heat.held_s, heat.lasts_s, heat.allowed_s) == (2100, 7200, 1800)
    assert [one.appliance for one in heat.contributors] == ["oven"]


def test_the_sentence_names_those_of_that_time_alone() -> None:
    """The kiln of noon does not cut anything out at half past six."""
    household = household_from(TWO_TIMES)
    sentence = headline(resolve(household), assess(household)).sentence

    assert sentence.startswith("Too much. From 06:00, Oven draws up to 4.5\u00a0kW")
    assert "for 35\u00a0min" in sentence
    assert "cut out at 06:30. Move Oven away from 06:00" in sentence
    assert "Kiln" not in sentence


def test_the_close_up_is_of_that_time() -> None:
    """It begins with the oven and ends with it."""
    assessment, _ = heat_of(TWO_TIMES, "inverter_continuous")
    reading = assessment.limit("inverter_continuous")
    assert reading is not None

    stretch = deciding(reading, assessment.curves.t_ms)

    assert (stretch.from_ms, stretch.to_ms) == (6 * HOUR_MS, 6 * HOUR_MS + 35 * MINUTE_MS)


def test_of_times_that_are_short_enough_the_fullest_is_told() -> None:
    """Nothing is too long: the longer one is what to know about."""
    document = house(load("oven", 4500, 600), load("kiln", 4700, 1500), runs={"oven": "06:00", "kiln": "12:00"})
    _, heat = heat_of(document, "inverter_continuous")

    assert (heat.since_ms, heat.held_s, heat.trips_at_ms) == (12 * HOUR_MS, 1500, None)
    assert [one.appliance for one in heat.contributors] == ["kiln"]


def test_what_comes_on_after_the_cut_out_is_not_why() -> None:
    """A kettle in the 33rd minute is the most that is drawn, and three minutes too late to be the reason."""
    document = house(
        load("oven", 4500, 3600), load("kettle", 400, 600), runs={"oven": "06:00", "kettle": "06:33"}
    )  # fmt: skip
    _, heat = heat_of(document, "inverter_continuous")

    assert [one.appliance for one in heat.contributors] == ["oven"]
    assert heat.use == 4500


def test_watts_that_break_what_volt_amperes_filled_are_told_as_they_come_on() -> None:
    """An idling motor fills the store by its volt-amperes from six; watts first exceed, and break it, at 06:45."""
    document = house(
        load("motor", 2600, 7200, power_factor=0.5), load("kettle", 1500, 600),
        runs={"motor": "06:00", "kettle": "06:45"},
    )  # fmt: skip
    _, heat = heat_of(document, "inverter_continuous")

    at_ms = 6 * HOUR_MS + 45 * MINUTE_MS
    assert (heat.since_ms, heat.at_ms, heat.trips_at_ms) == (6 * HOUR_MS, at_ms, at_ms)
    assert (heat.use, heat.limit, heat.unit) == (4100, 4000, "W")
    assert {one.appliance for one in heat.contributors} == {"motor", "kettle"}


@examples(60)
@given(households())
def test_every_figure_is_of_one_time(household: dict[str, Any]) -> None:
    """The cut-out and the instant told lie in the stretch told, which holds no more than the day's largest value."""
    for reading in assess(household_from(household)).limits:
        heat = reading.heat
        if heat is None:
            continue
        assert heat.since_ms <= heat.at_ms < heat.until_ms
        assert heat.held_s <= heat.lasts_s * (1 + 1e-9)
        assert (heat.until_ms - heat.since_ms) / 1000 >= heat.held_s * (1 - 1e-9) - 0.002
        assert (heat.trips_at_ms is None) == (heat.lasts_s <= heat.allowed_s * (1 + 1e-9)) or reading.id in (
            "inverter_continuous", "inverter_apparent",
        )  # fmt: skip
        if heat.trips_at_ms is not None:
            assert heat.since_ms <= heat.at_ms <= heat.trips_at_ms < heat.until_ms
            assert heat.held_s > heat.allowed_s
        assert heat.use > heat.limit
        assert sum(one.va if heat.unit == "VA" else one.w for one in heat.contributors) > 0
