"""Migrations at start, under a lock, so that several processes may start at once."""

import contextlib
import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.util import CommandError
from sqlalchemy import Connection, Engine, text

from app import shipped

# Any number will do, as long as nothing else in the database takes the same.
_ADVISORY_LOCK = 5_107_321_947
_LONGEST_WAIT_S = 60.0


class TooNew(Exception):
    """The database was written by a newer program than this."""


def migrate(engine: Engine) -> None:
    """Bring a database to the newest version in one transaction: either it is there, or nothing changed.

    Raises TooNew for one whose version this program does not know, OSError where its file cannot be made.
    """
    if engine.dialect.name == "sqlite":
        _make_private(Path(str(engine.url.database)))
        with _file_lock(str(engine.url.database)), engine.connect() as connection:
            # Kept in the file: readers and one writer do not wait for each other.
            connection.exec_driver_sql("PRAGMA journal_mode = WAL")
            connection.exec_driver_sql("BEGIN IMMEDIATE")  # the driver begins none before CREATE TABLE
            _upgrade(connection)
    else:
        with engine.connect() as connection:
            # Held until the transaction ends, however it ends.
            connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": _ADVISORY_LOCK})
            _upgrade(connection)


def _upgrade(connection: Connection) -> None:
    config = Config()
    config.set_main_option("script_location", str(shipped.migrations()).replace("%", "%%"))
    config.attributes["connection"] = connection
    try:
        command.upgrade(config, "head")
    except CommandError as unknown:
        raise TooNew(str(unknown)) from unknown
    connection.commit()


def _make_private(file: Path) -> None:
    """Make a file that is not there, and its folder, for its owner alone; what is there stays as it is."""
    file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    with contextlib.suppress(FileExistsError):
        os.close(os.open(file, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))


@contextlib.contextmanager
def _file_lock(path: str) -> Iterator[None]:
    """Hold a lock beside a SQLite file; the system lets go of it even if this process is killed.

    Beside it and not in it, for switching the file to WAL is refused while anybody else has it open.
    SQLite's own locking serves, which is the same on every system.
    """
    _make_private(Path(f"{path}.lock"))
    lock = sqlite3.connect(f"{path}.lock", timeout=_LONGEST_WAIT_S, isolation_level=None)
    try:
        lock.execute("BEGIN EXCLUSIVE")
        yield
    finally:
        lock.close()
