"""Odds of a day worked out, against days simulated at random: in one run, and how far they are apart.

The simulation answers the same questions: how long above each limit, how often each level is passed for too long,
how many starts are too much, how often each limit is broken at all. It is what one would write with numpy: every load's
instants from a phase of its own, 500 days at a time sorted together with the plan's, one running sum, comparisons, and
the lengths between them. Nothing of the engine is in it but how a draw is split into watts and var, and where the
bank's amperes become watts. It steps from event to event, where one that looks at every second would take minutes; it
sorts whole numbers that carry their place along, which argsort of the instants would make a twentieth slower in all;
and it knows nothing of uncertainty, interlocks or weather. Times are the working thread's own: others may be at work
beside, and numpy's own threads count as at work while they wait for the next product.
"""

import time
from dataclasses import dataclass
from statistics import median
from typing import Any

import numpy as np
from numpy.typing import NDArray

from app.engine.assess import assess_day
from app.engine.day import PlannedDay, lay_day
from app.engine.draw import draw_of
from app.engine.odds.odds import OddsOfDay
from app.household.file import household_from
from app.household.resolve import resolve
from app.web.serving import settle

Complexes = NDArray[np.complex128]
DAY_S, TAIL_S = 86_400, 3_600  # what begins before midnight is followed for an hour
STRETCHES = 150
DAYS, AT_ONCE = 20_000, 500
TICKS = 1000  # a second, so that instants are whole numbers
EXACT = ("above", "starts")  # figures in which nothing is drawn at random
LARGER = 1.15  # times the supply whose limits are broken daily: one of which odds are told
LIMITS = frozenset(
    {"inverter_continuous", "inverter_apparent", "inverter_overload", "battery_continuous", "battery_peak"}
)


@dataclass(frozen=True)
class Levels:
    """Limits of the supply: watts and volt-amperes for hours, then levels with their seconds; the bank's in watts."""

    watts: float
    rated_va: float
    overload: list[tuple[float, float]]
    bank_w: tuple[float, float]
    peak_s: float


def household(loads: int, seed: int = 7, supply: float = 1.0) -> dict[str, Any]:
    """So many loads that come and go all day, and one machine of many stages; supply: how large its limits are."""
    rng = np.random.default_rng(seed)
    appliances: list[dict[str, Any]] = []
    for number in range(loads):
        watts, pf = float(rng.integers(12, 60) * 120 / loads), float(rng.choice([1.0, 0.9, 0.8]))
        on_s = int(rng.integers(120, 1500))
        stage: dict[str, Any] = {"duration_s": None, "watts": watts, "power_factor": pf}
        stage["cycle"] = {"on_s": on_s, "period_s": on_s + int(rng.integers(600, 4800))}
        if number % 2:
            stage["start"] = {"va": round(watts / pf * 4), "power_factor": 0.5, "duration_s": 0.6}
        name = f"load {number + 1}"
        appliances.append({"id": name, "name": name, "always_on": True, "stages": [stage]})
    lasts = np.diff(np.sort(rng.choice(np.arange(1, DAY_S - 1), STRETCHES + 1, replace=False)))
    stages = [
        {"duration_s": int(one), "watts": float(rng.integers(10, 170) * 10), "power_factor": 0.95} for one in lasts
    ]
    appliances.append({"id": "machine", "name": "Machine", "stages": stages})
    inverter = {
        "rated_va": 4000 * supply, "continuous_w": [[25, 3700 * supply]],
        "overload": [[va * supply, seconds] for va, seconds in ((4600, 300), (5200, 60), (5800, 5))],
        "peak_efficiency": 0.95, "peak_efficiency_at": 0.3, "full_load_efficiency": 0.92, "cut_off_v": 40,
        "ac_voltage": 230,
    }  # fmt: skip
    battery = {
        "chemistry": "lfp", "modules": 1, "module_ah": 400, "module_v": 51.2, "continuous_discharge_a": 85 * supply,
        "peak_discharge_a": 115 * supply, "peak_s": 30, "continuous_charge_a": 100, "module_resistance_ohm": 0.002,
    }  # fmt: skip
    run = {"id": "run", "appliance": "machine", "start": "00:00:01"}
    day = {"id": "day", "name": "Day", "date": "2026-05-12", "ambient_c": [[0, 25]], "runs": [run]}
    return {
        "format": "loadstead-household", "version": 1, "name": "Comings and goings",
        "site": {"latitude": 54.0, "longitude": -2.0, "timezone": "Europe/London"},
        "supply": {"inverter": inverter, "battery": battery}, "appliances": appliances, "scenarios": [day],
    }  # fmt: skip


def everything(day: PlannedDay) -> dict[str, float]:
    """All figures of the odds, worked out anew."""
    odds = OddsOfDay(day, LIMITS)
    lasting = {f"lasting {one.limit} {one.above:.0f}": one.per_day for one in odds.lasting}
    above = {f"above {one.limit}": one.seconds_per_day for one in odds.above}
    broken = {f"broken {limit}": per_day for limit, per_day in odds.per_day.items()}
    return above | lasting | broken | {"starts": odds.overloading_starts_per_day}


def levels_of(day: PlannedDay, document: dict[str, Any]) -> Levels:
    """The limits of a household; what the bank may give is turned into watts, once, which is quickest to simulate."""
    supply = document["supply"]
    watts = np.arange(0, 20_000, 0.25)
    nothing = np.zeros_like(watts)
    (amps,) = day.bank.quantities(type(day.house.scope.certain)(watts, nothing, nothing, nothing))
    bank = supply["battery"]
    limits = [float(watts[amps > bank[name]].min()) for name in ("continuous_discharge_a", "peak_discharge_a")]
    inverter = supply["inverter"]
    overload = [(float(va), float(seconds)) for va, seconds in inverter["overload"]]
    return Levels(
        inverter["continuous_w"][0][1], inverter["rated_va"], overload, (limits[0], limits[1]), bank["peak_s"]
    )


class Simulation:
    """Days of a household of `household`, so many at once."""

    def __init__(self, document: dict[str, Any], levels: Levels) -> None:
        self.levels = levels
        stages = [one["stages"][0] for one in document["appliances"][:-1]]
        self.on_s = np.array([stage["cycle"]["on_s"] for stage in stages], dtype=float)
        self.period_s = np.array([stage["cycle"]["period_s"] for stage in stages], dtype=float)
        self.draws = np.array([complex(*draw_of(s["watts"], s["power_factor"], "lagging")[:2]) for s in stages])
        kicks = [s.get("start") for s in stages]
        self.starts = np.array([k is not None for k in kicks])
        own = [complex(*draw_of(k["va"] * 0.5, 0.5, "lagging")[:2]) if k else 0 for k in kicks]
        self.kick: Complexes = np.where(self.starts, np.array(own) - self.draws, 0)
        machine = document["appliances"][-1]["stages"]
        base = np.array([complex(*draw_of(s["watts"], s["power_factor"], "lagging")[:2]) for s in machine])
        self.base_s = 1 + np.concatenate(([0], np.cumsum([s["duration_s"] for s in machine])))
        self.base_step = np.diff(np.concatenate(([0], base, [0])))

    def days(self, count: int, random: np.random.Generator) -> dict[str, NDArray[np.float64]]:
        """Every figure, day by day."""
        end = (DAY_S + TAIL_S) * TICKS
        t, step, kick = [np.zeros((count, 1))], [0j], [0j]
        t.append(np.broadcast_to(self.base_s, (count, len(self.base_s))))
        step += self.base_step.tolist()
        kick += [0j] * len(self.base_s)
        for load, period_s in enumerate(self.period_s):
            on_s = random.random((count, 1)) * period_s + period_s * np.arange(-1, (DAY_S + TAIL_S) // period_s + 1)
            t += [on_s, on_s + self.on_s[load]]
            step += [self.draws[load]] * on_s.shape[1] + [-self.draws[load]] * on_s.shape[1]
            kick += [self.kick[load]] * on_s.shape[1] + [0j] * on_s.shape[1]
        places = len(step)
        key = np.clip((np.concatenate(t, axis=1) * TICKS).astype(np.int64), 0, end) * places + np.arange(places)
        key.sort(axis=1)
        ticks, place = np.divmod(key, places)
        draw = np.array(step)[place].cumsum(axis=1)
        return self._read(ticks, draw, np.array(kick)[place])

    def _read(self, ticks: NDArray[np.int64], draw: Complexes, kick: Complexes) -> dict[str, NDArray[np.float64]]:
        levels, watts, va = self.levels, draw.real, np.abs(draw)
        length = np.diff(ticks, axis=1, append=(DAY_S + TAIL_S) * TICKS)
        lasts_s = np.clip(np.minimum(ticks + length, DAY_S * TICKS) - ticks, 0, None) / TICKS
        over_w, over_va, top_va = watts > levels.watts, va > levels.rated_va, levels.overload[-1][0]
        bank, peak = watts > levels.bank_w[0], watts > levels.bank_w[1]
        above = {
            "inverter_continuous": over_w, "inverter_apparent": over_va, "inverter_overload": va > top_va,
            "battery_continuous": bank, "battery_peak": peak,
        }  # fmt: skip
        found = {f"above {name}": np.einsum("ij,ij->i", passed, lasts_s) for name, passed in above.items()}
        day, at = np.nonzero(kick)
        today = (ticks[day, at] > 0) & (ticks[day, at] < DAY_S * TICKS)
        day, at = day[today], at[today]
        total = draw[day, at] + kick[day, at]
        too_much = {"inverter_overload": np.abs(total) > top_va, "battery_peak": total.real > levels.bank_w[1]}
        hit = {name: day[flags] * ticks.shape[1] + at[flags] for name, flags in too_much.items()}
        found["starts"] = self._per_day(ticks, hit["inverter_overload"])
        passed = [over_w | over_va, *(va > level for level, _ in levels.overload[:-1])]
        names = [levels.rated_va, *(level for level, _ in levels.overload[:-1])]
        stores = [
            (f"lasting inverter_overload {name:.0f}", one, allowed_s)
            for name, one, (_, allowed_s) in zip(names, passed, levels.overload, strict=True)
        ]
        breaks = {name: [places] for name, places in hit.items()}
        lowest: dict[str, tuple[NDArray[np.intp], NDArray[np.intp]]] = {}
        for name, one, allowed_s in [*stores, ("lasting battery_continuous", bank, levels.peak_s)]:
            begin, end, ends = self._excursions(ticks, length, one)
            long = ends - ticks.ravel()[begin] > allowed_s * TICKS
            found[name] = self._per_day(ticks, begin[long])
            limit = "battery_peak" if "battery" in name else "inverter_overload"
            lowest.setdefault(limit, (begin, end))
            breaks[limit].append(begin[long])
            if name == stores[0][0]:
                for own_limit, own in (("inverter_continuous", over_w), ("inverter_apparent", over_va)):
                    late = self._last(ticks + length, own, begin[long], end[long]) - ticks.ravel()[begin[long]]
                    found[f"broken {own_limit}"] = self._per_day(ticks, begin[long][late > allowed_s * TICKS])
        found["broken battery_continuous"] = found["lasting battery_continuous"]
        for name, top in (("inverter_overload", va > top_va), ("battery_peak", peak)):
            begin, _, _ = self._excursions(ticks, length, top)
            found[f"broken {name}"] = self._trips(ticks, np.concatenate([*breaks[name], begin]), *lowest[name])
        return found

    @classmethod
    def _trips(
        cls, ticks: NDArray[np.int64], breaks: NDArray[np.intp], begin: NDArray[np.intp], end: NDArray[np.intp]
    ) -> NDArray[np.float64]:
        """Excursions above the lowest level in which something breaks a rule; of starts below it, each."""
        which = np.searchsorted(begin, breaks, side="right") - 1
        inside = (which >= 0) & (breaks < np.append(end, 0)[which])
        tripped = np.zeros(len(begin), dtype=bool)
        tripped[which[inside]] = True
        return cls._per_day(ticks, np.concatenate([begin[tripped], breaks[~inside]]))

    @staticmethod
    def _per_day(ticks: NDArray[np.int64], places: NDArray[np.intp]) -> NDArray[np.float64]:
        return np.bincount(places // ticks.shape[1], minlength=len(ticks)).astype(float)

    @staticmethod
    def _excursions(
        ticks: NDArray[np.int64], length: NDArray[np.int64], passed: NDArray[np.bool_]
    ) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.int64]]:
        """Where those of the day begin and end, of all instants of all days, and when they end."""
        # What lasts no time does not part what stands on both sides of it.
        width = ticks.shape[1]
        inside = np.zeros((len(ticks), width + 2), dtype=np.int8)
        inside[:, 1:-1] = passed & (length > 0)
        change = np.diff(inside, axis=1)
        day, begin = np.nonzero(change == 1)
        _, end = np.nonzero(change == -1)
        today = (ticks[day, begin] < DAY_S * TICKS) & (begin > 0)
        day, begin, end = day[today], begin[today], end[today]
        ends = np.minimum(ticks[day, end - 1] + length[day, end - 1], (DAY_S + TAIL_S) * TICKS)
        return day * width + begin, day * width + end, ends

    @staticmethod
    def _last(
        until: NDArray[np.int64], own: NDArray[np.bool_], begin: NDArray[np.intp], end: NDArray[np.intp]
    ) -> NDArray[np.int64]:
        """When one of several quantities is last above within each excursion."""
        if not len(begin):
            return np.zeros(0, dtype=np.int64)
        latest = np.append(np.where(own, until, 0).ravel(), 0)
        return np.maximum.reduceat(latest, np.stack([begin, end], axis=1).ravel())[::2]


def simulated(document: dict[str, Any], levels: Levels, days: int = DAYS) -> dict[str, tuple[float, float]]:
    """Mean and standard error of every figure by so many days."""
    simulation, random = Simulation(document, levels), np.random.default_rng(11)
    parts = [simulation.days(AT_ONCE, random) for _ in range(days // AT_ONCE)]
    found = {}
    for name in parts[0]:
        values = np.concatenate([part[name] for part in parts])
        found[name] = float(values.mean()), float(values.std() / np.sqrt(len(values)))
    return found


def odds_ratios(loads: int = 12, many: int = 60, repeats: int = 5, days: int = DAYS) -> dict[str, float]:
    """Simulation over odds, how far apart they are at most (in the simulation's standard errors), and many loads.

    Of a household whose limits are broken daily, so that no odds are told of them, and (`larger_`) of one with a larger
    supply, of which they are. The figures that last follow passings drawn at random: they are off themselves by about
    as much as counting in so many days leaves open; where few of many passings last long enough, by two to three times
    that.
    """
    found = _against_days(household(loads), repeats, days)
    found |= {
        f"larger_{name}": value for name, value in _against_days(household(loads, supply=LARGER), repeats, days).items()
    }
    crowd, crowd_s = laid(household(many)), []
    for _ in range(3):
        begin = time.thread_time()
        everything(crowd)
        crowd_s.append(time.thread_time() - begin)
    return found | {"many_ms": median(crowd_s) * 1000}


def _against_days(document: dict[str, Any], repeats: int, days: int) -> dict[str, float]:
    """One household, simulated once between two halves of working it out."""
    day = laid(document)
    levels = levels_of(day, document)
    ours, odds_s = dict[str, float](), list[float]()

    def work_out() -> None:
        nonlocal ours
        for _ in range(repeats):
            begin = time.thread_time()
            ours = everything(day)
            odds_s.append(time.thread_time() - begin)

    work_out()
    begin = time.thread_time()
    theirs = simulated(document, levels, days)
    simulated_s = time.thread_time() - begin
    work_out()
    off = {name: _off(ours, name, *figure) for name, figure in theirs.items()}
    return {
        "odds_ms": median(odds_s) * 1000,
        "simulated_s": simulated_s,
        "simulated_over_odds": simulated_s / median(odds_s),
        "exact_standard_errors_apart": max(one for name, one in off.items() if name.startswith(EXACT)),
        "most_standard_errors_apart": max(off.values()),
    }


def _off(ours: dict[str, float], name: str, mean: float, error: float) -> float:
    (mine,) = (value for key, value in ours.items() if key.startswith(name))
    return abs(mine - mean) / error if error else 0.0


def laid(document: dict[str, Any]) -> PlannedDay:
    day = lay_day(resolve(household_from(document)))
    assess_day(day, None)  # what else is worked out once a day is not the odds' doing
    return day


if __name__ == "__main__":
    settle()
    for name, value in odds_ratios().items():
        print(f"{name}: {value:.3g}")
