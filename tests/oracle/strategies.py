"""Households for hypothesis: everything happens on whole 10 ms ticks around one quarter of an hour.

Levels, ratings and draws are chosen near each other, so that every rung of the verdict ladder occurs.
"""

from __future__ import annotations

import math
from typing import Any

from hypothesis import strategies as st

Json = dict[str, Any]

CLOCKS = ["10:00", "00:00", "23:50", "06:30"]
DATES = ["2026-05-12", "2026-05-12", "2026-05-12", "2026-03-29", "2026-10-25"]
AFTER_S = st.sampled_from([0, 0, 2, 0.37, 15])
RAMP_UP_DOWN = [[9.75, 18], [10.02, 20], [10.2, 39], [12, 39], [13, 18]]


def ticks(low_s: float, high_s: float) -> st.SearchStrategy[float]:
    """Seconds in whole hundredths."""
    return st.integers(round(low_s * 100), round(high_s * 100)).map(lambda n: n / 100)


def seconds(low: int, high: int) -> st.SearchStrategy[float]:
    """Durations: mostly whole seconds, so that instants coincide, else ticks."""
    return st.one_of(st.integers(low, high).map(float), st.integers(low, high).map(float), ticks(low, high))


@st.composite
def cycles(draw: st.DrawFn, longest: int = 240) -> Json:
    on_s = draw(seconds(2, longest))
    period_s = on_s + draw(st.one_of(st.just(0.0), seconds(1, 2 * longest), seconds(1, 2 * longest)))
    cycle: Json = {"on_s": on_s, "period_s": round(period_s, 2)}
    if draw(st.booleans()):
        cycle["longest_on_s"] = round(on_s + draw(seconds(0, longest)), 2)
    return cycle


@st.composite
def electrical(draw: st.DrawFn, most_w: int, cycling: bool | None = None, start: bool = True) -> Json:
    """Watts, power factor, maybe a cycle and a start; no duration."""
    watts = 10 * draw(st.one_of(st.integers(5, most_w // 10), st.integers(most_w // 25, most_w // 10)))
    pf = draw(st.sampled_from([1.0, 1.0, 0.95, 0.8, 0.7, 0.6]))
    kind = draw(st.sampled_from(["lagging", "lagging", "lagging", "leading", "distortion"]))
    stage: Json = {"watts": watts, "power_factor": pf, "power_factor_kind": kind}
    if cycling if cycling is not None else draw(st.integers(0, 3)) == 0:
        stage["cycle"] = draw(cycles())
    if start and draw(st.booleans()):
        va = math.ceil(watts / pf * draw(st.sampled_from([1.05, 1.5, 2.0, 3.0, 5.0])))
        lasts = draw(st.sampled_from([0.01, 0.02, 0.4, 0.6, 1.0, 1.2, 3.0]))
        stage["start"] = {
            "va": va,
            "power_factor": draw(st.sampled_from([0.3, 0.5, 0.6, 0.9])),
            "duration_s": min(lasts, stage["cycle"]["period_s"]) if "cycle" in stage else lasts,
        }
    return stage


@st.composite
def inverters(draw: st.DrawFn, two_legs: bool) -> Json:
    rated = draw(st.sampled_from([3000, 4000, 5000]))
    full = draw(st.sampled_from([0.8, 0.9, 1.0])) * rated
    steps = draw(st.lists(st.sampled_from([1.1, 1.2, 1.4, 1.6, 2.0, 2.5]), min_size=1, max_size=3, unique=True))
    overload = []
    lasts = draw(st.sampled_from([40.0, 120.0, 300.0, 1800.0]))
    for factor in sorted(steps):
        row: list[Any] = [rated * factor, lasts]
        if draw(st.booleans()):
            row.append(lasts * draw(st.sampled_from([0.5, 1.0, 2.0, 10.0])))
        overload.append(row)
        lasts = round(lasts / draw(st.sampled_from([2, 5, 10, 30])), 2)
    inverter: Json = {
        "rated_va": rated, "continuous_w": [[25, full], [40, 0.85 * full]], "overload": overload,
        "room_offset_k": draw(st.sampled_from([0, 0, 5, 12])), "no_load_w": round(0.01 * full),
        "peak_efficiency": 0.95, "peak_efficiency_at": 0.3,
        "full_load_efficiency": draw(st.sampled_from([0.9, 0.92])),
        "cut_off_v": 0, "ac_voltage": 240 if two_legs else 230, "legs": 2 if two_legs else 1,
        "cut_off_delay_s": draw(st.sampled_from([0, 0.3, 1.0, 5.0])),
    }  # fmt: skip
    return inverter


@st.composite
def supplies(draw: st.DrawFn) -> Json:
    two_legs = draw(st.integers(0, 3)) == 0
    inverter = draw(inverters(two_legs))
    chemistry = draw(st.sampled_from(["lfp", "lfp", "lead_acid"]))
    module_v = 51.2 if chemistry == "lfp" else 48.0
    need_a = inverter["rated_va"] / module_v
    modules = draw(st.sampled_from([1, 2, 4]))
    continuous = need_a / modules * draw(st.sampled_from([0.6, 0.9, 1.3, 2.5, 3.5]))
    battery: Json = {
        "chemistry": chemistry, "modules": modules, "module_ah": 100, "module_v": module_v,
        "continuous_discharge_a": round(continuous, 1),
        "peak_discharge_a": round(continuous * draw(st.sampled_from([1.2, 1.8, 3.0])), 1),
        "peak_s": draw(st.sampled_from([1.0, 5.0, 15.0, 60.0])), "continuous_charge_a": 50,
        "module_resistance_ohm": modules * draw(st.sampled_from([0.0, 0.005, 0.02, 0.05])),
        "dc_path_ohm": draw(st.sampled_from([0.0, 0.003])),
        "reserve": draw(st.sampled_from([0.1, 0.2, 0.25, 0.4])), "dc_load_w": draw(st.sampled_from([0, 60])),
        "room_offset_k": draw(st.sampled_from([0, -8])),
    }  # fmt: skip
    inverter["cut_off_v"] = draw(st.sampled_from([38.0, 42.0, 44.0, 46.0, 47.0]))
    if draw(st.booleans()):
        battery["dc_fuse_a"] = round(need_a * draw(st.sampled_from([0.8, 1.2, 2.0])))
    if draw(st.booleans()):
        battery["sharing"] = 1.0
    return {"inverter": inverter, "battery": battery, "circuits": draw(circuits(two_legs))}


@st.composite
def circuits(draw: st.DrawFn, two_legs: bool) -> list[Json]:
    """Up to three circuits; one may feed another of the same leg, or of any if it is on both."""
    made: list[Json] = []
    for name in ["shed", "house", "loft"][: draw(st.integers(0, 3))]:
        circuit: Json = {"id": name, "name": name}
        feeders = [c for c in made if not two_legs or c["leg"] == "AB"]
        if feeders and draw(st.booleans()):
            circuit["fed_from"] = draw(st.sampled_from(feeders))["id"]
        circuit["leg"] = draw(st.sampled_from(["A", "B", "AB"])) if two_legs else "AB"
        if draw(st.integers(0, 3)):
            circuit["breaker_a"] = draw(st.sampled_from([6, 10, 13, 16, 20, 32]))
            circuit["curve"] = draw(st.sampled_from(["B", "C", "D"]))
        if draw(st.booleans()):
            circuit.update(cable_m=draw(st.integers(5, 60)), conductor_mm2=draw(st.sampled_from([1.5, 2.5, 6.0])))
        if draw(st.booleans()):
            circuit["cable_a"] = draw(st.sampled_from([18, 32, 40]))
        made.append(circuit)
    return made


@st.composite
def placed(draw: st.DrawFn, name: str, supply: Json, **more: Any) -> Json:
    """The fields of an appliance around its stages."""
    entry: Json = {"id": name, "name": name, **more}
    names = [c["id"] for c in supply["circuits"]]
    if names and draw(st.booleans()):
        entry["circuit"] = draw(st.sampled_from(names))
    entry["uncertainty"] = draw(st.sampled_from([0, 0, 0.1, 0.3]))
    entry["basis"] = draw(st.sampled_from(["typical", "nameplate", "measured"]))
    if draw(st.booleans()):
        entry["after_cut"] = draw(st.sampled_from(["starts", "waits", "stays_off"]))
    return entry


@st.composite
def filling(draw: st.DrawFn, stage: Json) -> None:
    """Maybe some water for a stage."""
    if "cycle" not in stage and draw(st.booleans()):
        # A fifth, a half, four fifths or all of the flow: the pump's times stay whole ticks.
        stage["water_l"] = stage["duration_s"] * 0.5 * draw(st.sampled_from([0.2, 0.5, 0.8, 1.0]))


@st.composite
def programmes(draw: st.DrawFn, name: str, supply: Json, most_w: int, followers: list[str], water: bool) -> Json:
    """An appliance of one to three stages, the first maybe idle so that the next begins on any tick."""
    stages = []
    if draw(st.booleans()):
        stages.append({"name": "wait", "duration_s": draw(ticks(0.01, 20)), "watts": 0})
    for number in range(draw(st.integers(1, 2))):
        stage = draw(electrical(most_w))
        stage.update(name=f"stage {number}", duration_s=draw(seconds(5, 200)))
        if followers and draw(st.booleans()):
            for follower in draw(st.lists(st.sampled_from(followers), min_size=1, max_size=2, unique=True)):
                stage.setdefault("sets_off", []).append({"appliance": follower, "after_s": draw(AFTER_S)})
        if water:
            draw(filling(stage))
        stages.append(stage)
    entry = draw(placed(name, supply))
    entry["stages"] = stages
    return entry


def clock(base: str, after_s: int) -> str:
    hour, minute = (int(part) for part in base.split(":"))
    total = hour * 3600 + minute * 60 + after_s
    return f"{total // 3600:02}:{total // 60 % 60:02}:{total % 60:02}"


@st.composite
def what_ifs(draw: st.DrawFn, runs: list[Json]) -> Json:
    """A scenario that takes over another and changes a little of everything."""
    run = draw(st.sampled_from(runs))["id"]
    changes: Json = {
        "supply": {"inverter": {"room_offset_k": 7}, "battery": {"sharing": None, "reserve": 0.3}},
        "appliances": [{"id": "heater", "name": "Heater", "stages": [{"duration_s": 33.3, "watts": 700}]}],
        "runs": {run: draw(st.sampled_from([None, {"on": False}, {"start": "18:00"}]))},
        "day": {"wanted_margin": 0.2, "ambient_c": [[12, 26]]},
    }
    return {"id": "what if", "name": "What if", "date": "2026-05-13", "parent": "day", "changes": changes}


@st.composite
def households(draw: st.DrawFn) -> Json:
    """A whole household file; the scenario to look at is its last."""
    supply = draw(supplies())
    most_w = round(supply["inverter"]["rated_va"] / draw(st.sampled_from([1.2, 1.6, 2, 3])))
    base = draw(st.sampled_from(CLOCKS))
    appliances: list[Json] = []
    for number in range(draw(st.sampled_from([0, 1, 2, 2]))):
        entry = draw(placed(f"always {number}", supply, always_on=True))
        stage = draw(electrical(most_w // 2, cycling=draw(st.booleans())))
        if "cycle" in stage:
            stage["cycle"]["period_s"] = max(stage["cycle"]["period_s"], 360.0)
        stage["duration_s"] = None
        entry["stages"] = [stage]
        appliances.append(entry)
    water = draw(st.integers(0, 2)) == 0
    followers: list[str] = []
    for number in reversed(range(draw(st.sampled_from([0, 0, 1, 2, 3])))):
        entry = draw(placed(f"follower {number}", supply))
        stage = draw(electrical(most_w // 2))
        stage["duration_s"] = draw(st.one_of(st.none(), seconds(2, 90)))
        if followers and draw(st.booleans()):
            stage["sets_off"] = [{"appliance": draw(st.sampled_from(followers)), "after_s": draw(AFTER_S)}]
        if water and stage["duration_s"] is not None:
            draw(filling(stage))
        entry["stages"] = [stage]
        followers.append(entry["id"])
        appliances.append(entry)
    if water:
        entry = draw(placed("pump", supply))
        stage = draw(electrical(most_w // 2, cycling=False))
        stage["duration_s"] = 10
        entry["stages"] = [stage]
        appliances.append(entry)
        supply["water"] = {
            "pump": "pump",
            "vessel_l": draw(st.sampled_from([4, 8, 24])),
            "pump_l_per_min": 30,
        }
        if draw(st.booleans()) and base != "23:50":
            supply["water"].update(taps_l_per_day=60, taps_between=[base, clock(base, 600)[:5]])
    runs: list[Json] = []
    for number in range(draw(st.sampled_from([1, 2, 3, 3]))):
        entry = draw(programmes(f"machine {number}", supply, most_w, followers, water))
        appliances.append(entry)
        after = draw(st.integers(0, 240))
        for again in range(draw(st.sampled_from([1, 1, 2]))):
            if base == "23:50" and after >= 600:
                break
            run: Json = {"id": f"run {number}.{again}", "appliance": entry["id"], "start": clock(base, after)}
            lasts = sum(s["duration_s"] for s in entry["stages"])
            if len(entry["stages"]) == 1 and "water_l" not in entry["stages"][0] and draw(st.booleans()):
                run["duration_s"] = lasts = draw(seconds(5, 120))
            after += math.ceil(lasts) + draw(st.integers(0, 60))
            runs.append(run)
    any_time = []
    if draw(st.booleans()):
        entry = draw(placed("kettle", supply))
        stage = draw(electrical(most_w))
        stage["duration_s"] = draw(seconds(5, 180))
        entry["stages"] = [stage]
        appliances.append(entry)
        any_time.append("kettle")
    interlocks = []
    if draw(st.integers(0, 3)) == 0:
        names = [a["id"] for a in appliances if a["id"] != "kettle"]
        if len(names) >= 2:
            some = draw(st.lists(st.sampled_from(names), min_size=2, max_size=3, unique=True))
            interlocks.append({"of": some, "at_most": draw(st.sampled_from([1, 1, 2]))})
    ramp = base == "10:00" and draw(st.integers(0, 5)) == 0
    day: Json = {
        "id": "day", "name": "Day", "date": draw(st.sampled_from(DATES)), "runs": runs,
        "ambient_c": RAMP_UP_DOWN if ramp else [[0, draw(st.sampled_from([2, 20, 25, 31]))]],
        "wanted_margin": draw(st.sampled_from([0.0, 0.15, 0.3])),
    }  # fmt: skip
    if draw(st.integers(0, 7)) == 0:
        day["off"] = [draw(st.sampled_from([a["id"] for a in appliances]))]
    days = [day]
    if draw(st.integers(0, 5)) == 0:
        days.append(draw(what_ifs(runs)))
    if draw(st.booleans()):
        appliances.reverse()  # what is set off stands behind what sets it off
    return {
        "format": "loadstead-household", "version": 1, "name": "Thornbeck Fold",
        "site": {"latitude": 54.0, "longitude": -2.0, "timezone": "Europe/London"},
        "supply": supply, "appliances": appliances, "any_time": any_time, "interlocks": interlocks,
        "scenarios": days,
    }  # fmt: skip
