"""The oracle alone, against the stories worked by hand: if it and the engine differ, who is wrong?"""

from __future__ import annotations

from typing import Any

import pytest

from tests.oracle.dense import Answer, answer

Json = dict[str, Any]

OUR_RUN = {"start": "10:00", "id": "it", "appliance": "it"}


def appliance(name: str, watts: float, pf: float = 1.0, seconds: float | None = None, **more: Any) -> Json:
    stage = {"duration_s": seconds, "watts": watts, "power_factor": pf}
    for key in ("cycle", "start", "sets_off", "power_factor_kind"):
        if key in more:
            stage[key] = more.pop(key)
    return {"id": name, "name": name, "always_on": seconds is None, "stages": [stage], **more}


BASE = appliance("base", 180, 0.95)
FRIDGE = appliance("fridge", 110, 0.65, cycle={"on_s": 900, "period_s": 2700})
FREEZER = appliance("freezer", 120, 0.65, cycle={"on_s": 900, "period_s": 2700})
KETTLE = appliance("kettle", 2200, 1.0, 180)
PUMP = appliance("pump", 900, 0.78, 48, start={"va": 3800, "power_factor": 0.5, "duration_s": 0.6})
WASHER = {
    "id": "washer",
    "name": "washer",
    "stages": [{"duration_s": 360, "watts": 0}, {"duration_s": 1200, "watts": 2050}],
}


def fold(appliances: list[Json], runs: list[tuple[str, str]], **more: Any) -> Json:
    """Thornbeck Fold with these appliances and runs."""
    inverter = {
        "rated_va": 5000, "continuous_w": [[25, 4000], [40, 3400]],
        "overload": [[5500, 1800], [6500, 60], [9000, 5]], "no_load_w": 40,
        "peak_efficiency": 0.95, "peak_efficiency_at": 0.3, "full_load_efficiency": 0.93,
        "cut_off_v": 44, "ac_voltage": 230, "room_offset_k": more.get("room_offset_k", 0),
    }  # fmt: skip
    battery = {
        "chemistry": "lfp", "modules": 20, "module_ah": 100, "module_v": 51.2, "continuous_discharge_a": 50,
        "peak_discharge_a": 90, "peak_s": 15, "continuous_charge_a": 50, "module_resistance_ohm": 0.02,
    }  # fmt: skip
    supply: Json = {"inverter": inverter, "battery": battery}
    for part in ("water", "circuits", "rules"):
        if part in more:
            supply[part] = more[part]
    day = {
        "id": "day", "name": "day", "date": "2026-05-12", "ambient_c": [[0, more.get("ambient", 25)]],
        "runs": [{"id": f"{n}{i}", "appliance": n, "start": t} for i, (n, t) in enumerate(runs)],
    }  # fmt: skip
    return {
        "format": "loadstead-household", "version": 1, "name": "Thornbeck Fold",
        "site": {"latitude": 54, "longitude": -2, "timezone": "Europe/London"},
        "supply": supply, "appliances": appliances, "any_time": more.get("any_time", []), "scenarios": [day],
    }  # fmt: skip


WATER = {
    "pump": "pump", "vessel_l": 24, "pump_l_per_min": 30, "taps_l_per_day": 200,
    "taps_between": ["06:30", "22:30"],
}  # fmt: skip


def reading(found: Answer, name: str) -> tuple[float, float, str]:
    judged = found.limits[name]
    return round(judged.worst.use), round(100 * judged.worst.left, 1), judged.verdict


@pytest.mark.parametrize(
    ("kettle", "pump", "watts", "va", "verdict", "lasts"),
    [
        (False, False, 2460, 2482, "fits", None),
        (False, True, 3360, 3520, "fits", None),
        (True, False, 4660, 4672, "short_time", (180, 1800)),
        (True, True, 5560, 5658, "short_time", (48, 60)),
    ],
)
def test_story_one(kettle: bool, pump: bool, watts: int, va: int, verdict: str, lasts: Any) -> None:
    """Wash, tap and kettle come to what the table says."""
    runs = [("washer", "10:00")] + ([("kettle", "10:10")] if kettle else [])
    more = {"water": WATER} if pump else {}
    found = answer(fold([BASE, FRIDGE, FREEZER, KETTLE, WASHER, PUMP], runs, **more))
    assert reading(found, "inverter_continuous")[0] == watts
    assert reading(found, "inverter_apparent")[0] == va
    assert found.limits["inverter_continuous"].verdict == verdict
    overload = found.limits["inverter_overload"].extra
    assert (None if lasts is None else (overload["lasts_s"], overload["allowed_s"])) == lasts
    if pump:
        assert round(found.limits["inverter_overload"].worst.use) == (7492 if kettle else 5666)


def test_story_one_says_when_the_kettle_may_not_be_on() -> None:
    """The kettle would use more than half of an allowance while the washer heats, and only then."""
    found = answer(
        fold(
            [BASE, FRIDGE, FREEZER, KETTLE, WASHER, PUMP],
            [("washer", "10:00")],
            water=WATER,
            any_time=["kettle"],
        )
    )
    minutes = 60_000
    assert found.any_time == {"kettle": [(606 * minutes, 626 * minutes)]}


@pytest.mark.parametrize(
    ("offset", "limit", "left", "verdict"),
    [(0, 4000, 10.0, "tight"), (8, 3800, 5.3, "tight"), (16, 3480, -3.4, "over")],
)
def test_story_two(offset: int, limit: int, left: float, verdict: str) -> None:
    """A warm cupboard takes the limit down."""
    it = appliance("it", 3600, 1.0, 2400)
    found = answer(fold([it], [("it", "10:00")], ambient=22, room_offset_k=offset))
    assert round(found.limits["inverter_continuous"].worst.limit) == limit
    assert reading(found, "inverter_continuous")[1:] == (left, verdict)


def oven() -> Json:
    stages = []
    for minute in range(0, 120, 30):
        stages += [
            {"name": f"{minute}", "duration_s": 1500, "watts": 4300},
            {"name": f"{minute}", "duration_s": 300, "watts": 1400},
        ]
    return {"id": "it", "name": "it", "stages": stages}


@pytest.mark.parametrize(
    ("it", "rest", "verdict", "lasts"),
    [
        (oven(), 0, "over", None),
        (appliance("it", 1800, 1.0, 2400, cycle={"on_s": 3, "period_s": 10}), 2600, "short_time", 3),
        (appliance("it", 2300, 0.8, 7200, cycle={"on_s": 40, "period_s": 60}), 2600, "chance", None),
        (appliance("it", 2300, 0.8, 7200, cycle={"on_s": 30, "period_s": 60}), 2600, "short_time", 30),
    ],
)
def test_story_three(it: Json, rest: float, verdict: str, lasts: float | None) -> None:
    """Heat is remembered, and forgotten."""
    loads = [it] + ([appliance("rest", rest)] if rest else [])
    found = answer(fold(loads, [("it", "10:00")]))
    assert found.limits["inverter_continuous"].verdict == verdict
    if lasts is not None:
        assert found.limits["inverter_overload"].extra["lasts_s"] == lasts


@pytest.mark.parametrize(
    ("kind", "va", "left"), [("leading", 3357, 32.9), ("distortion", 4325, 13.5), ("lagging", 5113, -2.3)]
)
def test_story_four(kind: str, va: int, left: float) -> None:
    """A drive is not a capacitor."""
    drive = appliance("it", 1200, 0.55, 600, power_factor_kind=kind)
    found = answer(
        fold(
            [appliance("base", 150), appliance("comp", 2000, 0.7, 600), drive],
            [("it", "10:00"), ("comp", "10:00")],
        )
    )
    assert reading(found, "inverter_apparent")[:2] == (va, left)
    assert found.limits["inverter_continuous"].worst.left == pytest.approx(0.1625)


def workshop(conductor: float, sawing: bool) -> Json:
    shed = {
        "id": "shed",
        "name": "shed",
        "cable_m": 60,
        "conductor_mm2": conductor,
        "breaker_a": 20,
        "curve": "C",
    }
    saw = appliance("saw", 1100, 0.75, 3600, circuit="shed", sets_off=[{"appliance": "extractor", "after_s": 0}])
    extractor = appliance("extractor", 900, 0.8, 3600, circuit="shed")
    start = {"va": 7333, "power_factor": 0.6, "duration_s": 1.2}
    compressor = appliance(
        "compressor", 1100, 0.75, 3600, circuit="shed", cycle={"on_s": 120, "period_s": 600}, start=start
    )
    rest = appliance("rest", 700, 0.95)
    runs = [("compressor", "10:00")] + ([("saw", "10:00")] if sawing else [])
    return fold([saw, extractor, compressor, rest], runs, circuits=[shed])


@pytest.mark.parametrize(
    ("conductor", "running", "starting", "alone"),
    [(2.5, 6.4, 13.2, 9.1), (4, 4.0, 8.3, 5.7), (6, 2.7, 5.6, 3.9)],
)
def test_story_five(conductor: float, running: float, starting: float, alone: float) -> None:
    """Volts are lost on sixty metres, most of all when the compressor starts while sawing."""
    together = answer(workshop(conductor, True))
    drop = together.limits["voltage_drop:shed"].extra
    # The story's 3.9 is 3.849 worked to two places and then rounded again.
    hand = {"abs": 0.052}
    assert drop["running_percent"] == pytest.approx(running, **hand)
    assert drop["starting_percent"] == pytest.approx(starting, **hand)
    single = answer(workshop(conductor, False))
    assert single.limits["voltage_drop:shed"].extra["starting_percent"] == pytest.approx(alone, **hand)
    assert round(together.limits["inverter_overload"].worst.use) == 10504
    assert together.limits["inverter_overload"].verdict == "chance"
    assert reading(single, "inverter_overload") == (7948, 11.7, "tight")
    assert reading(together, "inverter_continuous")[::2] == (3800, "tight")
    assert reading(together, "inverter_apparent")[::2] == (4747, "tight")
    assert together.limits["circuit:shed"].extra["trip_a"] == 100
