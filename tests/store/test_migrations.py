"""The tables as migrations make them."""

import pathlib
import threading

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from sqlalchemy import create_engine, inspect

from app import shipped
from app.store.households import import_household, list_households
from app.store.session import Database
from app.store.tables import metadata
from tests.store.sample import MILL


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

    assert pragmas == {"journal_mode": "wal", "foreign_keys": 1, "busy_timeout": 5000, "synchronous": 1}


def test_a_database_in_memory_is_refused() -> None:
    """SQLite without a file would lose everything with its connection."""
    with pytest.raises(ValueError, match="file"):
        Database("sqlite://")
