"""Four facts of the trade. Common practice, no source: none of them has a table behind it.

The last three are told with the appliances of the demo household, which take their figures from them.
"""

import copy
import json
from typing import Any

import pytest

from app.household.demo import demo_text
from tests.households import assessed
from tests.published.plain import Document, appliance, household, inverter, limit

TEN_KVA = inverter(10_000, continuous_w=[[25, 9000], [45, 8000]], overload=[[12_000, 1800], [15_000, 60], [20_000, 5]])


def cooking(watts: float, cupboard_c: float, start_va: float | None = None) -> Document:
    """So many watts for two hours on a 10 kVA inverter in a cupboard of that temperature."""
    start = None if start_va is None else {"va": start_va, "power_factor": 0.5, "duration_s": 1}
    return household(
        appliance("cooking", watts, 7200, start=start),
        supply={"inverter": TEN_KVA},
        ambient_c=[[0, cupboard_c]],
    )


@pytest.mark.parametrize(("cupboard_c", "carries_w"), [(10, 9000), (25, 9000), (35, 8500), (45, 8000)])
def test_a_10_kva_unit_carries_8_to_9_kw_depending_on_temperature(cupboard_c: float, carries_w: float) -> None:
    """Common practice, no source."""
    reading = limit(cooking(8400, cupboard_c), "inverter_continuous")

    assert reading["limit"] == pytest.approx(carries_w)
    assert 8000 <= reading["limit"] <= 9000
    assert (reading["verdict"] == "over") == (carries_w < 8400)


@pytest.mark.parametrize(("start_va", "verdict"), [(14_000, "fits"), (19_900, "tight"), (20_100, "over")])
def test_a_10_kva_unit_gives_about_twice_its_rating_for_a_short_surge(start_va: float, verdict: str) -> None:
    """Common practice, no source."""
    reading = limit(cooking(2000, 20, start_va), "inverter_overload")

    assert reading["limit"] == pytest.approx(2 * 10_000)
    assert reading["verdict"] == verdict


def demo_appliances(*names: str) -> list[dict[str, Any]]:
    """Appliances of Saltmarsh Ferry House, on no circuit and drawing no water."""
    chosen = copy.deepcopy([one for one in json.loads(demo_text())["appliances"] if one["id"] in names])
    for one in chosen:
        one.pop("circuit")
        for stage in one["stages"]:
            stage.pop("water_l", None)
    return chosen


def peak_w(*names: str) -> float:
    """The highest draw of these appliances of the demo, all begun at 08:00 and the pump at 08:10."""
    chosen = demo_appliances(*names)
    runs = [
        {"id": one["id"], "appliance": one["id"], "start": "08:10" if one["id"] == "well-pump" else "08:00"}
        for one in chosen
    ]
    return float(assessed(household(*chosen, runs=runs))["demand"]["peak_worst_w"])


def test_washer_dryer_and_pump_draw_4_to_4_and_a_half_kw_while_heating() -> None:
    """Common practice, no source."""
    assert 4000 <= peak_w("washer", "dryer", "well-pump") <= 4500


def test_television_and_lights_hardly_show_beside_them() -> None:
    """Common practice, no source. Hardly: less than a twentieth more."""
    alone_w = peak_w("washer", "dryer", "well-pump")
    beside_w = peak_w("washer", "dryer", "well-pump", "television", "lights")

    assert alone_w < beside_w < 1.05 * alone_w


def test_a_dryer_draws_about_half_once_it_is_up_to_temperature() -> None:
    """Common practice, no source."""
    (cold,) = demo_appliances("dryer")
    warm = cold | {"stages": cold["stages"][1:]}
    cold_w, warm_w = (assessed(household(one))["demand"]["peak_worst_w"] for one in (cold, warm))

    assert cold["stages"][0]["name"] == "warm-up"
    assert warm_w / cold_w == pytest.approx(0.5, abs=0.1)
