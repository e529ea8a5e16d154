"""Removed households that go for good: when somebody says so, or when their time is over."""

import datetime
import json
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

from app.store.backup import back_up, restore
from app.store.clock import now_utc
from app.store.errors import NotThere
from app.store.households import import_household, list_households
from app.store.links import find_link, make_link
from app.store.overlay import KeptTap, Place, keep_tap
from app.store.removed import (
    KEPT_DAYS,
    gone_for_good_at,
    purge_due,
    purge_household,
    remove_household,
    removed_households,
    restore_household,
)
from app.store.session import Database
from app.store.tables import household, link, metadata, part
from tests.databases import sqlite_url
from tests.store.doing import done, plan_key
from tests.store.sample import MILL, Mill
from tests.store.test_weather import brought_in

MOMENT = datetime.timedelta(milliseconds=1)


def rows(database: Database) -> dict[str, list[str]]:
    """Everything in the database, by table, each row as text."""
    with database.session() as session:
        return {
            table.name: sorted(repr(dict(row._mapping)) for row in session.execute(table.select()))
            for table in metadata.sorted_tables
        }


def lived_in(database: Database, name: str, owner: str) -> Mill:
    """A household with a row in every table there is: changes, a record of sun, a tap, and links."""
    with database.session() as session:
        key = import_household(session, MILL | {"name": name}, owner)
        make_link(session, f"{name}'s tablet", "helper", key, by=owner)
        session.commit()
    mill = Mill(database, key, owner)
    done(mill, mill.switch("wash", "first"))
    brought_in(mill)
    with database.session() as session:
        said = KeptTap("washer", is_on=True, at_utc=now_utc(), who="tablet", tab="t", sequence=1)
        keep_tap(session, Place(key, plan_key(mill, "wash"), "2026-05-12"), said, lambda *_: True)
        session.commit()
    return mill


def removed(mill: Mill) -> Mill:
    with mill.database.session() as session:
        remove_household(session, mill.key, mill.link_key)
        session.commit()
    return mill


def purged(mill: Mill) -> None:
    with mill.database.session() as session:
        purge_household(session, mill.key, mill.link_key)
        session.commit()


def keys_of(mill: Mill) -> set[str]:
    """Every key that a household's rows go by: its own, those of its parts and of its links."""
    with mill.database.session() as session:
        found = {mill.key, *session.scalars(part.select().with_only_columns(part.c.key).where(_of(part, mill)))}
        return found | set(session.scalars(link.select().with_only_columns(link.c.key).where(_of(link, mill))))


def _of(table: Any, mill: Mill) -> Any:
    return table.c.household_key == mill.key


def test_nothing_is_left_of_it_and_nothing_else_is_touched(mill: Mill) -> None:
    """No table has a row that names it, but the log's one that says it went; the other household has all of its own."""
    lived_in(mill.database, "Reedbank", mill.link_key)
    before = rows(mill.database)
    gone = removed(lived_in(mill.database, "Saltings", mill.link_key))
    keys = keys_of(gone)
    assert all(any(gone.key in row for row in found) for found in rows(mill.database).values())

    purged(gone)

    after = rows(mill.database)
    (said,) = set(after["change_log"]) - set(before["change_log"])
    assert "purge_household" in said
    assert "Saltings" not in said
    after["change_log"].remove(said)
    assert after == before
    told = [row for found in after.values() for row in found]
    assert not [row for row in told if "Saltings" in row or any(key in row for key in keys)]


def test_only_what_was_deleted_goes_and_it_does_not_come_back(mill: Mill) -> None:
    """A household that is there is refused; one that went cannot be had back, nor go again."""
    with mill.database.session() as session:
        for key in (mill.key, "0" * 32, "", "\x00"):
            with pytest.raises(NotThere):
                purge_household(session, key, mill.link_key)
        assert len(list_households(session)) == 1
    purged(removed(mill))
    with mill.database.session() as session:
        for change in (restore_household, purge_household):
            with pytest.raises(NotThere):
                change(session, mill.key, mill.link_key)
        assert (list_households(session), removed_households(session)) == ([], [])


def test_it_goes_by_itself_when_its_time_is_over(mill: Mill) -> None:
    """Not a moment before; one deleted later stays, and so do households that are there."""
    with mill.database.session() as session:
        there = import_household(session, MILL | {"name": "Zeal"}, None)
        later = import_household(session, MILL | {"name": "Later"}, None)
        session.commit()
    removed(mill)
    with mill.database.session() as session:
        (row,) = removed_households(session)
        remove_household(session, later, None)
        session.execute(
            household.update().where(household.c.key == later).values(removed_at=row.removed_at + 2 * MOMENT)
        )
        session.commit()
        at_utc = gone_for_good_at(row.removed_at)
        assert at_utc - row.removed_at == datetime.timedelta(days=KEPT_DAYS)

        assert purge_due(session, at_utc - MOMENT) == 0
        assert purge_due(session, at_utc) == 1
        session.commit()

        assert [one.key for one in removed_households(session)] == [later]
        assert [one.key for one in list_households(session)] == [there]


def test_of_two_at_once_who_comes_second_finds_nothing(mill: Mill) -> None:
    """Having it back waits for whoever lets it go, and is told then that there is nothing."""
    removed(mill)

    def have_back() -> None:
        with mill.database.session() as session:
            restore_household(session, mill.key, None)
            session.commit()

    with ThreadPoolExecutor(1) as second:
        with mill.database.session() as session:
            purge_household(session, mill.key, None)
            waits = second.submit(have_back)
            session.commit()
        with pytest.raises(NotThere):
            waits.result()
    assert rows(mill.database)["part"] == []


def test_a_backup_of_before_still_has_it(mill: Mill, tmp_path: Path) -> None:
    """A backup taken while it was kept has it back whole; one taken afterwards knows nothing of it."""
    with mill.database.session() as session:
        token = make_link(session, "Kitchen", "helper", mill.key)
        session.commit()
    done(mill, mill.switch("wash", "first"))
    text = json.dumps(mill.exported())
    removed(mill)
    before, after = tmp_path / "before.backup", tmp_path / "after.backup"
    back_up(mill.database, before)
    purged(mill)
    back_up(mill.database, after)
    (tmp_path / "elsewhere").mkdir()
    elsewhere = Database(sqlite_url(tmp_path / "elsewhere"))
    try:
        restore(elsewhere, before)
        with elsewhere.session() as session:
            restore_household(session, mill.key, None)
            session.commit()
            assert find_link(session, token) is not None
        assert json.dumps(Mill(elsewhere, mill.key, mill.link_key).exported()) == text
        restore(elsewhere, after, replace=True)
        with elsewhere.session() as session:
            assert (removed_households(session), find_link(session, token)) == ([], None)
    finally:
        elsewhere.close()
