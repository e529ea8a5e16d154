"""Story 3. Heat memory, both ways.

The inverter carries 4000 W for hours and more than that for thirty minutes. It warms up while it carries
more, and cools as fast while it carries less: pauses count, but only for as long as they last.
"""

import pytest

from tests.households import assessed
from tests.stories.reading import clock, limit, printed
from tests.stories.thornbeck import Document, always, fold, machine, run, stage

THIRTY_MINUTES_S = 1800


def oven(minutes: float) -> Document:
    """So many minutes of 25 minutes at 2900 W and 5 minutes of pause, over and over, on 1400 W."""
    stages, left = [], minutes
    while left > 0:
        stages.append(stage("bake", min(25, left), 2900))
        if left > 25:
            stages.append(stage("pause", min(5, left - 25), 0))
        left -= 30
    return fold([always("house", 1400), machine("oven", *stages)], [run("oven", "09:00")])


def cycling(watts: float, power_factor: float, on_s: float, period_s: float, minutes: float) -> Document:
    """A machine that comes and goes by itself for so many minutes, on 2600 W."""
    cycle = {"on_s": on_s, "period_s": period_s}
    tool = machine("tool", stage("at work", minutes, watts, power_factor, cycle=cycle))
    return fold([always("house", 2600), tool], [run("tool", "09:00")])


def hob(minutes: float) -> Document:
    """A hob that is on for 3 of every 10 seconds."""
    return cycling(1800, 1, 3, 10, minutes)


def planer(on_s: float, minutes: float) -> Document:
    """A planer that is on for so many of every 60 seconds."""
    return cycling(2300, 0.8, on_s, 60, minutes)


@pytest.mark.parametrize(
    ("plan", "watts", "volt_amperes"),
    [
        (oven(120), "4300", "4300"),
        (hob(40), "4400", "4400"),
        (planer(40, 120), "4900", "5195"),
        (planer(30, 120), "4900", "5195"),
    ],
    ids=["oven", "hob", "planer 40 s", "planer 30 s"],
)
def test_each_takes_more_than_the_inverter_carries_for_hours(plan: Document, watts: str, volt_amperes: str) -> None:
    """All of them are above 4000 W while they are on."""
    report = assessed(plan)

    assert limit(report, "inverter_continuous")["limit"] == 4000
    assert limit(report, "inverter_continuous")["use"] == printed(watts)
    assert limit(report, "inverter_apparent")["use"] == printed(volt_amperes)


def test_five_minutes_of_pause_do_not_make_up_for_twentyfive_of_baking() -> None:
    """In two hours the oven warms the inverter for 4 x 25 minutes and lets it cool for 3 x 5: too much."""
    report = assessed(oven(120))
    overload = limit(report, "inverter_overload")

    assert overload["lasts_s"] == pytest.approx((4 * 25 - 3 * 5) * 60)
    assert overload["allowed_s"] == THIRTY_MINUTES_S
    assert clock(overload["trips_at"]) == "09:40:00"
    assert limit(report, "inverter_continuous")["verdict"] == "over"
    assert report["verdict"] == "over"


@pytest.mark.parametrize(("minutes", "verdict"), [(40, "short_time"), (40 + 1 / 60, "over")])
def test_the_oven_is_too_much_right_after_minute_forty(minutes: float, verdict: str) -> None:
    """25 minutes on, 5 off, 10 on: 25 - 5 + 10 = 30; a second more breaks it."""
    report = assessed(oven(minutes))

    assert limit(report, "inverter_overload")["verdict"] == verdict
    assert report["verdict"] == verdict


def test_a_hob_that_pulses_never_warms_the_inverter() -> None:
    """Three seconds on are gone after three of the seven seconds off."""
    report = assessed(hob(40))
    overload = limit(report, "inverter_overload")

    assert overload["lasts_s"] == pytest.approx(3)
    assert overload["allowed_s"] == THIRTY_MINUTES_S
    assert overload["verdict"] == "short_time"
    assert report["verdict"] == "short_time"


def test_a_planer_on_for_40_of_60_seconds_cuts_out() -> None:
    """Each minute leaves 20 s more; in two hours it goes far past what is allowed, wherever its cycle begins."""
    report = assessed(planer(40, 120))
    overload = limit(report, "inverter_overload")

    assert overload["lasts_s"] == pytest.approx(119 * 20 + 40)
    assert overload["allowed_s"] == THIRTY_MINUTES_S
    assert clock(overload["trips_at"]) == "10:29:20"
    assert overload["broken_per_day"] == 1
    assert overload["verdict"] == "over"
    assert overload["verdict_certain"] == "fits"
    assert report["verdict"] == "over"


@pytest.mark.parametrize(("seconds_more", "verdict"), [(0, "short_time"), (1, "chance")])
def test_the_planer_is_too_much_right_after_89_minutes_and_20_seconds(seconds_more: int, verdict: str) -> None:
    """89 minutes leave 1780 s; 20 s into the next pass it is 1800 s, and then it breaks."""
    report = assessed(planer(40, 89 + (20 + seconds_more) / 60))

    assert limit(report, "inverter_overload")["lasts_s"] == pytest.approx(THIRTY_MINUTES_S + seconds_more)
    assert report["verdict"] == verdict


def test_a_planer_on_for_half_of_the_time_is_carried() -> None:
    """30 s on, 30 s off: nothing is left over, the store never holds more than 30 s."""
    report = assessed(planer(30, 120))
    overload = limit(report, "inverter_overload")

    assert overload["lasts_s"] == pytest.approx(30)
    assert overload["verdict"] == "short_time"
    assert report["verdict"] == "short_time"
