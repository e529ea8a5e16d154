"""Connected loads and the three-hour rule.

NFPA 70 (NEC): Annex D, Example D2(a) (dwelling, optional method); Article 100 and 210.20(A), continuous
load is 3 hours or more and takes at most 80 % of its device (125 % the other way round).
"""

import pytest

from tests.households import assessed
from tests.published.plain import appliance, household, inverter, limit, printed

CONNECTED_VA = {
    "lighting": 1500 * 3,
    "small appliances": 2 * 1500,
    "laundry": 1500,
    "range": 12_000,
    "water heater": 2500,
    "dishwasher": 1200,
    "dryer": 5000,
}


def test_connected_load_of_the_example_dwelling() -> None:
    """Example D2(a): 29 700 VA with everything on."""
    dwelling = household(*(appliance(name, va) for name, va in CONNECTED_VA.items()))

    assert assessed(dwelling)["demand"]["peak_worst_va"] == printed("29700")


def test_the_air_conditioner_is_smaller_than_the_heating_and_left_out() -> None:
    """Example D2(a), non-coincident loads: of 9 kVA heat and 6 A x 230 V of cooling the larger counts."""
    cycle = {"on_s": 600, "period_s": 1800}
    rooms = household(
        appliance("heating", 9000, cycle=cycle),
        appliance("cooling", 6 * 230, cycle=cycle),
        more={"interlocks": [{"of": ["heating", "cooling"], "at_most": 1}]},
    )

    assert limit(rooms, "inverter_apparent")["use"] == printed("9000")


def test_calculated_load_in_amperes() -> None:
    """Example D2(a): 21 480 VA at 240 V are 89.5 A."""
    supply = {"inverter": inverter(ac_voltage=240), "circuits": [{"id": "service", "breaker_a": 100}]}
    dwelling = household(appliance("dwelling", 21_480, circuit="service"), supply=supply)

    assert limit(dwelling, "circuit:service")["use"] == printed("89.5")


@pytest.mark.parametrize(("amperes", "breaker_a"), [(12, 15), (16, 20)])
def test_three_hours_may_take_four_fifths_of_the_breaker(amperes: float, breaker_a: float) -> None:
    """210.20(A): 12 A of continuous load need 15 A, 16 A need 20 A; a little more is only just carried."""
    supply = {"circuits": [{"id": "long", "breaker_a": breaker_a}]}

    def verdict(load_a: float, seconds: float) -> str:
        load = appliance("load", load_a * 230, seconds, circuit="long")
        return str(limit(household(load, supply=supply, wanted_margin=0.0), "circuit:long")["verdict"])

    assert verdict(amperes, 3 * 3600) == "fits"
    assert verdict(amperes + 0.1, 3 * 3600) == "tight"
    assert verdict(amperes + 0.1, 3 * 3600 - 1) == "fits"
