"""Households in and out."""

import copy
import json

import pytest

from app.household.errors import HouseholdFaults
from app.household.resolve import resolve
from app.store.history import recent
from app.store.households import HouseholdRow, import_household, list_households, load
from app.store.kept import KEPT_AT_MOST, Kept
from app.store.session import Database
from app.store.stored import StoredHousehold
from tests.store.sample import MILL, Mill


def test_a_household_goes_out_as_it_came_in(mill: Mill) -> None:
    """The export has the import's values, explicit nulls, number forms and the order of every field."""
    assert json.dumps(mill.exported()) == json.dumps(MILL)


def test_importing_leaves_the_document_alone(database: Database) -> None:
    """What is imported is not changed by it."""
    document = copy.deepcopy(MILL)
    with database.session() as session:
        import_household(session, document, None)

    assert json.dumps(document) == json.dumps(MILL)


def test_an_import_is_a_change_like_any_other(mill: Mill) -> None:
    """The log's first line holds the whole file, the link it came by, and what would undo it."""
    with mill.database.session() as session:
        [change] = recent(session, mill.key, 10)

    assert change.command == {"do": "import_household", "document": MILL}
    assert change.inverse == {"do": "remove_household"}
    assert (change.revision, change.link_key) == (1, mill.link_key)
    assert change.at_utc.utcoffset() is not None


def test_a_household_that_cannot_be_is_not_stored(database: Database) -> None:
    """A bad file is refused with its faults, and nothing is left even if the caller commits."""
    document = copy.deepcopy(MILL)
    document["appliances"][0]["stages"][0]["watts"] = -5
    with database.session() as session:
        with pytest.raises(HouseholdFaults) as refused:
            import_household(session, document, None)
        session.commit()

        assert [fault.path for fault in refused.value.faults] == ["appliances[0].stages[0].watts"]
        assert list_households(session) == []


def test_households_are_listed_in_the_order_they_came(mill: Mill) -> None:
    """The list has key and name, the first stored first."""
    with mill.database.session() as session:
        second = import_household(session, MILL | {"name": "Zeal"}, None)
        third = import_household(session, MILL | {"name": "Abel"}, None)

        assert set(list_households(session)) == {
            HouseholdRow(mill.key, "Alder Mill"),
            HouseholdRow(second, "Zeal"),
            HouseholdRow(third, "Abel"),
        }
        assert list_households(session)[0].key == mill.key


def test_a_loaded_household_knows_its_plans_and_runs(mill: Mill) -> None:
    """Plans come in the file's order, and every run of every plan's day has a key, inherited ones too."""
    stored = mill.stored()

    assert [one.id for one in stored.scenarios] == ["wash", "wet", "plain", "bare"]
    assert stored.household.name == "Alder Mill"
    assert set(stored.run_keys) == {
        ("wash", "second"),
        ("wash", "first"),
        ("wash", "pump"),
        ("wet", "second"),
        ("wet", "first"),
        ("wet", "late"),
        ("plain", "second"),
        ("plain", "first"),
        ("plain", "late"),
    }
    keys = [run.key for run in stored.run_keys.values()]
    assert len(set(keys)) == len(keys)
    assert [run.id for run in resolve(stored.household, "plain").day.runs] == ["second", "first", "late"]


def test_a_run_is_found_by_the_keys_of_its_address(mill: Mill) -> None:
    """Plan key and run key lead to the run; a key of another plan's run does not."""
    stored = mill.stored()
    wash, wet = stored.scenarios[:2]
    key = stored.run_keys["wash", "first"].key

    assert stored.scenario(wash.key) is wash
    assert stored.scenario("0" * 32) is None
    assert stored.run_id(wash, key) == "first"
    assert stored.run_id(wet, key) is None


@pytest.mark.parametrize("key", ["0" * 32, "", "\x00", "\ud800", "'; drop table part; --", "A" * 5000])
def test_a_key_of_nothing_finds_nothing(database: Database, key: str) -> None:
    """Whatever stands in an address, a household that is not there is not found and nothing breaks."""
    with database.session() as session:
        assert load(session, key) is None


def test_an_unchanged_household_is_checked_once(mill: Mill) -> None:
    """Loading again without a change between gives the same object."""
    assert mill.stored() is mill.stored()


def test_only_the_households_read_last_are_kept() -> None:
    """Memory does not grow with the number of households."""
    kept = Kept()
    stored = [StoredHousehold(str(n), 1, None, (), {}) for n in range(KEPT_AT_MOST + 1)]  # type: ignore[arg-type]
    for one in stored[:-1]:
        kept.put(one.key, one)
    assert kept.get("0") is stored[0]
    kept.put(stored[-1].key, stored[-1])

    assert kept.get("0") is stored[0]
    assert kept.get("1") is None
