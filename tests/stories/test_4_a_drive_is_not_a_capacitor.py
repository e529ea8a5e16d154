"""Story 4. A drive is not a capacitor.

A compressor with 2000 W at power factor 0.7 and an extractor with a variable-speed drive, 1200 W at 0.55.
The low power factor of a drive comes from its rectifier: it does not cancel what a motor lags.
"""

import pytest

from tests.households import assessed
from tests.stories.reading import left_percent, limit, printed
from tests.stories.thornbeck import Document, always, fold, machine, run, stage


def workshop(kind: str) -> Document:
    """Compressor and extractor for an hour, the drive taken for this kind of load."""
    compressor = machine("compressor", stage("pressing", 60, 2000, 0.7))
    extractor = machine("extractor", stage("extracting", 60, 1200, 0.55, power_factor_kind=kind))
    appliances = [always("base", 150), compressor, extractor]
    return fold(appliances, [run("compressor", "14:00"), run("extractor", "14:00")])


@pytest.mark.parametrize(
    ("kind", "volt_amperes", "left", "verdict"),
    [
        ("leading", "3357", "32.9", "fits"),  # what a naive sum says
        ("distortion", "4325", "13.5", "tight"),  # the right one
        ("lagging", "5113", "-2.3", "over"),  # above the rating, for longer than allowed
    ],
)
def test_the_kind_of_power_factor_decides(kind: str, volt_amperes: str, left: str, verdict: str) -> None:
    """The watts are the same; of the 5000 VA more or less is used up."""
    report = assessed(workshop(kind))
    apparent = limit(report, "inverter_apparent")

    assert apparent["limit"] == 5000
    assert apparent["use"] == printed(volt_amperes)
    assert left_percent(apparent) == printed(left)
    assert apparent["verdict"] == verdict
    assert report["verdict"] == verdict


@pytest.mark.parametrize("kind", ["leading", "distortion", "lagging"])
def test_the_watts_do_not_depend_on_the_kind(kind: str) -> None:
    """3350 W of 4000 W in any case."""
    watts = limit(assessed(workshop(kind)), "inverter_continuous")

    assert watts["use"] == printed("3350")
    assert left_percent(watts) == printed("16.25")
    assert watts["use_certain"] == printed("3350")
