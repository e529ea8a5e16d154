"""The database: SQLite in a file, or PostgreSQL, by its URL."""

import contextlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Engine, create_engine, event, make_url
from sqlalchemy.orm import Session

from app.store.migrating import migrate

_SQLITE_EACH_CONNECTION = (
    "PRAGMA foreign_keys = ON",
    "PRAGMA busy_timeout = 5000",  # milliseconds a writer waits for its turn
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

    def migrate(self) -> None:
        """Bring the tables up to date; of several processes that start at once, one does it."""
        migrate(self._engine)

    @contextlib.contextmanager
    def session(self) -> Iterator[Session]:
        """A session for one request; whatever was not committed is undone at its end."""
        # What was read stays readable after a commit, so a page can be drawn from it.
        with Session(self._engine, expire_on_commit=False) as session:
            yield session

    def close(self) -> None:
        """Close every connection."""
        self._engine.dispose()


def _engine(url: URL) -> Engine:
    # As many connections as the server has threads for requests, so that none waits for one.
    pool: dict[str, Any] = {"pool_size": 10, "max_overflow": 30}
    if url.get_backend_name() != "sqlite":
        return create_engine(url, pool_pre_ping=True, **pool)
    if url.database in (None, "", ":memory:"):
        raise ValueError("give SQLite a file; a database in memory is gone with its connection")
    Path(str(url.database)).parent.mkdir(parents=True, exist_ok=True)
    # Reads hold nothing; the first write of a session begins its transaction and takes the write lock
    # at once, waiting for it, instead of being refused half-way because it had read an older state.
    engine = create_engine(url, connect_args={"isolation_level": "IMMEDIATE"}, **pool)
    event.listen(engine, "connect", _prepare_sqlite)
    return engine


def _prepare_sqlite(connection: Any, _record: object) -> None:
    for pragma in _SQLITE_EACH_CONNECTION:
        connection.execute(pragma)
