"""What holds for the odds of every household, whatever its figures are."""

import copy
import random
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.households import assessed, loads_assessed
from tests.oracle.chance_households import KINDS, household_of
from tests.oracle.profiles import examples

Json = dict[str, Any]
FEW = 24
numbers = st.integers(0, 100_000)
TOP = {"inverter_overload", "battery_peak"}


def without(number: int, *kinds: str) -> Json:
    """The household of a number, unless it is of a kind for which something does not hold."""
    assume(KINDS[number % len(KINDS)] not in kinds)
    return household_of(number)


def cycling_stages(document: Json) -> list[Json]:
    """Stages that come and go."""
    return [stage for one in document["appliances"] for stage in one["stages"] if stage.get("cycle")]


def exact(document: Json) -> dict[str, float]:
    """The figures that are worked out without drawing anything at random."""
    odds = loads_assessed(document).odds
    above = {entry.limit: entry.seconds_per_day for entry in odds.above}
    return above | {"starts": odds.overloading_starts_per_day}


def never_more(before: dict[str, float], after: dict[str, float]) -> None:
    """No figure is larger after than before, but for rounding."""
    for name, figure in after.items():
        assert figure <= before[name] * (1 + 1e-9) + 1e-9, name


@examples(FEW)
@given(numbers, st.randoms(use_true_random=False), st.floats(1.01, 3))
def test_odds_rise_with_how_long_a_load_is_on(number: int, chance: random.Random, times: float) -> None:
    """Where nothing leads and nothing is excluded, more of the time above, and more starts of others too much."""
    document = without(number, "leading", "interlock")
    longer = copy.deepcopy(document)
    cycle = chance.choice(cycling_stages(longer))["cycle"]
    assume(cycle["on_s"] * times < cycle["period_s"])  # on all the time, it would never start again
    cycle["on_s"] *= times

    never_more(exact(longer), exact(document))


@examples(FEW)
@given(numbers, st.floats(1.001, 2))
def test_a_larger_inverter_never_raises_the_odds(number: int, times: float) -> None:
    """Its own: how often one long excursion falls into several shorter ones is another matter."""
    document = household_of(number)
    larger = copy.deepcopy(document)
    inverter = larger["supply"]["inverter"]
    inverter["rated_va"] *= times
    inverter["continuous_w"] = [[degrees, watts * times] for degrees, watts in inverter["continuous_w"]]
    inverter["overload"] = [[va * times, seconds] for va, seconds in inverter["overload"]]
    before, after = exact(document), exact(larger)
    of_bank = {"battery_continuous", "battery_peak"}  # what is lost in a larger inverter the bank has to give

    never_more(before, {name: figure for name, figure in after.items() if name not in of_bank})


def planned_starts(document: Json) -> bool:
    """Whether something starts when the plan says so; follow-ons are taken to."""
    stages = [stage for one in document["appliances"] for stage in one["stages"]]
    return any(stage.get("start") and not stage.get("cycle") for stage in stages)


@examples(FEW)
@given(numbers)
def test_what_may_happen_is_never_said_to_fit(number: int) -> None:
    """A top level that is ever passed, by what runs or by a start, could be broken, and its verdict says so.

    Two starts at once are left to the odds.
    """
    document = household_of(number)
    report = assessed(document)
    verdicts = {limit["id"]: limit["verdict"] for limit in report["limits"]}
    for entry in report["odds"]["above"]:
        if entry["limit"] in TOP and entry["seconds_per_day"] > 0:
            assert verdicts[entry["limit"]] in ("chance", "over"), entry
        elif entry["seconds_per_day"] > 0:
            assert verdicts[entry["limit"]] not in ("fits", "tight"), entry
    if report["odds"]["overloading_starts_per_day"] > 0 and not planned_starts(document):
        assert verdicts["inverter_overload"] in ("chance", "over")


@examples(FEW)
@given(numbers)
def test_once_a_day_is_over(number: int) -> None:
    """A limit with odds could be broken; expected once a day or more it is over; the worst of them names the days."""
    report = assessed(household_of(number))
    odds = [limit["broken_per_day"] for limit in report["limits"] if limit.get("broken_per_day") is not None]
    for limit in report["limits"]:
        if limit.get("broken_per_day") is not None:
            assert limit["verdict"] == ("over" if limit["broken_per_day"] >= 1 else "chance")
            assert limit["verdict_certain"] not in ("chance", "over")
    most = max(odds, default=0.0)
    assert report["odds"]["once_in_days"] == (pytest.approx(1 / most) if most > 0 else None)


@examples(FEW)
@given(numbers, st.randoms(use_true_random=False))
def test_the_order_of_appliances_does_not_matter(number: int, chance: random.Random) -> None:
    """Nor that of their runs; interlocked loads that are alike are told apart by their order."""
    document = without(number, "interlock")
    other = copy.deepcopy(document)
    chance.shuffle(other["appliances"])
    chance.shuffle(other["scenarios"][0]["runs"])

    assert exact(other) == pytest.approx(exact(document), rel=1e-9, abs=1e-9)


@examples(FEW)
@given(numbers, st.floats(0.05, 0.95))
def test_a_certain_load_may_be_split(number: int, part: float) -> None:
    """Two appliances that draw what one did, side by side; what is uncertain in both would be so twice."""
    document = without(number, "interlock", "pump")
    base = next(one for one in document["appliances"] if one["id"] == "base")
    base["uncertainty"] = 0
    for stage in base["stages"]:
        stage.pop("start", None)
    split = copy.deepcopy(document)
    mine = next(one for one in split["appliances"] if one["id"] == "base")
    other = copy.deepcopy(mine) | {"id": "beside", "name": "Beside"}
    for one, other_one in zip(mine["stages"], other["stages"], strict=True):
        one["watts"], other_one["watts"] = part * one["watts"], (1 - part) * one["watts"]
        other_one.pop("sets_off", None)
    split["appliances"].append(other)
    run = next(one for one in split["scenarios"][0]["runs"] if one["appliance"] == "base")
    split["scenarios"][0]["runs"].append(run | {"id": "beside", "appliance": "beside"})

    assert exact(split) == pytest.approx(exact(document), rel=1e-6, abs=1e-6)


@examples(FEW)
@given(numbers, st.randoms(use_true_random=False))
def test_what_never_goes_off_is_certain(number: int, chance: random.Random) -> None:
    """A load that is on all of its period is as one that does not cycle."""
    document = without(number, "interlock")
    stages = cycling_stages(document)
    which = chance.randrange(len(stages))
    stages[which]["cycle"]["on_s"] = stages[which]["cycle"]["period_s"]
    stages[which]["cycle"].pop("longest_on_s", None)
    follow_ons = {one["appliance"] for one in stages[which].get("sets_off", [])}
    stages[which].pop("start", None)  # without a cycle it would start once, as planned
    for one in document["appliances"]:
        if one["id"] in follow_ons:
            one["stages"][0].pop("start", None)
    certain = copy.deepcopy(document)
    cycling_stages(certain)[which].pop("cycle")

    assert exact(certain) == pytest.approx(exact(document), rel=1e-9, abs=1e-9)


@examples(FEW)
@given(numbers, st.sampled_from(["no run", "run off", "silenced"]))
def test_what_is_never_on_adds_nothing(number: int, why: str) -> None:
    """An appliance without a run, with one that is off, or silenced: every figure stays as it is to the last digit."""
    document = household_of(number)
    more = copy.deepcopy(document)
    stage = {"name": "on", "duration_s": 3000, "watts": 5000, "cycle": {"on_s": 100, "period_s": 200}}
    stage["start"] = {"va": 20_000, "power_factor": 0.5, "duration_s": 1}
    more["appliances"].append({"id": "idle", "name": "Idle", "stages": [stage]})
    day = more["scenarios"][0]
    if why != "no run":
        hour = f"{int(day['runs'][0]['start'][:2]):02}:20"
        day["runs"].append({"id": "idle", "appliance": "idle", "start": hour, "on": why == "silenced"})
    if why == "silenced":
        day["off"] = ["idle"]

    assert assessed(more)["odds"] == assessed(document)["odds"]
