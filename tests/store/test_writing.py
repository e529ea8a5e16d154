"""What could not be written is told by what stood in the way, the same on both databases."""

import threading
from dataclasses import replace
from typing import Any

import pytest
from sqlalchemy import select, update

from app.store.clock import now_utc
from app.store.commands import apply
from app.store.errors import BadValue, Locked, Unwritten
from app.store.links import find_link, is_to_be_noted, make_link, note_use
from app.store.session import Database
from app.store.tables import household, link
from tests.store.sample import Mill


def touch(session: Any) -> None:
    """Write every household's row and every link's, unchanged."""
    session.execute(update(household).values(revision=household.c.revision))
    session.execute(update(link).values(name=link.c.name))


def touch_with(mill: Mill, setting: str) -> None:
    """The same in a session of its own, after a statement that sets how it may write."""
    with mill.database.session() as session:
        session.connection().exec_driver_sql(setting)
        touch(session)


def test_what_may_be_left_out_is_written_when_nobody_writes_and_left_out_when_somebody_does(mill: Mill) -> None:
    """Nobody waits for it, and the next who writes waits as ever."""
    assert mill.database.if_free(touch)
    with mill.database.session() as writer:
        touch(writer)
        assert not mill.database.if_free(touch)
        writer.commit()
    assert mill.database.if_free(touch)

    done = threading.Event()

    def write() -> None:
        with mill.database.session() as session:
            touch(session)
            session.commit()
        done.set()

    waits = threading.Thread(target=write)
    with mill.database.session() as writer:
        touch(writer)
        waits.start()
        assert not done.wait(0.3)
        writer.commit()
    waits.join(30)
    assert done.is_set()


def test_every_connection_waits_as_ever_after_what_may_be_left_out(mill: Mill) -> None:
    """Whichever of the pool's it was written with, and whichever comes next."""
    ask = {"sqlite": "PRAGMA busy_timeout", "postgresql": "SHOW lock_timeout"}[mill.database.engine.dialect.name]

    def waits() -> set[Any]:
        several = [mill.database.engine.connect() for _ in range(3)]
        said = {connection.exec_driver_sql(ask).scalar() for connection in several}
        for connection in several:
            connection.close()
        return said

    def wrong(_session: Any) -> None:
        raise KeyError("a fault of the program")

    before = waits()
    for _ in range(4):
        assert mill.database.if_free(touch)
        with mill.database.session() as writer:
            touch(writer)
            assert not mill.database.if_free(touch)
        with pytest.raises(KeyError):
            mill.database.if_free(wrong)
    assert waits() == before


def test_what_may_be_left_out_is_no_excuse_for_a_fault(mill: Mill) -> None:
    """Something wrong with it is raised, and nothing of it stays."""

    def wrong(session: Any) -> None:
        session.execute(update(link).values(name="other"))
        raise KeyError("a fault of the program")

    with pytest.raises(KeyError):
        mill.database.if_free(wrong)
    with mill.database.session() as session:
        assert "other" not in session.scalars(select(link.c.name))


def test_the_use_of_a_link_is_noted_when_there_is_time(database: Database) -> None:
    with database.session() as session:
        token = make_link(session, "Owner", "owner")
        session.commit()
        used = find_link(session, token)
    assert used is not None
    assert is_to_be_noted(used, now_utc())
    assert database.if_free(lambda session: note_use(session, used))
    with database.session() as session:
        again = find_link(session, token)
    assert again is not None
    assert again.last_used_at is not None
    assert not is_to_be_noted(again, again.last_used_at)


def test_a_text_that_cannot_be_kept_is_told_as_such(mill: Mill, kind: str) -> None:
    """PostgreSQL keeps no text with a NUL in it, and SQLite does."""
    command = replace(mill.switch("wash", "first"), tab="a\x00b")

    def store() -> None:
        with mill.database.session() as session:
            apply(session, command)
            session.commit()

    if kind == "sqlite":
        store()
        return
    with pytest.raises(BadValue):
        store()


def test_where_nothing_may_be_written_that_is_told(mill: Mill, kind: str) -> None:
    """As on a full disk, or a copy that is only there to be read."""
    only_read = {"sqlite": "PRAGMA query_only = ON", "postgresql": "SET TRANSACTION READ ONLY"}[kind]

    with pytest.raises(Unwritten) as refused:
        touch_with(mill, only_read)
    assert not isinstance(refused.value, Locked)
    mill.database.close()


def test_whoever_waits_in_vain_is_told(mill: Mill, kind: str) -> None:
    """The other's change stands, one's own is not stored."""
    short = {"sqlite": "PRAGMA busy_timeout = 10", "postgresql": "SET LOCAL lock_timeout = 10"}[kind]

    with mill.database.session() as writer:
        touch(writer)
        with pytest.raises(Locked):
            touch_with(mill, short)
    mill.database.close()


def test_what_has_no_tables_of_ours_is_not_there(kind: str, empty_url: str) -> None:
    """To ask makes nothing; with its tables it is there."""
    database = Database(empty_url)
    assert not database.is_there()
    if database.file is not None:
        assert not database.file.exists()
    database.migrate()
    assert database.is_there()
    database.close()
