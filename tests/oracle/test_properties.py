"""Properties that hold for every household, whatever the figures are."""

from __future__ import annotations

import copy
import random
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.households import loads_report, report_without_odds
from tests.oracle.compare import LATER, without_odds
from tests.oracle.profiles import examples
from tests.oracle.reading import Json
from tests.oracle.strategies import clock, households

HAIR = 1e-9


def stages_of(household: Json) -> list[Json]:
    return [stage for appliance in household["appliances"] for stage in appliance["stages"]]


def alone(household: Json) -> Json:
    """Without follow-ons and water, so that every run stands for itself."""
    plain = copy.deepcopy(household)
    plain["supply"].pop("water", None)
    for stage in stages_of(plain):
        stage.pop("sets_off", None)
        stage.pop("water_l", None)
    return plain


def figures(report: Json, but: tuple[str, ...] = ()) -> dict[str, Any]:
    """What a report says, without instants, without who contributes, and without what follows the energy."""
    kept: dict[str, Any] = {}
    for limit in loads_limits(report):
        limit = {**limit, "verdict": without_odds(limit)}
        limit.pop("broken_per_day", None)  # drawn at random in part: test_chance.py says how well
        for key, value in limit.items():
            if key not in ("at", "trips_at", "contributors", "id", *but):
                kept[f"{limit['id']} {key}"] = value
    for key in ("energy_wh", "peak_certain_w", "peak_worst_w", "peak_worst_va"):
        kept[key] = report["demand"][key]
    for kind in ("appliance", "total_va", "before_va"):
        kept[f"surges {kind}"] = sorted(s[kind] for s in report["surges"])
    return kept


def loads_limits(report: Json) -> list[Json]:
    """The limits that the loads alone decide."""
    return [limit for limit in report["limits"] if limit["id"] not in LATER]


def charge(report: Json) -> list[float]:
    """State of charge every five minutes."""
    return list(report["battery"]["series"]["state_of_charge"])


def agree(left: dict[str, Any], right: dict[str, Any]) -> None:
    assert left.keys() == right.keys()
    for key, value in left.items():
        numbers = isinstance(value, float) or (isinstance(value, list) and value and isinstance(value[0], float))
        assert right[key] == (pytest.approx(value, rel=HAIR, abs=1e-6) if numbers else value), key


@examples(60)
@given(households(), st.integers(1, 60), st.booleans(), st.integers(0, 300))
def test_adding_a_load_never_enlarges_a_margin(household: Json, tens: int, cycling: bool, after_s: int) -> None:
    """With no leading load and nothing uncertain, more load leaves less room under every ceiling."""
    for stage in stages_of(household):
        if stage.get("power_factor_kind") == "leading":
            stage["power_factor_kind"] = "lagging"
    for appliance in household["appliances"]:
        appliance["uncertainty"] = 0
    first = household["scenarios"][0]["runs"][0]["start"]
    more = copy.deepcopy(household)
    stage: Json = {"duration_s": 77.77, "watts": 10 * tens, "power_factor": 0.7}
    if cycling:
        stage["cycle"] = {"on_s": 10, "period_s": 33}
    more["appliances"].append({"id": "added", "name": "Added", "stages": [stage]})
    more["scenarios"][0]["runs"].append({"id": "added", "appliance": "added", "start": clock(first[:5], after_s)})
    before = {limit["id"]: limit for limit in loads_report(household)["limits"]}
    for limit in loads_report(more)["limits"]:
        if limit["direction"] == "ceiling":
            assert limit["margin"] <= before[limit["id"]]["margin"] + 1e-6, limit["id"]


@examples(60)
@given(households())
def test_energy_is_the_sum_of_energies(household: Json) -> None:
    """The day's energy is that of each run and each always-on load on its own."""
    plain = alone(household)
    day = plain["scenarios"][0]
    runs = day["runs"]
    always = [a for a in plain["appliances"] if a.get("always_on")]
    whole = loads_report(plain)["demand"]["energy_wh"]
    parts = []
    for run in runs:
        one = {**plain, "scenarios": [{**day, "runs": [run]}]}
        one["appliances"] = [a for a in plain["appliances"] if not a.get("always_on")]
        parts.append(loads_report(without_strangers(one))["demand"]["energy_wh"])
    for appliance in always:
        one = {**plain, "appliances": [appliance], "scenarios": [{**day, "runs": []}]}
        parts.append(loads_report(without_strangers(one))["demand"]["energy_wh"])
    assert whole == pytest.approx(sum(parts), rel=1e-9, abs=1e-6)


def without_strangers(household: Json) -> Json:
    """Leave out every mention of appliances that are not there."""
    known = {a["id"] for a in household["appliances"]}
    day = household["scenarios"][0]
    kept = {**household, "any_time": [], "interlocks": []}
    kept["scenarios"] = [{**day, "off": [a for a in day.get("off", []) if a in known]}]
    return kept


@examples(60)
@given(households(), st.randoms(use_true_random=False))
def test_splitting_a_stage_changes_nothing(household: Json, chance: random.Random) -> None:
    """Two halves of a stage without a cycle are the stage; the start stays on the first half."""
    whole = alone(household)
    fixed = {run["appliance"] for run in whole["scenarios"][0]["runs"] if "duration_s" in run}
    for appliance in whole["appliances"]:
        if not appliance.get("always_on"):
            appliance["after_cut"] = "waits"
    split = copy.deepcopy(whole)
    for appliance in split["appliances"]:
        name = appliance["id"]
        if name in fixed or appliance.get("always_on") or name.startswith(("follower", "pump")):
            continue
        halves = []
        for stage in appliance["stages"]:
            ticks = round(stage["duration_s"] * 100)
            least = round(stage["start"]["duration_s"] * 100) if "start" in stage else 1
            if "cycle" in stage or ticks <= least + 1:
                halves.append(stage)
                continue
            at = chance.randint(least, ticks - 1)
            second = {k: v for k, v in stage.items() if k != "start"}
            halves += [{**stage, "duration_s": at / 100}, {**second, "duration_s": (ticks - at) / 100}]
        appliance["stages"] = halves
    left, right = report_without_odds(whole), report_without_odds(split)
    agree(figures(left), figures(right))
    assert left["any_time"] == right["any_time"]
    assert [limit["at"] for limit in loads_limits(left)] == [limit["at"] for limit in loads_limits(right)]
    assert charge(right) == pytest.approx(charge(left), abs=0.002)  # the energy's steps are cut elsewhere


@examples(60)
@given(households(), st.integers(1, 600))
def test_shifting_everything_shifts_everything(household: Json, minutes: int) -> None:
    """On a day without clock changes and in steady weather only the instants move."""
    day = household["scenarios"][0]
    day["date"], day["ambient_c"] = "2026-05-12", [[0, 22]]
    household["scenarios"] = [day]  # a what-if keeps its own instants
    household["supply"].pop("water", None)
    for stage in stages_of(household):
        stage.pop("water_l", None)
    for appliance in household["appliances"]:
        if appliance.get("always_on"):
            appliance["stages"][0].pop("cycle", None)
    assume(all(run["start"] < "12:00" for run in day["runs"]))
    later = copy.deepcopy(household)
    for run in later["scenarios"][0]["runs"]:
        second = sum(int(part) * unit for part, unit in zip(run["start"].split(":"), (3600, 60, 1), strict=True))
        run["start"] = clock("00:00", second + 60 * minutes)
    agree(figures(loads_report(household)), figures(loads_report(later)))


@examples(60)
@given(households(), st.randoms(use_true_random=False))
def test_order_never_matters(household: Json, chance: random.Random) -> None:
    """Appliances, runs and circuits may be listed in any order, where nothing is tied."""
    longest = [s["cycle"].get("longest_on_s", s["cycle"]["on_s"]) for s in stages_of(household) if "cycle" in s]
    assume(len(set(longest)) == len(longest))
    household["interlocks"] = []
    other = copy.deepcopy(household)
    for listed in (other["appliances"], other["scenarios"][0]["runs"], other["supply"]["circuits"]):
        chance.shuffle(listed)
    left, right = report_without_odds(household), report_without_odds(other)
    agree(figures(left, ("switch_off",)), figures(right, ("switch_off",)))
    assert left["any_time"] == right["any_time"]
    assert left["verdict"] == right["verdict"]
    assert charge(right) == pytest.approx(charge(left), abs=1e-9)
