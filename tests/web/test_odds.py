"""How often the worst case comes: said in words on the page, in figures by the command line, never where it may not."""

from dataclasses import replace

import pytest

from app.engine.assess import assess_day
from app.engine.day import lay_day
from app.engine.results import HeatReading, LimitReading
from app.engine.run_odds import RunOdds
from app.household.demo import demo_text
from app.household.file import household_from, read_document
from app.household.resolve import resolve
from app.web import words
from app.web.words.verdict import headline
from tests.engine.test_at_most import in_turn
from tests.households import assessed
from tests.web.conftest import House

CHANCE = LimitReading("inverter_overload", "ceiling", 9000, "VA", 10300, -1300, 0, "chance", "fits", 4000)
NEVER_BY_ODDS = ("battery_voltage", "dc_fuse", "reserve", "circuit:", "voltage_drop:", "generator")


@pytest.mark.parametrize(
    ("per_day", "said"),
    [
        (0.176, "About once in 6 such days"),
        (0.0263, "About once in 40 such days"),
        (0.00105, "About once in 1,000 such days"),
        (1e-7, "About once in more than 10,000 such days"),
        (0.73, "About 7 times in 10 such days"),
        (0.97, "About once on nearly every such day"),
        (1.2, "About once on such a day"),
        (5.7, "About 6 times on such a day"),
        (123.0, "About 100 times on such a day"),
    ],
)
def test_how_often_has_one_figure(per_day: float, said: str) -> None:
    """Habits are no more certain than that."""
    reading = replace(CHANCE, broken_per_day=per_day)

    assert words.how_often(reading) == f"{said}, if habits are independent."


def test_of_what_is_left_of_a_day_it_says_so() -> None:
    """The partner's page tells of the rest."""
    reading = replace(CHANCE, broken_per_day=1.2)

    assert words.how_often(reading, "rest") == "About once in the rest of such a day, if habits are independent."
    assert words.how_often(replace(CHANCE, broken_per_day=0.0263), "rest").startswith("About once in 40 such days")


def test_of_a_run_it_is_said_where_another_limit_is_meant() -> None:
    """The answer names the inverter; it is the bank that it adds most to."""
    household, own = household_from(read_document(demo_text())), RunOdds(0.25, 0.025)

    said = words.how_often_it_runs(own, household)
    assert said == "About once in 4 such runs, without it once in 40 such runs, if habits are independent."
    another = words.how_often_it_runs(own._replace(of_another="battery_peak"), household)
    assert another == f"{said} This is of another limit, to which it adds more: Battery, for a short time."


def test_the_exact_figure_stands_behind_it() -> None:
    """With three figures."""
    assert words.exactly(replace(CHANCE, broken_per_day=0.1762148)) == "0.176 times on such a day, once in 5.67 days"
    assert words.exactly(replace(CHANCE, broken_per_day=61.23)) == "61.2 times on such a day"


@pytest.mark.parametrize(
    ("limit", "said"),
    [
        ("inverter_overload", "About once in 20 such days, all its levels counted, if habits are independent."),
        ("leg:A", "About once in 20 such days, all its levels counted, if habits are independent."),
        ("inverter_continuous", "About once in 20 such days, if habits are independent."),
    ],
)
def test_beside_one_time_above_one_level_it_says_that_all_count(limit: str, said: str) -> None:
    """The time that is told need not be what comes most often."""
    above = HeatReading(6000, 200, 5, 0, 200_000, 200, 5_000, 0, 6650, 6000, "VA")

    assert words.how_often(replace(CHANCE, id=limit, broken_per_day=0.0446, heat=above)) == said


def test_what_no_cycle_ever_does_is_told_so() -> None:
    """A worst pattern may rest on something that stays on for longer than its cycle has it."""
    assert "only if something stays on, or off, for longer than usual" in words.how_often(
        replace(CHANCE, broken_per_day=0.0)
    )
    above = HeatReading(5800, 90, 60, 0, 90_000, 90, 60_000, 0, 6800, 5800, "VA")
    assert "only if something stays on for longer than usual, or several such times" in words.how_often(
        replace(CHANCE, broken_per_day=0.0, heat=above)
    )
    assert words.exactly(replace(CHANCE, broken_per_day=0.0)) == ""
    assert words.exactly(replace(CHANCE, broken_per_day=1e-31)) == "less than once in 1,000,000 such days"


def test_what_only_an_order_breaks_says_what_is_too_much() -> None:
    """All at once it is fine for a while, so that alone would explain nothing."""
    resolved = resolve(household_from(in_turn(900)))
    found = headline(resolved, assess_day(lay_day(resolved), None))

    assert found.lead == "Could cut out."
    assert (
        "One after another, what comes and goes could keep it above 4.0\xa0kW for longer than the 15\xa0min"
        in found.why
    )


@pytest.mark.parametrize(
    ("share", "said"),
    [
        (0.0, "hardly any power cut"),
        (0.083, "about 1 power cut in 10"),
        (0.5, "5 power cuts in 10"),
        (0.99, "nearly every power cut"),
    ],
)
def test_the_restart_is_told_by_power_cuts(share: float, said: str) -> None:
    """Nobody knows how often the power is cut."""
    reading = replace(CHANCE, id="cold_restart", cut_share=share)

    assert words.how_often(reading) == f"Too much after {said}, if they come at any hour alike."


def test_the_page_says_how_often_and_what_that_is_not_for(house: House) -> None:
    """In the sentence, at the limit and in the table; with the caution beside it."""
    page = house.page("shed", unfold="all-limits,chart-table")
    text = " ".join(page.by_id("day-verdict").text.split())

    assert "About once in 6 such days, if habits are independent." in text
    assert "About once in 6 such days" in " ".join(one.text for one in page.all(kind="often"))
    limits = " ".join(page.by_id("day-limits").text.split())
    assert "0.176 times on such a day, once in 5.67 days" in limits.replace("\u00a0", " ")
    assert "Never rely on it for medical devices, alarms or a fridge with medicine." in limits
    assert page.all("path", kind="nearly")


def test_what_is_sure_is_told_before_what_could_be_at_another_hour() -> None:
    """The sentence does not pass off for sure what is so only if everything happens to be on."""
    noon, six = 12 * 3_600_000, 18 * 3_600_000
    sure = replace(CHANCE, verdict="over", verdict_certain="over", at_ms=six)
    plan = resolve(household_from(read_document(demo_text())), "laundry")
    day = assess_day(lay_day(plan), None)
    limits = (replace(sure, at_ms=noon, use=11_000, margin=-2000, sure=sure),)
    told = headline(plan, replace(day, limits=limits, verdict="over")).sentence

    assert told.startswith("Too much. At 18:00, ")
    assert "happens to be on" not in told


def test_a_plan_that_fits_says_nothing_of_odds(house: House) -> None:
    """Nothing to be had by chance."""
    page = house.page("ordinary", unfold="all-limits")

    assert not page.all(kind="often")
    assert "guess about habits" not in page.by_id("day-limits").text


def test_the_command_line_reports_them(house: House) -> None:
    """Expected figures of a day, whatever the verdict; and how often, at each limit that only the worst case breaks."""
    report = assessed(house.document, "shed")
    odds, limits = report["odds"], {one["id"]: one for one in report["limits"]}

    assert {"inverter_continuous", "inverter_apparent", "inverter_overload"} <= {one["limit"] for one in odds["above"]}
    assert limits["inverter_overload"]["broken_per_day"] == pytest.approx(1 / odds["once_in_days"])
    assert odds["overloading_starts_per_day"] == pytest.approx(limits["inverter_overload"]["broken_per_day"])
    assert limits["cold_restart"]["cut_share"] == pytest.approx(2 / 24)  # the two hours in the boat shed
    odd = [name for name, one in limits.items() if "broken_per_day" in one or "cut_share" in one]
    assert not [name for name in odd if name.startswith(NEVER_BY_ODDS)]
