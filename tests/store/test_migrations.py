"""The tables as migrations make them."""

import copy
import json
import pathlib
import threading
from collections.abc import Iterator
from typing import Any

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from sqlalchemy import Connection, create_engine, inspect, text

from app import shipped
from app.store.households import import_household, list_households
from app.store.keys import new_key, run_key
from app.store.mapping import Piece, row_of, take_apart
from app.store.session import Database
from app.store.tables import metadata
from tests.store.doing import redone, undone
from tests.store.sample import MILL, Mill


@pytest.fixture
def database(empty_url: str) -> Iterator[Database]:
    """A database that was empty and has its tables now: not a copy, as elsewhere."""
    database = Database(empty_url)
    database.migrate()
    yield database
    database.close()


def test_migrations_make_the_tables_of_the_program(database: Database, empty_url: str) -> None:
    """From an empty database on, migrating leads to the very tables the program declares."""
    engine = create_engine(empty_url)
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_server_default": True})

        assert compare_metadata(context, metadata) == []
    engine.dispose()


def test_each_migration_can_be_undone(database: Database, empty_url: str) -> None:
    """Going down again from the newest version leaves no table of ours."""
    engine = create_engine(empty_url)
    config = Config()
    config.set_main_option("script_location", str(shipped.migrations()))
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.downgrade(config, "base")

        assert set(inspect(connection).get_table_names()) == {"alembic_version"}
    engine.dispose()


def test_a_household_of_the_first_version_is_kept(empty_url: str) -> None:
    """With its changes: the file, the keys and the log are there after migrating, and the last change can be undone."""
    engine = create_engine(empty_url)
    config = Config()
    config.set_main_option("script_location", str(shipped.migrations()))
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "0001")
        _store_as_first_version(connection)
    engine.dispose()
    database = Database(empty_url)
    database.migrate()
    mill = Mill(database, "a" * 32, "b" * 32)
    expected = copy.deepcopy(MILL)
    expected["scenarios"][1]["changes"]["runs"]["first"] = {"on": False}

    assert json.dumps(mill.exported()) == json.dumps(expected)
    undone(mill, "wet")
    assert json.dumps(mill.exported()) == json.dumps(MILL)
    redone(mill, "wet")
    assert json.dumps(mill.exported()) == json.dumps(expected)
    database.close()


def _store_as_first_version(connection: Connection) -> None:
    """The sample household with one change, in the columns of that version."""
    key, link, moment = "a" * 32, "b" * 32, "2026-11-20T10:00:00.000Z"
    first, second = new_key(), new_key()
    pieces = take_apart(MILL, key, 1)
    wet = next(piece for piece in pieces if piece.name == "wet")
    run = run_key(wet.key, "first")
    pieces.append(Piece(run, wet.key, "run", "first", 2, 2, {"on": False}))
    of_run = {"scenario": wet.key, "run": run, "field": "on"}
    log: dict[str, Any] = {"household_key": key, "at_utc": moment, "link_key": link}
    about = {"scenario_key": wet.key, "part_key": run, "field": "on", "tab": "kitchen", "sequence": 1}
    imported = {"do": "import_household", "document": MILL}
    changed = {"do": "set_run_field", **of_run, "value": False}
    lines = [
        log
        | dict.fromkeys(about)
        | {"id": first, "command": imported, "inverse": {"do": "remove_household"}, "revision": 1},
        log | about | {"id": second, "command": changed, "inverse": {"do": "clear_run_field", **of_run}, "revision": 2},
    ]
    _insert(
        connection,
        "household",
        {"key": key, "name": MILL["name"], "created_at": moment, "revision": 2, "change_id": second},
    )
    for piece in pieces:
        _insert(connection, "part", {name: value for name, value in row_of(piece, key).items() if name != "removed"})
    for line in lines:
        _insert(connection, "change_log", line)


def _insert(connection: Connection, table: str, row: dict[str, Any]) -> None:
    given = {
        name: json.dumps(value) if name in ("document", "command", "inverse") else value for name, value in row.items()
    }
    places = ", ".join(f":{name}" for name in given)
    connection.execute(text(f"INSERT INTO {table} ({', '.join(given)}) VALUES ({places})"), given)


def test_several_processes_may_migrate_at_once(empty_url: str) -> None:
    """Four that start together on an empty database all find it ready."""
    databases = [Database(empty_url) for _ in range(4)]
    failed: list[Exception] = []

    def start(database: Database) -> None:
        try:
            database.migrate()
        except Exception as error:  # shown by the assert below
            failed.append(error)

    threads = [threading.Thread(target=start, args=(database,)) for database in databases]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert failed == []
    with databases[0].session() as session:
        assert list_households(session) == []
    for database in databases:
        database.close()


def test_migrating_again_changes_nothing(database: Database) -> None:
    """A second start keeps what was stored."""
    with database.session() as session:
        key = import_household(session, MILL, None)
        session.commit()
    database.migrate()

    with database.session() as session:
        assert [row.key for row in list_households(session)] == [key]


def test_sqlite_is_set_up_for_readers_beside_a_writer(tmp_path: pathlib.Path) -> None:
    """The file is in WAL mode; connections check foreign keys and wait for their turn."""
    database = Database(f"sqlite:///{tmp_path}/new/folder/loadstead.sqlite3")
    database.migrate()
    with database.session() as session:
        connection = session.connection()
        pragmas = {
            name: connection.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("journal_mode", "foreign_keys", "busy_timeout", "synchronous")
        }
    database.close()

    assert pragmas == {"journal_mode": "wal", "foreign_keys": 1, "busy_timeout": 7000, "synchronous": 1}


def test_a_database_in_memory_is_refused() -> None:
    """SQLite without a file would lose everything with its connection."""
    with pytest.raises(ValueError, match="file"):
        Database("sqlite://")
