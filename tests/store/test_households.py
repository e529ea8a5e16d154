"""Households in and out."""

import copy
import json
import time

import pytest

from app.engine.assess import assess
from app.household.errors import HouseholdFaults
from app.household.resolve import resolve
from app.store.errors import NotThere
from app.store.history import recent
from app.store.households import (
    HouseholdRow,
    create_household,
    duplicate_household,
    export_document,
    import_household,
    list_households,
    load,
    newest,
)
from app.store.kept import KEPT_AT_MOST, Kept
from app.store.removed import remove_household, removed_households, restore_household
from app.store.session import Database
from app.store.stored import StoredHousehold
from tests.store.doing import done, history, read_afresh, undone
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
    stored = [StoredHousehold(str(n), 1, None, (), {}, {}, {}) for n in range(KEPT_AT_MOST + 1)]  # type: ignore[arg-type]
    for one in stored[:-1]:
        kept.put(one.key, one)
    assert kept.get("0") is stored[0]
    kept.put(stored[-1].key, stored[-1])

    assert kept.get("0") is stored[0]
    assert kept.get("1") is None


def test_a_new_household_can_be_planned_at_once(database: Database) -> None:
    """It has a supply, no appliance, one empty plan of the date given, and the engine finds nothing wrong with it."""
    with database.session() as session:
        key = create_household(session, "Heron Cottage", None, date="2026-05-12", timezone="Europe/Dublin")
        stored = load(session, key)
        [change] = recent(session, key, 10)
    assert stored is not None
    assessment = assess(stored.household, stored.scenarios[0].id)

    assert (stored.household.name, stored.household.appliances) == ("Heron Cottage", ())
    assert [(plan.name, plan.date) for plan in stored.household.scenarios] == [("First day", "2026-05-12")]
    assert assessment.limits
    assert all(limit.margin >= 0.5 for limit in assessment.limits)
    assert change.command["do"] == "create_household"


@pytest.mark.parametrize(
    ("field", "value"), [("name", ""), ("date", "today"), ("timezone", "Nowhere"), ("latitude", 91)]
)
def test_a_new_household_that_cannot_be_is_not_stored(database: Database, field: str, value: object) -> None:
    """What was asked is checked like a file."""
    given = {"name": "Heron Cottage", "date": "2026-05-12", field: value}
    with database.session() as session:
        with pytest.raises(HouseholdFaults) as refused:
            create_household(session, link_key=None, **given)  # type: ignore[arg-type]
        session.commit()

        assert len(refused.value.faults) == 1
        assert list_households(session) == []


def test_a_duplicate_is_a_household_of_its_own(mill: Mill) -> None:
    """It has everything as it stands, under the name given, and changing it leaves the original alone."""
    done(mill, mill.switch("wash", "first"))
    with mill.database.session() as session:
        key = duplicate_household(session, mill.key, "Alder Mill, spare", mill.link_key)
        session.commit()
        copy_of = export_document(session, key)
        [change] = recent(session, key, 10)
    assert json.dumps(copy_of) == json.dumps(mill.exported() | {"name": "Alder Mill, spare"})
    assert (change.command["do"], change.command["household"]) == ("duplicate_household", mill.key)
    done(Mill(mill.database, key, mill.link_key), Mill(mill.database, key, mill.link_key).switch("wash", "second"))

    assert mill.stored().days["wash"].runs[0].on


def test_a_duplicate_needs_an_original_and_a_name(mill: Mill) -> None:
    """Nothing is stored otherwise."""
    with mill.database.session() as session:
        with pytest.raises(NotThere):
            duplicate_household(session, "0" * 32, "Copy", None)
        with pytest.raises(HouseholdFaults):
            duplicate_household(session, mill.key, " ", None)
        assert len(list_households(session)) == 1


def test_a_removed_household_is_hidden_and_comes_back(mill: Mill) -> None:
    """Nothing finds it while it is removed; restored, it has its file, its keys and its steps."""
    change = mill.switch("wash", "first")
    done(mill, change)
    before, keys = json.dumps(mill.exported()), mill.stored().run_keys
    with mill.database.session() as session:
        remove_household(session, mill.key, mill.link_key)
        session.commit()
    with mill.database.session() as session:
        assert (list_households(session), load(session, mill.key), newest(session, mill.key)) == ([], None, None)
        assert [row[:2] for row in removed_households(session)] == [(mill.key, "Alder Mill")]
        with pytest.raises(NotThere):
            export_document(session, mill.key)
        with pytest.raises(NotThere):
            remove_household(session, mill.key, None)
    with pytest.raises(NotThere):
        done(mill, change)
    with mill.database.session() as session:
        restore_household(session, mill.key, mill.link_key)
        session.commit()

    assert (json.dumps(mill.exported()), mill.stored().run_keys) == (before, keys)
    assert [line.command["do"] for line in history(mill)[:2]] == ["restore_household", "remove_household"]
    read_afresh(mill)
    undone(mill, "wash")
    assert json.dumps(mill.exported()) == json.dumps(MILL)
    with mill.database.session() as session:
        assert removed_households(session) == []
        with pytest.raises(NotThere):
            restore_household(session, mill.key, None)


@pytest.mark.parametrize("key", ["0" * 32, "", "\x00"])
def test_what_is_no_household_is_not_removed(database: Database, key: str) -> None:
    """Unknown keys are said to be not there."""
    with database.session() as session:
        for change in (remove_household, restore_household):
            with pytest.raises(NotThere):
                change(session, key, None)


def test_removed_households_are_listed_newest_first(mill: Mill) -> None:
    """The one removed last stands first, with its moment."""
    with mill.database.session() as session:
        second = import_household(session, MILL | {"name": "Zeal"}, None)
        remove_household(session, second, None)
        session.commit()
        time.sleep(0.002)  # moments are kept to the millisecond
        remove_household(session, mill.key, None)
        session.commit()

        rows = removed_households(session)
    assert [row.key for row in rows] == [mill.key, second]
    assert rows[0].removed_at > rows[1].removed_at
