"""Small laundry days drawn at random, and the best there is for each by trying every placing.

The trying shares no line with the search: it reads the household file, lays every stage on a grid of whole minutes,
and counts energy in five minutes as the design does. All figures in it are invented.
"""

import itertools
import random
from typing import Any

import numpy as np
from numpy.typing import NDArray

SLOT_MIN = 5
MOST_STARTS = 20
KINDS: dict[str, list[tuple[int, int]]] = {  # minutes and watts, stage after stage
    "washer": [(5, 120), (20, 2050), (30, 220), (10, 450)],
    "dryer": [(50, 800), (10, 150)],
    "dishwasher": [(10, 80), (15, 1900), (25, 90), (15, 1900)],
    "oven": [(15, 2200), (40, 1100)],
    "iron": [(40, 1000)],
    "boiler": [(90, 1500)],
    "charger": [(120, 600)],
}
BASE_W, STEADY_W = 180, 4500


def case(seed: int) -> dict[str, Any]:
    """A household file with a plan whose three or four runs are to be placed, at most 20 starts each."""
    draw = random.Random(seed)
    appliances: list[dict[str, Any]] = [
        {"id": "base", "name": "Base", "always_on": True, "stages": [{"duration_s": None, "watts": BASE_W}]}
    ]
    for name, stages in KINDS.items():
        of_kind = [{"duration_s": 60 * minutes, "watts": watts} for minutes, watts in stages]
        appliances.append({"id": name, "name": name, "after_cut": "waits", "stages": of_kind})
    count = 4 if seed % 10 == 0 else 3
    first = draw.randint(7 * 12, 13 * 12)
    runs: list[dict[str, Any]] = []
    for number, name in enumerate(draw.sample(sorted(KINDS), count)):
        length = sum(minutes for minutes, _ in KINDS[name])
        begin = first * SLOT_MIN + draw.randint(0, 6) * SLOT_MIN
        starts = draw.randint(6, MOST_STARTS)
        end = begin + (starts - 1) * SLOT_MIN + length
        window = [f"{at // 60:02d}:{at % 60:02d}" for at in (begin, end)]
        runs.append({"id": f"r{number}", "appliance": name, "start": "00:00", "on": False, "window": window})
    if draw.random() < 0.4:
        runs[1] |= {"after": "r0", "within_s": 60 * draw.choice([0, 30, 60, 120])}
        begin, _ = _window(runs[0])
        length = sum(minutes for minutes, _ in KINDS[runs[0]["appliance"]])
        own = sum(minutes for minutes, _ in KINDS[runs[1]["appliance"]])
        end = begin + length + (MOST_STARTS - 1) * SLOT_MIN + own
        runs[1]["window"] = [f"{at // 60:02d}:{at % 60:02d}" for at in (begin + length, end)]
    inverter = {
        "rated_va": 5000, "continuous_w": [[25, STEADY_W]], "overload": [[6000, 30], [9000, 5]], "no_load_w": 30,
        "peak_efficiency": 0.95, "peak_efficiency_at": 0.3, "full_load_efficiency": 0.92, "cut_off_v": 40.0,
        "ac_voltage": 230,
    }  # fmt: skip
    battery = {
        "chemistry": "lfp", "modules": 8, "module_ah": 400, "module_v": 51.2, "continuous_discharge_a": 100,
        "peak_discharge_a": 200, "peak_s": 15, "continuous_charge_a": 100, "module_resistance_ohm": 0.001,
        "reserve": 0.05,
    }  # fmt: skip
    array = {"name": "roof", "peak_w": draw.choice([2500, 4000]), "tilt_deg": 35, "azimuth_deg": 180}
    plan = {
        "id": "day", "name": "Day", "date": f"2026-{draw.randint(3, 9):02d}-15", "cloud_oktas": draw.randint(3, 8),
        "runs": runs,
    }  # fmt: skip
    return {
        "format": "loadstead-household", "version": 1, "name": "Trial",
        "site": {"latitude": 50.0, "longitude": 0.0, "timezone": "UTC"},
        "supply": {"inverter": inverter, "battery": battery, "arrays": [array]}, "appliances": appliances,
        "scenarios": [plan],
    }  # fmt: skip


def _window(run: dict[str, Any]) -> tuple[int, int]:
    begin, end = (int(clock[:2]) * 60 + int(clock[3:]) for clock in run["window"])
    return begin, end


def room_w(sun_w: NDArray[np.float64]) -> NDArray[np.float64]:
    """Per five minutes, what the sun gives on the AC side beyond what always draws.

    sun_w: at the panels. The inverter's losses are a parabola through its two efficiencies (design 3.6).
    """
    full, peak = STEADY_W, 0.3 * STEADY_W
    losses = {w: w / efficiency - w for w, efficiency in ((peak, 0.95), (full, 0.92))}
    # 30 + b P + c P^2 at two points
    c = ((losses[full] - 30) / full - (losses[peak] - 30) / peak) / (full - peak)
    b = (losses[full] - 30) / full - c * full
    out = np.arange(0, 9001, 1.0)
    return np.asarray(np.interp(sun_w, out + 30 + b * out + c * out * out, out, left=0.0) - BASE_W)


def starts_of(run: dict[str, Any]) -> list[int]:
    """Minutes at which a run may begin: the whole of it lies in its window."""
    begin, end = _window(run)
    length = sum(minutes for minutes, _ in KINDS[run["appliance"]])
    return list(range(begin, end - length + 1, SLOT_MIN))


def laid(run: dict[str, Any], start: int, minutes: int) -> NDArray[np.float64]:
    """Watts of a run in every minute."""
    watts = np.zeros(minutes)
    for lasts, drawn in KINDS[run["appliance"]]:
        watts[start : start + lasts] = drawn
        start += lasts
    return watts


def best_of_all(document: dict[str, Any], sun_w: NDArray[np.float64]) -> float | None:
    """The least that goes through the bank over all placings, Wh; None where none is possible.

    sun_w: at the panels, per five minutes from midnight. All placings of the last three runs are tried at once.
    """
    runs = document["scenarios"][0]["runs"]
    room = room_w(sun_w)
    begin, end = (of(at) for of, at in zip((min, max), zip(*map(_window, runs), strict=True), strict=True))
    within = slice(begin // SLOT_MIN, -(-end // SLOT_MIN))  # outside of all windows nothing is placed
    anyway_w = np.maximum(-np.delete(room, within), 0.0).sum()
    drawn = [
        np.array([_in_slots(laid(run, at, len(room) * SLOT_MIN))[within] for at in starts_of(run)]) for run in runs
    ]
    least: float | None = None
    *outer, first, second, third = range(len(runs))
    for placed in itertools.product(*(range(len(drawn[number])) for number in outer)):
        watts = drawn[first][:, None, None] + drawn[second][:, None] + drawn[third]
        watts += sum(drawn[number][at] for number, at in zip(outer, placed, strict=True))
        begun = {
            runs[number]["id"]: np.array(starts_of(runs[number])[at]) for number, at in zip(outer, placed, strict=True)
        }
        open_grid = np.ix_(*(starts_of(runs[number]) for number in (first, second, third)))
        begun |= {runs[number]["id"]: at for number, at in zip((first, second, third), open_grid, strict=True)}
        may = watts.max(axis=-1) + BASE_W <= STEADY_W
        for run in runs:
            may &= _in_order(run, begun, runs)
        if not may.any():
            continue
        short_w = np.maximum(watts[may] - room[within], 0.0).sum(axis=-1) + anyway_w
        found = float(short_w.min()) * SLOT_MIN / 60
        least = found if least is None else min(least, found)
    return least


def _in_slots(watts: NDArray[np.float64]) -> NDArray[np.float64]:
    """Mean of every five minutes; stages begin and end with them, so that is what is drawn in every minute of them."""
    slots = watts.reshape(-1, SLOT_MIN)
    assert (slots == slots[:, :1]).all()
    return slots.mean(axis=1)


def _in_order(
    run: dict[str, Any], begun: dict[str, NDArray[np.int64]], runs: list[dict[str, Any]]
) -> NDArray[np.bool_]:
    """Whether a run begins after the one it waits for, and soon enough, for every placing."""
    if run.get("after") is None:
        return np.array(True)
    before = next(one for one in runs if one["id"] == run["after"])
    waits = begun[run["id"]] - begun[before["id"]] - sum(minutes for minutes, _ in KINDS[before["appliance"]])
    return np.asarray((waits >= 0) & (waits * 60 <= run["within_s"]))
