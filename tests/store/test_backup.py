"""Backups: taken while others write, had back on either database, and never over something else."""

import contextlib
import json
import sqlite3
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from app.household.demo import demo_text
from app.store.backup import back_up, restore
from app.store.errors import BadBackup, NotEmpty
from app.store.history import recent
from app.store.households import export_document, import_household, list_households
from app.store.links import find_link, make_link
from app.store.session import Database
from app.store.steps import steps
from tests.databases import sqlite_url
from tests.store.doing import done, plan_key, undone
from tests.store.sample import MILL, Mill


@pytest.fixture
def elsewhere(tmp_path: Path) -> Iterator[Database]:
    """Another database, empty: an SQLite file."""
    (tmp_path / "elsewhere").mkdir()
    database = Database(sqlite_url(tmp_path / "elsewhere"))
    yield database
    database.close()


def text(database: Database, key: str) -> str:
    with database.session() as session:
        return json.dumps(export_document(session, key), ensure_ascii=False, indent=2)


def test_what_is_had_back_is_what_was_kept(mill: Mill, elsewhere: Database, tmp_path: Path) -> None:
    """To the byte of its export; with its keys, its history, what can be undone, and its links."""
    done(mill, mill.switch("wash", "first"))
    with mill.database.session() as session:
        token = make_link(session, "Kitchen", "helper", mill.key)
        session.commit()
    file = tmp_path / "kept.backup"

    assert back_up(mill.database, file) == [MILL["name"]]
    assert [one.name for one in tmp_path.iterdir() if one.name.endswith(".part")] == []
    assert restore(elsewhere, file) == [MILL["name"]]
    assert text(elsewhere, mill.key) == text(mill.database, mill.key)
    with elsewhere.session() as session:
        link = find_link(session, token)
        assert link is not None
        assert link.name == "Kitchen"
        assert len(recent(session, mill.key, 10)) == 2
        assert steps(session, mill.key, plan_key(mill, "wash")).undo is not None
    there = Mill(elsewhere, mill.key, mill.link_key)
    undone(there, "wash")
    assert json.dumps(there.exported()) == json.dumps(MILL)


def test_it_goes_back_to_where_it_came_from(mill: Mill, tmp_path: Path) -> None:
    """On the same database, in place of what was done since; refused as long as that is not wanted."""
    file = tmp_path / "kept.backup"
    back_up(mill.database, file)
    before = text(mill.database, mill.key)
    done(mill, mill.switch("wash", "first"))
    with mill.database.session() as session:
        import_household(session, json.loads(demo_text()), None)
        session.commit()
    after = text(mill.database, mill.key)

    with pytest.raises(NotEmpty) as refused:
        restore(mill.database, file)
    assert (refused.value.names, refused.value.links) == ([MILL["name"], "Saltmarsh Ferry House"], 1)
    assert text(mill.database, mill.key) == after
    restore(mill.database, file, replace=True)
    assert text(mill.database, mill.key) == before
    with mill.database.session() as session:
        assert [row.name for row in list_households(session)] == [MILL["name"]]
    done(mill, mill.switch("wash", "first"))


def test_a_backup_is_of_one_moment_while_others_write(mill: Mill, elsewhere: Database, tmp_path: Path) -> None:
    """Four writers never stop; each backup has every change up to some revision, and none after it."""
    stop = threading.Event()
    raised: list[BaseException] = []

    def write(tab: str) -> None:
        try:
            number = 0
            while not stop.is_set():
                number += 1
                done(mill, mill.switch("wash", "first", tab=tab, sequence=number, value=number % 2 == 0))
        except BaseException as error:
            raised.append(error)

    writers = [threading.Thread(target=write, args=(f"tab{number}",)) for number in range(4)]
    for writer in writers:
        writer.start()
    try:
        for number in range(3):
            back_up(mill.database, tmp_path / f"{number}.backup")
    finally:
        stop.set()
        for writer in writers:
            writer.join()
    assert not raised
    for number in range(3):
        restore(elsewhere, tmp_path / f"{number}.backup", replace=True)
        with elsewhere.session() as session:
            log = recent(session, mill.key, 100_000)
        assert [one.revision for one in log] == list(range(len(log), 0, -1))
        assert Mill(elsewhere, mill.key, mill.link_key).stored().revision == len(log)


def test_only_an_earlier_backup_is_replaced(mill: Mill, tmp_path: Path) -> None:
    """Anything else of that name, the database itself among it, stays as it is."""
    file = tmp_path / "letter.txt"
    file.write_text("Dear Ada")
    with pytest.raises(BadBackup, match="no Loadstead backup"):
        back_up(mill.database, file)
    assert file.read_text() == "Dear Ada"
    if mill.database.file is not None:
        with pytest.raises(BadBackup, match="the database itself"):
            back_up(mill.database, mill.database.file)
    kept = tmp_path / "kept.backup"
    back_up(mill.database, kept)
    done(mill, mill.switch("wash", "first"))
    back_up(mill.database, kept)
    with contextlib.closing(sqlite3.connect(kept)) as copy:
        assert copy.execute("SELECT revision FROM household").fetchone() == (2,)


@pytest.mark.parametrize("content", [b"", b"hello", b"SQLite format 3\x00" + bytes(200)])
def test_what_is_no_backup_is_refused(database: Database, tmp_path: Path, content: bytes) -> None:
    """In words, and nothing is changed; so is another program's SQLite file."""
    file = tmp_path / "file"
    file.write_bytes(content)
    with pytest.raises(BadBackup, match="no Loadstead backup"):
        restore(database, file, replace=True)
    other = tmp_path / "other"
    with contextlib.closing(sqlite3.connect(other)) as foreign:
        foreign.execute("CREATE TABLE household (key TEXT)")
    with pytest.raises(BadBackup, match="no Loadstead backup"):
        restore(database, other, replace=True)


def test_a_backup_of_a_newer_program_is_refused(mill: Mill, elsewhere: Database, tmp_path: Path) -> None:
    """It says so, rather than to bring back half of it."""
    file = tmp_path / "kept.backup"
    back_up(mill.database, file)
    with contextlib.closing(sqlite3.connect(file)) as copy, copy:
        copy.execute("UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(BadBackup, match="newer Loadstead"):
        restore(elsewhere, file)
