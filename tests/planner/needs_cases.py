"""Supplies of other sizes, written into a household file as a plan built on the one that is looked at.

Nothing here knows how the least figures are found: a file goes in, with merge patches, and `assess` reads it.
"""

from __future__ import annotations

import copy
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from app.engine.assess import assess_day
from app.engine.day import lay_day
from app.engine.results import Assessment, LimitReading
from app.engine.sun import suns_of
from app.household.file import household_from
from app.household.resolve import Resolved, resolve
from app.planner.needs.found import Need

Json = dict[str, Any]
RED = ("chance", "over")
AMPLE = 9e6


def at_25(curve: list[list[float]]) -> float:
    """A curve's value at 25 degC."""
    for (cool, low), (warm, high) in pairwise(curve):
        if cool <= 25 <= warm:
            return low + (high - low) * (25 - cool) / (warm - cool)
    return curve[0][1] if curve[0][0] > 25 else curve[-1][1]


@dataclass
class Sizes:
    """The figures a supply is to have; None leaves the plan's own."""

    watts: float | None = None
    va: float | None = None
    top_va: float | None = None
    top_s: float | None = None
    bank_a: float | None = None
    peak_a: float | None = None
    peak_s: float | None = None
    bank: float | None = None  # times its ampere-hours
    array: float | None = None  # times its watts


class Supply:
    """A plan of a file, and what `assess` says of it with a supply of other sizes."""

    def __init__(self, document: Json, plan: str) -> None:
        self.document, self.plan = document, plan
        self.resolved: Resolved = resolve(household_from(document), plan)
        self.supply: Json = self.resolved.household.supply.document()
        self.inverter, self.battery = self.supply["inverter"], self.supply["battery"]
        self.own_w = at_25(self.inverter["continuous_w"])
        self.modules = self.battery["modules"]
        if self.modules > 1:
            self.modules /= self.battery.get("sharing", 1.1)
        self.on_ac = any(one.get("coupling") == "ac" for one in self.supply.get("arrays", []))

    def assessed(self, sizes: Sizes, *, with_sun: bool = True) -> Assessment:
        """The plan with a supply of these sizes and no generator, by the engine; without its sun no word on charge."""
        document = copy.deepcopy(self.document)
        own = self.resolved.day
        day: Json = {}
        if sizes.array is not None and own.expected_yield_wh is not None:
            day["expected_yield_wh"] = own.expected_yield_wh * sizes.array
        changed = {
            "id": "of this size", "name": "Of this size", "date": own.date, "parent": self.plan,
            "changes": {"supply": self.patch(sizes), "day": day},
        }  # fmt: skip
        document["scenarios"].append(changed)
        resolved = resolve(household_from(document), "of this size")
        return assess_day(lay_day(resolved), suns_of(resolved) if with_sun else None, closely=False)

    def patch(self, sizes: Sizes) -> Json:
        """What is changed of the supply."""
        patch: Json = {"inverter": {}, "battery": {}, "generator": None}
        watts = self.own_w if sizes.watts is None else max(sizes.watts, 0.01 * (1 + self.inverter.get("no_load_w", 0)))
        va = self.inverter["rated_va"] if sizes.va is None else max(sizes.va, 0.01)
        if sizes.watts is not None:
            curve = self.inverter["continuous_w"]
            patch["inverter"]["continuous_w"] = [[at, one * watts / self.own_w] for at, one in curve]
            patch["inverter"] |= self.same_losses(watts)
        if sizes.va is not None:
            patch["inverter"]["rated_va"] = va
        if sizes.top_va is not None:
            assert sizes.top_s is not None
            top_va = max(sizes.top_va, va * (1 + 1e-7))
            patch["inverter"]["overload"] = [[top_va, max(sizes.top_s, 0.001)]]
        if sizes.bank_a is not None and sizes.peak_a is not None and sizes.peak_s is not None:
            continuous_a = max(sizes.bank_a / self.modules, 0.001)
            patch["battery"] |= {
                "continuous_discharge_a": continuous_a, "peak_s": max(sizes.peak_s, 0.001),
                "peak_discharge_a": max(sizes.peak_a / self.modules, continuous_a),
            }  # fmt: skip
        if sizes.bank is not None:
            patch["battery"]["module_ah"] = max(self.battery["module_ah"] * sizes.bank, 0.001)
        if sizes.array is not None:
            patch["arrays"] = [
                {**one, "peak_w": one["peak_w"] * sizes.array, "controller_a": None}
                for one in self.supply.get("arrays", [])
                if sizes.array
            ]
        return patch

    def same_losses(self, watts: float) -> Json:
        """Efficiencies that leave an inverter of another size with the losses it has, watt for watt."""
        given, own_w = self.inverter, self.own_w
        idle = given.get("no_load_w", 0)
        peak_w = given["peak_efficiency_at"] * own_w
        at_peak, at_full = (
            (at_w / share - at_w - idle) / at_w
            for at_w, share in ((peak_w, given["peak_efficiency"]), (own_w, given["full_load_efficiency"]))
        )

        def efficiency(at_w: float) -> float:
            part = at_peak + (at_full - at_peak) * (at_w - peak_w) / (own_w - peak_w)
            return float(at_w / (at_w + idle + part * at_w))

        return {
            "peak_efficiency": efficiency(watts / 2), "peak_efficiency_at": 0.5,
            "full_load_efficiency": efficiency(watts),
        }  # fmt: skip


def holds(what: str, found: Assessment, start_charge: float) -> bool:
    """What it means that one figure of the supply carries a plan."""
    by_id: dict[str, LimitReading] = {one.id: one for one in found.limits}
    legs = [one for one in found.limits if one.id.startswith("leg:")]
    overload, peak = by_id["inverter_overload"], by_id["battery_peak"]
    steady = {"continuous_w": "inverter_continuous", "rated_va": "inverter_apparent", "bank_a": "battery_continuous"}
    if what in steady:
        stores = [peak] if what == "bank_a" else [overload, *legs]
        return by_id[steady[what]].verdict in ("fits", "tight") and all(one.heat is None for one in stores)
    if what == "surge_va":
        return all(one.verdict not in RED for one in (overload, *legs))
    if what in ("restart_va", "bank_peak_a"):
        return (by_id["cold_restart"] if what == "restart_va" else peak).verdict not in RED
    kept = by_id["reserve"].verdict != "over"
    if what == "usable_wh":
        return kept
    assert found.battery is not None
    return kept and found.battery.end_state_of_charge >= start_charge - 1e-9


class Checked:
    """The least figures of a plan against the engine: `wrong` says where they do not carry it, or less does too."""

    def __init__(self, supply: Supply, needs: tuple[Need, ...]) -> None:
        self.supply, self.need = supply, {str(one.what): one for one in needs}
        self.wrong: list[str] = []
        self.none = [what for what, one in self.need.items() if one.least is None]
        self.less = {what: one.least * 0.99 for what, one in self.need.items() if one.least}
        restart = self.least("restart_va", AMPLE)
        # What an inverter sends back from panels on the AC side is no need of the house.
        self.all_least: dict[str, float] = {
            "watts": max(self.least("continuous_w", 0), supply.own_w if supply.on_ac else 0.0),
            "va": self.least("rated_va", 0),
            "top_va": max(self.least("surge_va", 0), restart), "top_s": self.seconds("surge_va"),
            "bank_a": self.least("bank_a", AMPLE / 10),
            "peak_a": self.least("bank_peak_a", AMPLE), "peak_s": self.seconds("bank_peak_a"),
        }  # fmt: skip
        self.bank, self.array = self.factor("usable_wh"), self.factor("array_w")

    def least(self, what: str, otherwise: float) -> float:
        """The least of a figure; otherwise where no size would do."""
        found = self.need[what].least
        return otherwise if found is None else found

    def seconds(self, what: str) -> float:
        """For how long it is needed."""
        found = self.need[what].for_s
        return 1e5 if found is None else found

    def factor(self, what: str) -> float | None:
        """The least, times what the plan has."""
        one = self.need[what]
        return one.least / one.has if one.least is not None and one.has else None

    def expect(
        self, how: str, carried: Sequence[str], not_carried: Sequence[str], *, with_sun: bool = False, **sizes: float
    ) -> None:
        """Assess the plan with all at its least but for some sizes, and see what is carried and what is not."""
        found = self.supply.assessed(Sizes(**(self.all_least | sizes)), with_sun=with_sun)
        start = self.supply.resolved.day.start_state_of_charge
        self.wrong += [f"{how}: {what} is not carried" for what in carried if not holds(what, found, start)]
        self.wrong += [f"{how}: {what} is carried" for what in not_carried if holds(what, found, start)]

    def power(self) -> None:
        """Hours and starts, of the inverter and of the bank: carried together, and not with a per cent less of one."""
        less, least = self.less, self.all_least
        asked = ["continuous_w", "rated_va", "surge_va", "restart_va", "bank_a", "bank_peak_a"]
        none = [what for what in asked if what in self.none]
        self.expect("together", [what for what in asked if what not in none], none)
        watts, bank_a = less.get("continuous_w", 0), less.get("bank_a", least["bank_a"])
        hours = [what for what in ("continuous_w", "bank_a") if what in less]
        self.expect("a per cent less", [], hours, watts=watts, bank_a=bank_a)
        one_less: list[str] = [what for what in ("rated_va", "restart_va") if what in less]
        if less.get("bank_peak_a", 0) > least["bank_a"]:
            one_less.append("bank_peak_a")
        # A top lies above the rating, so that goes with it where it must.
        top_va = less.get("restart_va", least["top_va"])
        va = min(less.get("rated_va", 0), top_va / 2 if "restart_va" in less else AMPLE)
        self.expect(
            "a per cent less", [], one_less, va=va, top_va=top_va, peak_a=less.get("bank_peak_a", least["peak_a"])
        )
        if less.get("surge_va", 0) > least["va"]:
            self.expect("a per cent less", [], ["surge_va"], top_va=less["surge_va"])
        shorter = [what for what in ("surge_va", "bank_peak_a") if what in less and self.seconds(what) > 0]
        if shorter:
            self.expect("shorter", [], shorter, top_s=least["top_s"] * 0.99, peak_s=least["peak_s"] * 0.99)

    def energy(self) -> None:
        """Bank and arrays: each carried beside the least of all else, and not with a per cent less."""
        if self.bank is not None:
            self.expect("together", ["usable_wh"], [], with_sun=True, bank=max(self.bank, 1e-3))
        if self.array is not None:
            self.expect("together", ["array_w"], [], with_sun=True, array=self.array)
        if self.bank:
            self.expect("a per cent less", [], ["usable_wh"], with_sun=True, bank=self.bank * 0.99)
        if self.array:
            self.expect("a per cent less", [], ["array_w"], with_sun=True, array=self.array * 0.99)
        if "usable_wh" in self.none:
            self.expect("very large", [], ["usable_wh"], with_sun=True, bank=100)
        if "array_w" in self.none and self.need["array_w"].why != "no_array":
            self.expect("very large", [], ["array_w"], with_sun=True, array=100)
