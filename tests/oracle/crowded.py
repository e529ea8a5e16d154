"""Households around noon in which what leads makes up for what lags, on feeders of one leg or two.

Nothing is roomy: the inverter and the breakers are sized by what there is, so that it matters who is on.
"""

from __future__ import annotations

import math
from typing import Any

from hypothesis import strategies as st

from tests.oracle.strategies import Json

PLANNED_AT = ["11:30", "12:00", "12:02", "12:05"]
ASKED_AT_S = [12 * 3600 - 60, 12 * 3600 + 37, 12 * 3600 + 123]
LASTS_S = [60, 300, 1200, 3600]
ROOM = [0.7, 0.9, 1.2, 2.0, 3.0]  # of all that there is, as if nothing made up for anything


def apparent_va(stage: Json) -> float:
    """Volt-amperes of a stage that runs."""
    return float(stage["watts"] / stage["power_factor"])


@st.composite
def stages(draw: st.DrawFn, watts: list[int], duration_s: float | None, *, comes_and_goes: bool = False) -> Json:
    """One stage; most draw much beside their watts."""
    stage: Json = {
        "duration_s": duration_s,
        "watts": draw(st.sampled_from(watts)),
        "power_factor": draw(st.sampled_from([0.1, 0.3, 0.5, 0.7, 0.9])),
        "power_factor_kind": draw(st.sampled_from(["lagging", "lagging", "leading", "leading", "distortion"])),
    }
    if comes_and_goes:
        stage["cycle"] = {"on_s": draw(st.sampled_from([60, 300, 600])), "period_s": 1800}
    if draw(st.booleans()):
        stage["start"] = {
            "va": max(draw(st.sampled_from([300, 800, 1500, 2500])), math.ceil(1.01 * apparent_va(stage))),
            "power_factor": draw(st.sampled_from([0.3, 0.5, 0.7])),
            "duration_s": draw(st.sampled_from([1, 2, 4])),
        }
    return stage


@st.composite
def machines(draw: st.DrawFn, name: str, stage: st.SearchStrategy[Json], **more: Any) -> Json:
    """One machine on some circuit, or on none."""
    where = draw(st.sampled_from([None, "main", "barn", "barn", "shed"]))
    wired = {} if where is None else {"circuit": where}
    return {"id": name, "name": name.capitalize(), "stages": [draw(stage)], **wired, **more}


@st.composite
def wiring(draw: st.DrawFn, two_legs: bool, appliances: list[Json]) -> list[Json]:
    """A main circuit and two that are perhaps fed from it, each with a breaker for some of what it carries."""
    found = []
    fed = {name: draw(st.booleans()) for name in ("barn", "shed")}
    for name in ("main", "barn", "shed"):
        behind = [name, *(one for one, of_main in fed.items() if of_main and name == "main")]
        here_va = sum(apparent_va(one["stages"][0]) for one in appliances if one.get("circuit") in behind)
        circuit: Json = {"id": name, "breaker_a": max(round(draw(st.sampled_from(ROOM)) * here_va / 230, 1), 1.0)}
        if two_legs:
            circuit["leg"] = "AB" if name == "main" else draw(st.sampled_from(["A", "B", "AB"]))
        if fed.get(name):
            circuit["fed_from"] = "main"
        if draw(st.booleans()):
            circuit |= {
                "cable_m": draw(st.sampled_from([20, 60, 150])),
                "conductor_mm2": draw(st.sampled_from([2.5, 6, 10, 25])),
            }
        found.append(circuit)
    return found


@st.composite
def crowded(draw: st.DrawFn) -> Json:
    """A whole household: some come and go, some are planned, some are off; a fan is set off, interlocks keep apart."""
    large, small = [50, 150, 500, 1000], [40, 100, 300, 800]
    appliances = [
        draw(machines("base", st.just({"duration_s": None, "watts": 100, "power_factor": 1}), always_on=True))
    ]
    for number in range(draw(st.integers(0, 3))):
        stage = stages(small, None, comes_and_goes=True)
        appliances.append(draw(machines(f"fridge {number}", stage, always_on=True)))
    runs = []
    for kind, most, watts in (("planned", 3, small), ("off", 2, large)):
        for number in range(draw(st.integers(1, most))):
            lasts_s = draw(st.sampled_from(LASTS_S))
            machine = draw(machines(f"{kind} {number}", stages(watts, lasts_s)))
            if kind == "planned":
                start = draw(st.sampled_from(PLANNED_AT))
                runs.append({"id": f"run {number}", "appliance": machine["id"], "start": start})
            if draw(st.integers(0, 3)) == 0:
                machine["stages"][0]["sets_off"] = [{"appliance": "fan", "after_s": draw(st.sampled_from([0, 3, 20]))}]
            appliances.append(machine)
    appliances.append(draw(machines("fan", stages([100, 400], None))))
    names = [one["id"] for one in appliances if one["id"] != "base"]
    interlocks = []
    for _ in range(draw(st.integers(0, 2))):
        of = draw(st.lists(st.sampled_from(names), min_size=2, max_size=4, unique=True))
        interlocks.append({"of": of, "at_most": draw(st.integers(1, len(of) - 1))})
    two_legs = draw(st.booleans())
    starts_va = max(one["stages"][0].get("start", {"va": 0})["va"] for one in appliances)
    top = draw(st.sampled_from(ROOM)) * sum(apparent_va(one["stages"][0]) for one in appliances) + starts_va
    inverter: Json = {
        "rated_va": top / 2, "continuous_w": [[25, top * 0.45], [40, top * 0.4]],
        "overload": [[top * 0.75, draw(st.sampled_from([5, 60, 1800]))], [top, draw(st.sampled_from([2, 5]))]],
        "peak_efficiency": 0.95, "peak_efficiency_at": 0.3, "full_load_efficiency": 0.93, "no_load_w": 0.01 * top,
        "cut_off_v": draw(st.sampled_from([40, 48])), "cut_off_delay_s": draw(st.sampled_from([0, 1, 2.5])),
        "ac_voltage": 240 if two_legs else 230, "legs": 2 if two_legs else 1,
    }  # fmt: skip
    battery = {
        "chemistry": "lfp", "modules": 10, "module_ah": 280, "module_v": 51.2,
        "continuous_discharge_a": 200, "peak_discharge_a": 400, "peak_s": 60, "continuous_charge_a": 100,
        "module_resistance_ohm": 0.006, "dc_path_ohm": draw(st.sampled_from([0, 0.005, 0.02])),
    }  # fmt: skip
    return {
        "format": "loadstead-household", "version": 1, "name": "Thornbeck Fold",
        "site": {"latitude": 54.5, "longitude": -2.5, "timezone": "Europe/London"},
        "supply": {"inverter": inverter, "battery": battery, "circuits": draw(wiring(two_legs, appliances))},
        "appliances": appliances, "interlocks": interlocks,
        "scenarios": [{"id": "plan", "name": "Plan", "date": "2026-05-12", "runs": runs}],
    }  # fmt: skip
