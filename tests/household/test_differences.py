"""Two households are compared figure by figure."""

import copy
import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.household.demo import demo_text
from app.household.differences import Difference, differences
from app.household.file import household_from, read_household, text_of
from tests.household.sample import Document, put, sample
from tests.store.sample import MILL


def between(before: Document, after: Document) -> list[Difference]:
    """What differs between two household files."""
    return list(differences(household_from(before), household_from(after)))


def after(*changes: Any) -> Document:
    """The sample household with some changes."""
    document = copy.deepcopy(sample())
    for change in changes:
        change(document)
    return document


@pytest.mark.parametrize("document", [sample(), MILL, json.loads(demo_text())], ids=["sample", "mill", "demo"])
def test_a_household_does_not_differ_from_its_own_file(document: Document) -> None:
    """What was written out and read again is the same, whatever was null or left out."""
    before = household_from(document)

    assert differences(before, before) == ()
    assert differences(before, read_household(text_of(before.document()))) == ()
    assert differences(before, read_household(text_of(document))) == ()


def test_what_is_written_down_though_it_would_hold_anyway_is_no_difference() -> None:
    """A default and a null say nothing new."""
    written = after(
        put("supply.battery.reserve", 0.2),
        put("supply.generator", None),
        put("appliances.0.uncertainty", 0),
        put("scenarios.0.runs.0.on", True),
    )

    assert between(sample(), written) == []


def test_a_figure_is_told_with_its_old_and_new_value() -> None:
    """What was left out had its default."""
    changed = after(put("appliances.3.stages.1.watts", 2200), put("supply.battery.reserve", 0.3), put("name", "Fold"))

    assert between(sample(), changed) == [
        Difference(("name",), "changed", "Thornbeck Fold", "Fold"),
        Difference(("supply", "battery", "reserve"), "changed", 0.2, 0.3),
        Difference(("appliances", "washer", "stages", 1, "watts"), "changed", 2050, 2200),
    ]


def test_what_comes_and_goes_is_told_whole() -> None:
    """An appliance, a run, a circuit, a piece of the supply, an any-time load, a plan."""
    heater = {"id": "heater", "name": "Heater", "stages": [{"watts": 900}]}
    generator = {"rated_w": 3000, "start_below": 0.3, "stop_above": 0.6}
    changed = after(
        lambda it: it["appliances"].append(heater),
        lambda it: it["scenarios"][0]["runs"].pop(0),
        lambda it: it["scenarios"].pop(1),
        lambda it: it["any_time"].remove("kettle"),
        lambda it: it["supply"]["circuits"].append({"id": "loft"}),
        put("supply.generator", generator),
    )

    found = {(one.path, one.what) for one in between(sample(), changed)}
    assert found == {
        (("supply", "circuits", "loft"), "added"),
        (("supply", "generator"), "added"),
        (("appliances", "heater"), "added"),
        (("any_time", "kettle"), "removed"),
        (("scenarios", "day", "runs", "k"), "removed"),
        (("scenarios", "what-if"), "removed"),
    }


def test_a_stage_in_between_moves_no_other() -> None:
    """Stages have no names to go by, so what is the same before and behind is left out."""
    soak = {"name": "soak", "duration_s": 600, "watts": 5}
    changed = after(lambda it: it["appliances"][3]["stages"].insert(1, soak))

    (found,) = between(sample(), changed)
    assert (found.path, found.what, found.new["name"]) == (("appliances", "washer", "stages", 1), "added", "soak")
    (back,) = between(changed, sample())
    assert (back.path, back.what, back.old["name"]) == (("appliances", "washer", "stages", 1), "removed", "soak")


def test_another_order_is_a_difference_of_its_own() -> None:
    """The list says which names stand in another order, and nothing else is different."""
    changed = after(lambda it: it["scenarios"][0]["runs"].reverse())

    assert between(sample(), changed) == [
        Difference(("scenarios", "day", "runs"), "moved", ["k", "s", "w"], ["w", "s", "k"])
    ]


def test_a_null_in_a_patch_is_not_nothing() -> None:
    """A plan that takes out a run of its parent differs from one that says nothing of it."""
    changed = after(lambda it: it["scenarios"][1]["changes"]["runs"].pop("w"))

    assert between(sample(), changed) == [
        Difference(("scenarios", "what-if", "changes", "runs", "w"), "removed", None, None)
    ]


def test_a_curve_is_one_value() -> None:
    """Its points mean something together."""
    changed = after(put("supply.inverter.continuous_w", [[25, 4000], [45, 3000]]))

    assert between(sample(), changed) == [
        Difference(
            ("supply", "inverter", "continuous_w"), "changed", [[25, 4000], [40, 3400]], [[25, 4000], [45, 3000]]
        )
    ]


PLACES = {
    "name": st.sampled_from(["Thornbeck Fold", "Fold"]),
    "supply.battery.modules": st.integers(6, 9),
    "supply.battery.reserve": st.sampled_from([0.2, 0.25, None]),
    "appliances.0.stages.0.watts": st.sampled_from([2200, 2200.0, 1800]),
    "appliances.3.stages.0.name": st.sampled_from(["fill", None]),
    "any_time": st.sampled_from([["kettle"], [], None]),
    "scenarios.0.cloud_oktas": st.sampled_from([0, 4, None]),
    "scenarios.0.runs.0.on": st.sampled_from([True, False, None]),
    "scenarios.1.changes.day": st.sampled_from([{}, {"cloud_oktas": 3}]),
}


@given(st.fixed_dictionaries(PLACES), st.fixed_dictionaries(PLACES))
def test_two_households_are_equal_just_when_nothing_differs(one: dict[str, Any], other: dict[str, Any]) -> None:
    """And the differences the other way round are as many, with old and new exchanged."""
    before, now = (
        household_from(after(*(put(path, value) for path, value in given.items()))) for given in (one, other)
    )
    found, back = differences(before, now), differences(now, before)

    assert (found == ()) == (before == now)
    assert [(it.path, it.old, it.new) for it in found] == [(it.path, it.new, it.old) for it in back]
