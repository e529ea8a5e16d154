"""Parents, merge patches and switched-off appliances are settled once."""

import pytest

from app.household.file import household_from
from app.household.merge import merge_patch
from app.household.resolve import resolve
from tests.household.sample import sample


def test_a_plan_with_a_parent_takes_its_day_and_changes_it() -> None:
    """The date is the child's; runs are patched and deleted by id."""
    resolved = resolve(household_from(sample()), "what-if")

    assert resolved.day.date == "2026-05-13"
    assert [(run.id, run.start) for run in resolved.day.runs] == [("k", "09:00"), ("s", "14:00")]


def test_changed_appliances_replace_those_of_the_same_id_in_their_place() -> None:
    """Whole entries, by id."""
    resolved = resolve(household_from(sample()), "what-if")

    assert [one.id for one in resolved.household.appliances][:3] == ["kettle", "saw", "extractor"]
    assert resolved.appliance("saw").stages[0].watts == 1500  # type: ignore[union-attr]


def test_a_null_in_a_patch_takes_the_field_away() -> None:
    """The circuits are gone in the child, and stay in the household."""
    household = household_from(sample())

    assert resolve(household, "what-if").household.supply.circuits == ()
    assert len(resolve(household, "day").household.supply.circuits) == 2


def test_a_grandchild_stands_on_its_parent() -> None:
    """Each plan patches the resolved one before it; a later change in the eldest shows."""
    document = sample()
    document["scenarios"].append(
        {
            "id": "then", "name": "Then", "date": "2026-05-14", "parent": "what-if", "off": ["fridge"],
            "changes": {"day": {"cloud_oktas": 6}, "runs": {"new": {"appliance": "kettle", "start": "20:00"}}},
        }
    )  # fmt: skip

    day = resolve(household_from(document), "then").day

    assert [run.id for run in day.runs] == ["k", "s", "new"]
    assert (day.cloud_oktas, day.off) == (6, ("fridge",))


# RFC 7396, Appendix A: original, patch, result.
RFC_7396 = [
    ({"a": "b"}, {"a": "c"}, {"a": "c"}),
    ({"a": "b"}, {"b": "c"}, {"a": "b", "b": "c"}),
    ({"a": "b"}, {"a": None}, {}),
    ({"a": "b", "b": "c"}, {"a": None}, {"b": "c"}),
    ({"a": ["b"]}, {"a": "c"}, {"a": "c"}),
    ({"a": "c"}, {"a": ["b"]}, {"a": ["b"]}),
    ({"a": {"b": "c"}}, {"a": {"b": "d", "c": None}}, {"a": {"b": "d"}}),
    ({"a": [{"b": "c"}]}, {"a": [1]}, {"a": [1]}),
    (["a", "b"], ["c", "d"], ["c", "d"]),
    ({"a": "b"}, ["c"], ["c"]),
    ({"a": "foo"}, None, None),
    ({"a": "foo"}, "bar", "bar"),
    ({"e": None}, {"a": 1}, {"e": None, "a": 1}),
    ([1, 2], {"a": "b", "c": None}, {"a": "b"}),
    ({}, {"a": {"bb": {"ccc": None}}}, {"a": {"bb": {}}}),
]


@pytest.mark.parametrize(("target", "patch", "result"), RFC_7396)
def test_merge_patches_are_those_of_the_standard(target: object, patch: object, result: object) -> None:
    """RFC 7396, Appendix A, every example."""
    assert merge_patch(target, patch) == result
