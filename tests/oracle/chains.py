"""Households whose machines set off one another: chains, shared machines, water and cycles anywhere among them."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

Json = dict[str, Any]

LENGTHS_S = st.sampled_from([60, 300, 600, 1200])
MINUTES = st.sampled_from([0, 0, 5, 10, 15, 20, 30, 40])


@st.composite
def cycles(draw: st.DrawFn, place: int) -> Json:
    """Few times on, so that some are alike; no period is that of another machine."""
    on_s = draw(st.sampled_from([20, 40, 60, 300, 600]))
    period_s = on_s * draw(st.sampled_from([2, 3, 4])) + draw(st.sampled_from([10, 50])) + place
    return {"on_s": on_s, "period_s": period_s, "longest_on_s": on_s * draw(st.sampled_from([1, 1, 2]))}


@st.composite
def machines(draw: st.DrawFn, names: list[str], place: int, begins: bool, water: bool) -> Json:
    """One that may set off those behind it in the row. begins: it has a length of its own, and maybe two stages."""
    name, later = names[place], names[place + 1 :]
    stage: Json = {"name": "one", "duration_s": draw(LENGTHS_S), "watts": 100}
    if not begins and draw(st.booleans()):
        stage["duration_s"] = None
    calls = [one for one in later if draw(st.integers(0, 9)) < 4]
    if calls:
        stage["sets_off"] = [
            {"appliance": one, "after_s": draw(st.sampled_from([0, 0, 0, 1, 30, 60, 300]))} for one in calls
        ]
    if draw(st.integers(0, 4)) < 2:
        stage["cycle"] = draw(cycles(place))
    if water and draw(st.integers(0, 2)) == 0:
        stage["water_l"] = draw(st.sampled_from([5, 30, 100, 200]))
    stages = [stage]
    if begins and draw(st.integers(0, 4)) == 0:
        stages.append({"name": "two", "duration_s": draw(st.sampled_from([60, 300])), "watts": 50})
        if later and draw(st.booleans()):
            stages[1]["sets_off"] = [{"appliance": draw(st.sampled_from(later))}]
    return {"id": name, "name": name.capitalize(), "stages": stages}


@st.composite
def chains(draw: st.DrawFn) -> Json:
    """Three to six machines in a row, half of them with runs of their own; at times a pump with taps."""
    water = draw(st.booleans())
    appliances: list[Json] = []
    supply: Json = {
        "inverter": {
            "rated_va": 9000, "continuous_w": [[25, 9000]], "overload": [[12000, 60]], "peak_efficiency": 0.95,
            "peak_efficiency_at": 0.3, "full_load_efficiency": 0.9, "cut_off_v": 40, "ac_voltage": 230,
        },
        "battery": {
            "chemistry": "lfp", "modules": 8, "module_ah": 100, "module_v": 51.2, "continuous_discharge_a": 100,
            "peak_discharge_a": 200, "peak_s": 10, "continuous_charge_a": 50, "module_resistance_ohm": 0.01,
        },
    }  # fmt: skip
    if water:
        stage = {"duration_s": 10, "watts": 800}
        appliances.append({"id": "pump", "name": "Pump", "stages": [stage]})
        supply["water"] = {
            "pump": "pump", "vessel_l": draw(st.sampled_from([8, 24, 50])),
            "pump_l_per_min": draw(st.sampled_from([20, 30])),
        }  # fmt: skip
        if draw(st.booleans()):
            litres = draw(st.sampled_from([100, 1500, 4000]))
            supply["water"].update(taps_l_per_day=litres, taps_between=["06:30", "22:30"])
    names = [f"machine {number}" for number in range(draw(st.integers(3, 6)))]
    runs: list[Json] = []
    for number, name in enumerate(names):
        begins = number < len(names) // 2
        made = draw(machines(names, number, begins, water))
        appliances.append(made)
        if not begins and draw(st.integers(0, 3)):
            continue
        begin, lasts = 0, made["stages"][0]["duration_s"]
        for again in range(draw(st.sampled_from([1, 1, 2, 3])) if len(made["stages"]) == 1 else 1):
            run: Json = {"id": f"{name}.{again}", "appliance": name}
            minutes = begin + draw(MINUTES)
            if lasts is None or (len(made["stages"]) == 1 and draw(st.booleans())):
                run["duration_s"] = draw(st.sampled_from([300, 600, 1800, 3600]))
            run["start"] = f"{9 + minutes // 60:02}:{minutes % 60:02}"
            begin = minutes + run.get("duration_s", lasts or 0) // 60
            runs.append(run)
    return {
        "format": "loadstead-household", "version": 1, "name": "Long Row",
        "site": {"latitude": 54.0, "longitude": -2.0, "timezone": "Europe/London"}, "supply": supply,
        "appliances": appliances, "scenarios": [{"id": "day", "name": "Day", "date": "2026-05-12", "runs": runs}],
    }  # fmt: skip
