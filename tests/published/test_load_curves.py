"""Three classes of load over 24 hours: a textbook-style exercise on diversity.

The hourly data were read, the answers recomputed. One thousandth of the printed kilowatts, so that it fits
a household: the figures below are watts.
"""

import pytest

from tests.households import assessed
from tests.published.plain import Document, household, printed

RESIDENTIAL_W = [250] * 7 + [350, 450] + [550] * 3 + [600] * 5 + [650, 750, 900, 1100, 1100, 900, 700]
COMMERCIAL_W = [300] * 8 + [400, 600] + [1100] * 4 + [1300] * 4 + [900] + [500] * 3 + [300] * 2
LIGHTING_W = [100] * 7 + [0] * 13 + [100] * 4


def hourly(name: str, watts: list[int]) -> Document:
    """A programme of 24 hours."""
    stages = [{"name": f"{hour}", "duration_s": 3600, "watts": load_w} for hour, load_w in enumerate(watts)]
    return {"id": name, "name": name, "stages": stages}


CLASSES = [
    hourly("residential", RESIDENTIAL_W),
    hourly("commercial", COMMERCIAL_W),
    hourly("lighting", LIGHTING_W),
]


def demand(*classes: Document) -> Document:
    """What `assess` says of these classes, each from midnight."""
    runs = [{"id": one["id"], "appliance": one["id"], "start": "00:00"} for one in classes]
    return dict(assessed(household(*classes, runs=runs))["demand"])


def test_the_peak_that_all_make_together() -> None:
    """1950 at 17:00."""
    together = demand(*CLASSES)

    assert together["peak_certain_w"] == printed("1950")
    assert "T17:00" in together["peak_at"]


def test_the_peaks_of_each_come_to_more() -> None:
    """2500 in sum: diversity factor 1.282, coincidence factor 0.78, diversity 550."""
    alone_w = sum(demand(one)["peak_certain_w"] for one in CLASSES)
    together_w = demand(*CLASSES)["peak_certain_w"]

    assert alone_w == printed("2500")
    assert alone_w / together_w == printed("1.282")
    assert together_w / alone_w == printed("0.78")
    assert alone_w - together_w == printed("550")


def test_energy_and_load_factor_of_the_day() -> None:
    """30 400 in a day, 0.6496 of what the peak would make of 24 hours."""
    together = demand(*CLASSES)

    assert together["energy_wh"] == printed("30400")
    assert together["energy_wh"] / 24 / together["peak_certain_w"] == printed("0.6496")


def test_a_programme_of_a_day_ends_at_midnight() -> None:
    """Each class's own energy is the sum of its hours."""
    for one, watts in zip(CLASSES, (RESIDENTIAL_W, COMMERCIAL_W, LIGHTING_W), strict=True):
        assert demand(one)["energy_wh"] == pytest.approx(sum(watts))
