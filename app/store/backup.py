"""The whole database as one file, taken while others write, and had back: an SQLite file with the same tables.

Whatever the database is, the file is the same, so what was kept on PostgreSQL can be had back on SQLite and the other
way round. It holds links by their fingerprints, as the database does, so whoever had a link has it afterwards.
"""

import contextlib
import os
import sqlite3
import tempfile
from collections.abc import Iterator
from pathlib import Path

from sqlalchemy import Connection, Table, create_engine, func, insert, select, text

from app.store.errors import BadBackup, NotEmpty
from app.store.migrating import TooNew, migrate
from app.store.session import Database
from app.store.tables import household, link, metadata

ROWS_AT_ONCE = 500
MAGIC = b"SQLite format 3\x00"


def back_up(database: Database, file: Path) -> list[str]:
    """Write everything into a file, as it stands at one moment; others may read and write meanwhile.

    A file that is there must be an earlier backup, and is replaced only once the new one is whole.
    Returns the names of the households in it. Raises BadBackup for a file that is something else.
    """
    if file.exists():
        if database.file is not None and file.samefile(database.file):
            raise BadBackup(f"{file} is the database itself; give another name")
        _refuse_other(file)
    file.parent.mkdir(parents=True, exist_ok=True)
    with _beside(file) as fresh:
        if database.file is not None:
            _copy_sqlite(database.file, fresh)
        else:
            _copy_rows(database, fresh)
        names = _check(fresh)
        fresh.chmod(0o600)
        with fresh.open("rb") as written:
            os.fsync(written.fileno())
        fresh.replace(file)
    return names


def restore(database: Database, file: Path, *, replace: bool = False) -> list[str]:
    """Put what a backup holds into the database, in one transaction; returns the names of the households in it.

    replace: whatever is there goes.
    Raises NotEmpty without it where there is a household or a link, which is left as it is then.
    Raises BadBackup for a file that is none, or of a newer program.
    """
    _refuse_other(file)
    with _beside(Path(tempfile.gettempdir()) / "loadstead-restore") as copy:
        _copy_sqlite(file, copy)
        engine = create_engine(f"sqlite:///{copy}")
        try:
            migrate(engine)  # a backup of an older program becomes one of this
        except TooNew as newer:
            raise BadBackup(f"{file} was made by a newer Loadstead; bring this one up to date first") from newer
        finally:
            engine.dispose()
        names = _check(copy)
        source = create_engine(f"sqlite:///{copy}")
        try:
            with source.connect() as kept, database.engine.begin() as target:
                _lock(target)
                if not replace:
                    _refuse_full(target)
                for table in reversed(metadata.sorted_tables):
                    target.execute(table.delete())
                for table in metadata.sorted_tables:
                    _pour(kept, target, table)
        finally:
            source.dispose()
    return names


def _lock(target: Connection) -> None:
    """Let nobody write meanwhile; SQLite's first write does that by itself."""
    if target.dialect.name == "postgresql":
        names = ", ".join(table.name for table in metadata.sorted_tables)
        target.execute(text(f"LOCK TABLE {names} IN ACCESS EXCLUSIVE MODE"))
    else:
        target.execute(household.update().values(revision=household.c.revision))


def _copy_sqlite(source: Path, fresh: Path) -> None:
    """Copy a file that others may be writing to: SQLite's own way, all of it in one step, so of one moment."""
    with (
        contextlib.closing(sqlite3.connect(f"{source.absolute().as_uri()}?mode=ro", uri=True, timeout=60)) as open_,
        contextlib.closing(sqlite3.connect(fresh)) as copy,
    ):
        open_.backup(copy)
        # One file, with nothing beside it.
        copy.execute("PRAGMA journal_mode = DELETE")


def _copy_rows(database: Database, fresh: Path) -> None:
    """Copy every row into a new file, all as of one moment."""
    engine = create_engine(f"sqlite:///{fresh}")
    try:
        migrate(engine)
        one_moment = database.engine.connect().execution_options(isolation_level="REPEATABLE READ")
        with one_moment as source, engine.begin() as target:
            for table in metadata.sorted_tables:
                _pour(source, target, table)
        with engine.connect() as done:
            done.exec_driver_sql("PRAGMA journal_mode = DELETE")
    finally:
        engine.dispose()


def _pour(source: Connection, target: Connection, table: Table) -> None:
    rows = source.execution_options(yield_per=ROWS_AT_ONCE).execute(select(table))
    for some in rows.mappings().partitions(ROWS_AT_ONCE):
        target.execute(insert(table), [dict(row) for row in some])


def _check(file: Path) -> list[str]:
    """Whether a backup is whole; returns the names of its households.

    Raises BadBackup.
    """
    with contextlib.closing(sqlite3.connect(file)) as copy:
        (said,) = copy.execute("PRAGMA integrity_check").fetchone()
        if said != "ok":
            raise BadBackup(f"the copy is damaged: {said}")
        return [name for (name,) in copy.execute("SELECT name FROM household WHERE removed_at IS NULL ORDER BY rowid")]


def _refuse_other(file: Path) -> None:
    """Raises BadBackup for a file that is no backup of ours, OSError for one that cannot be read."""
    with file.open("rb") as given:
        begins = given.read(len(MAGIC))
    try:
        with contextlib.closing(sqlite3.connect(f"{file.absolute().as_uri()}?mode=ro", uri=True)) as there:
            tables = {name for (name,) in there.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    except sqlite3.DatabaseError:
        tables = set()
    if begins != MAGIC or not {household.name, link.name, "alembic_version"} <= tables:
        raise BadBackup(f"{file} is no Loadstead backup")


def _refuse_full(target: Connection) -> None:
    """Raises NotEmpty where there is a household, one that was deleted too, or a link."""
    rows = target.execute(select(household.c.name).order_by(household.c.created_at, household.c.key))
    names = [row.name for row in rows]
    links = target.scalar(select(func.count()).select_from(link)) or 0
    if names or links:
        raise NotEmpty(names, links)


@contextlib.contextmanager
def _beside(file: Path) -> Iterator[Path]:
    """A name for a new file in the same folder; what is left there afterwards goes."""
    descriptor, name = tempfile.mkstemp(prefix=f".{file.name}.", suffix=".part", dir=file.parent)
    os.close(descriptor)
    fresh = Path(name)
    try:
        yield fresh
    finally:
        for left in (fresh, *(fresh.with_name(fresh.name + end) for end in ("-wal", "-shm", "-journal", ".lock"))):
            left.unlink(missing_ok=True)
