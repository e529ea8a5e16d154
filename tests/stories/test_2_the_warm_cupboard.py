"""Story 2. The warm cupboard.

One machine takes 3600 W for forty minutes, at 22 degC outdoors. The inverter hangs in a cupboard that is
warmer than the weather, and carries 4000 W at 25 degC but only 3400 W at 40 degC.
"""

import pytest

from tests.households import assessed
from tests.stories.reading import clock, left_percent, limit, printed
from tests.stories.thornbeck import Document, fold, machine, run, stage


def firing(room_offset_k: float, minutes: float = 40) -> Document:
    """The kiln from 14:00, the cupboard so much warmer than the 22 degC outside."""
    kiln = machine("kiln", stage("firing", minutes, 3600))
    return fold([kiln], [run("kiln", "14:00")], inverter={"room_offset_k": room_offset_k}, outdoors_c=22)


@pytest.mark.parametrize(
    ("room_offset_k", "carries", "left", "verdict"),
    [
        (0, "4000", "10.0", "tight"),
        (8, "3800", "5.3", "tight"),
        (16, "3480", "-3.4", "over"),
    ],
)
def test_the_warmer_the_cupboard_the_less_the_inverter_carries(
    room_offset_k: float, carries: str, left: str, verdict: str
) -> None:
    """The limit falls by 40 W for every degree above 25 degC, and with it the verdict."""
    report = assessed(firing(room_offset_k))
    watts = limit(report, "inverter_continuous")

    assert watts["limit"] == printed(carries)
    assert watts["use"] == printed("3600")
    assert left_percent(watts) == printed(left)
    assert watts["verdict"] == verdict
    assert watts["verdict_certain"] == verdict
    assert clock(watts["at"]) == "14:00:00"
    assert report["verdict"] == verdict


def test_in_the_warmest_cupboard_it_runs_forty_minutes_where_thirty_are_allowed() -> None:
    """Above the limit for 2400 s; 1800 s are allowed."""
    overload = limit(assessed(firing(16)), "inverter_overload")

    assert overload["lasts_s"] == pytest.approx(2400)
    assert overload["allowed_s"] == 1800
    assert overload["verdict"] == "over"
    assert clock(overload["trips_at"]) == "14:30:00"


@pytest.mark.parametrize(("minutes", "verdict"), [(30, "short_time"), (30 + 1 / 60, "over")])
def test_it_trips_after_thirty_minutes(minutes: float, verdict: str) -> None:
    """Thirty minutes are carried; one second more is not."""
    report = assessed(firing(16, minutes))

    assert limit(report, "inverter_continuous")["verdict"] == verdict
    assert report["verdict"] == verdict
