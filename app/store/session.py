"""The database: SQLite in a file, or PostgreSQL, by its URL."""

import contextlib
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Engine, create_engine, event, inspect, make_url
from sqlalchemy.exc import DataError, DBAPIError
from sqlalchemy.orm import Session

from app.store.errors import BadValue, Locked, Unwritten
from app.store.migrating import migrate

WAIT_MS = 7_000  # a writer waits for its turn; the day page waits for its answer a second longer
_WAIT = f"PRAGMA busy_timeout = {WAIT_MS}"
# How a database says that it is not one's turn, and that it cannot be written: SQLite by a number; PostgreSQL by a
# code, of which 40 are all that say to try again.
_SQLITE_LOCKED = (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)
_SQLITE_UNWRITTEN = (sqlite3.SQLITE_FULL, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_IOERR, sqlite3.SQLITE_CANTOPEN)
_POSTGRESQL_LOCKED = ("40", "55P03")
_POSTGRESQL_UNWRITTEN = ("53100", "25006")
_SQLITE_EACH_CONNECTION = (
    "PRAGMA foreign_keys = ON",
    _WAIT,
    "PRAGMA synchronous = NORMAL",  # with WAL a power cut may lose the last commits, never the file
)


class Database:
    """One database; made once at start, used from any thread.

    url: `sqlite:///FILE` or `postgresql+psycopg://...`.
    """

    def __init__(self, url: str) -> None:
        self._engine = _engine(make_url(url))

    @property
    def engine(self) -> Engine:
        """What the rest of this room puts its questions through."""
        return self._engine

    @property
    def file(self) -> Path | None:
        """The SQLite file; None for a database that is none."""
        return Path(str(self._engine.url.database)) if self._engine.dialect.name == "sqlite" else None

    def is_there(self) -> bool:
        """Whether it has tables of ours, of whatever version; nothing is made."""
        if self.file is not None and not self.file.is_file():
            return False  # to ask it would make it
        return inspect(self._engine).has_table("alembic_version")

    def migrate(self) -> None:
        """Bring the tables up to date; of several processes that start at once, one does it."""
        migrate(self._engine)

    @contextlib.contextmanager
    def session(self) -> Iterator[Session]:
        """A session for one request; whatever was not committed is undone at its end.

        Raises Locked, Unwritten for what could not be written in it, BadValue for what the database cannot keep.
        """
        # What was read stays readable after a commit, so a page can be drawn from it.
        try:
            with Session(self._engine, expire_on_commit=False) as session:
                yield session
        except DataError as error:
            raise BadValue(str(error.orig)) from error
        except DBAPIError as error:
            if unwritten := _unwritten(error):
                raise unwritten from error
            raise

    def if_free(self, do: Callable[[Session], object]) -> bool:
        """Write something small that may as well be left out, and say whether it was written.

        It is left out where somebody else is writing, and where there is no room: nobody waits, and nothing fails.
        """
        is_sqlite = self._engine.dialect.name == "sqlite"
        with self._engine.connect() as connection:
            connection.exec_driver_sql("PRAGMA busy_timeout = 0" if is_sqlite else "SET lock_timeout = 50")
            connection.commit()
            try:
                with Session(connection) as session:
                    do(session)
                    session.commit()
            except DBAPIError as error:
                if _unwritten(error) is None:
                    raise
                return False
            finally:
                connection.exec_driver_sql(_WAIT if is_sqlite else "SET lock_timeout TO DEFAULT")
                connection.commit()
        return True

    def close(self) -> None:
        """Close every connection."""
        self._engine.dispose()


def _unwritten(error: DBAPIError) -> Unwritten | None:
    """What a database says, where it is that it could not be written now; None for anything else."""
    said = error.orig
    code = getattr(said, "sqlite_errorcode", 0) & 0xFF
    state = str(getattr(said, "sqlstate", None) or "")
    why = str(said).partition("\n")[0]
    if code in _SQLITE_LOCKED or state.startswith(_POSTGRESQL_LOCKED):
        return Locked(why)
    is_full = code in _SQLITE_UNWRITTEN or state.startswith(_POSTGRESQL_UNWRITTEN)
    return Unwritten(why) if is_full else None


def _engine(url: URL) -> Engine:
    # As many connections as the server has threads for requests, so that none waits for one.
    pool: dict[str, Any] = {"pool_size": 10, "max_overflow": 30}
    if url.get_backend_name() != "sqlite":
        return create_engine(url, pool_pre_ping=True, **pool)
    if url.database in (None, "", ":memory:"):
        raise ValueError("give SQLite a file; a database in memory is gone with its connection")
    # Reads hold nothing; the first write of a session begins its transaction and takes the write lock
    # at once, waiting for it, instead of being refused half-way because it had read an older state.
    engine = create_engine(url, connect_args={"isolation_level": "IMMEDIATE"}, **pool)
    event.listen(engine, "connect", _prepare_sqlite)
    return engine


def _prepare_sqlite(connection: Any, _record: object) -> None:
    for pragma in _SQLITE_EACH_CONNECTION:
        connection.execute(pragma)
