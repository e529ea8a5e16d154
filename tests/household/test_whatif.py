"""What a plan has otherwise than what it is built on."""

from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from app.household.file import household_from
from app.household.merge import merge_diff, merge_kept, merge_patch, merged_patches
from app.household.whatif import ground_of, made_real, plan_of_id, said_at, supply_patch, what_differs
from tests.household.sample import sample
from tests.oracle.reading import merged

LEAVES = st.one_of(st.integers(-3, 3), st.booleans(), st.sampled_from(["a", "b"]), st.lists(st.integers(0, 2)))
NAMES = st.sampled_from(["a", "b", "c", "d"])
VALUES = st.recursive(LEAVES, lambda inner: st.dictionaries(NAMES, inner, max_size=4), max_leaves=12)
OBJECTS = st.dictionaries(NAMES, VALUES, max_size=4)
PATCHES = st.recursive(
    st.none() | LEAVES, lambda inner: st.dictionaries(NAMES, inner, max_size=4), max_leaves=8
).filter(lambda patch: isinstance(patch, dict))


@given(OBJECTS, OBJECTS)
def test_a_difference_is_a_patch_that_leads_there(before: Any, after: Any) -> None:
    """By our own merging and by the oracle's, both after RFC 7396; and from equal to equal nothing is said."""
    patch = merge_diff(before, after)

    assert merge_patch(before, patch) == merged(before, patch) == after
    assert merge_diff(after, after) == {}


@given(OBJECTS, PATCHES, OBJECTS)
def test_what_a_plan_said_stays_said_beside_what_is_new(ground: Any, patch: Any, wanted: Any) -> None:
    """Old sayings that still hold and the new difference lead, as one patch, to what is wanted."""
    both = merged_patches(merge_kept(patch, wanted), merge_diff(ground, wanted))

    assert merge_patch(ground, both) == wanted


def what_if(**changes: Any) -> dict[str, Any]:
    """The sample with a plan built on its first one, and one more on that."""
    document = sample()
    changed = {"id": "big", "name": "Bigger", "date": "2026-05-16", "parent": "day", "changes": changes}
    document["scenarios"].append(changed)
    return document


def test_what_differs_is_told_with_where_it_is_said() -> None:
    """Figures of the supply, appliances, runs and the day; a list is said as one; the date is nobody's but its own."""
    document = what_if(
        supply={"inverter": {"rated_va": 5400}, "circuits": [{"id": "yard", "breaker_a": 40}, {"id": "shed"}]},
        appliances=[{"id": "kettle", "name": "Kettle", "stages": [{"duration_s": 180, "watts": 1800}]}],
        runs={"k": {"start": "11:11"}},
        day={"cloud_oktas": 7},
    )
    household = household_from(document)
    plan = plan_of_id(household, "big")

    told = {said_at(plan, one) for one in what_differs(household, "big")}

    assert told >= {
        ("supply", "inverter", "rated_va"), ("supply", "circuits"), ("appliances", "kettle"), ("runs", "k"),
        ("day", "cloud_oktas"),
    }  # fmt: skip
    assert what_differs(household, "day") == ()


def test_a_figure_set_back_is_not_said_any_more() -> None:
    """What is as on the ground follows it again; what the plan said before beside it stays."""
    household = household_from(what_if(supply={"inverter": {"rated_va": 5400, "no_load_w": 40}}))
    ground = ground_of(household, "big")
    wanted = merge_patch(ground.supply, {"inverter": {"rated_va": 5000}})

    assert supply_patch(plan_of_id(household, "big"), ground, wanted) == {"inverter": {"no_load_w": 40}}


def test_made_real_the_household_is_as_the_plan_had_it() -> None:
    """Every plan built on it too; what nothing was said about stays as it was written."""
    document = what_if(
        supply={"inverter": {"rated_va": 5400}},
        appliances=[{"id": "heater", "name": "Heater", "stages": [{"duration_s": 600, "watts": 900}]}],
        runs={"h": {"appliance": "heater", "start": "12:00"}},
    )
    before = household_from(document)
    after = household_from(made_real(before, "big", document))

    assert after.supply.inverter.rated_va == 5400
    assert [one.id for one in after.appliances][-1] == "heater"
    assert what_differs(after, "big")[0].path[:2] == ("scenarios", "big")  # its runs are still its own
    assert made_real(before, "day", document) == document
