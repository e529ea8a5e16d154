"""Databases for tests. PostgreSQL is a cluster of our own: a socket in a temporary folder, nothing else."""

import atexit
import contextlib
import json
import os
import pathlib
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
import uuid
from collections.abc import Iterator
from functools import cache
from typing import Any

import psycopg
from sqlalchemy import select

from app.store.households import import_household
from app.store.keys import KEY_LENGTH, new_key
from app.store.session import Database
from app.store.tables import household, metadata
from tests.requires import require

USER = "postgres"
LONGEST_START_S = 30
# Nobody else may connect, and nothing has to outlive the run.
SETTINGS = (
    "listen_addresses=",
    "fsync=off",
    "synchronous_commit=off",
    "full_page_writes=off",
    "wal_level=minimal",
    "max_wal_senders=0",
    "wal_init_zero=off",
    "autovacuum=off",
)


@cache
def _migrated() -> bytes:
    """What is in a SQLite file that has its tables, and nothing in them."""
    with tempfile.TemporaryDirectory() as folder:
        file = pathlib.Path(folder) / "migrated.sqlite3"
        database = Database(f"sqlite:///{file}")
        database.migrate()
        database.close()
        return file.read_bytes()


def sqlite_url(folder: pathlib.Path) -> str:
    """The URL of a new SQLite file in that folder, with its tables."""
    file = folder / "loadstead.sqlite3"
    file.write_bytes(_migrated())
    return f"sqlite:///{file}"


@cache
def _kept() -> Database:
    """The database of `sqlite_database`, in a folder that goes with the process."""
    folder = tempfile.mkdtemp(prefix="loadstead-")
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return Database(f"sqlite:///{folder}/loadstead.sqlite3")


@contextlib.contextmanager
def sqlite_database() -> Iterator[Database]:
    """A SQLite database with its tables, and nothing in them; only one test of a process has it at a time.

    It is always the same one over another file: a database puts each of its questions into SQL once, and that takes
    longer than most answers.
    """
    database = _kept()
    file = database.file
    assert file is not None
    for rest in ("", "-wal", "-shm"):
        file.with_name(file.name + rest).unlink(missing_ok=True)  # who still holds the last test's file keeps that
    file.write_bytes(_migrated())
    yield database
    database.close()


_BROUGHT_IN: dict[str, tuple[bytes, tuple[str, str]]] = {}


def bring_in(database: Database, document: dict[str, Any]) -> str:
    """Store a household, and return its key.

    What is brought into a new SQLite file is stored once in a process and then copied, with a key and a first change
    of its own: by these the program knows households it has read already.
    """
    file, alike = database.file, json.dumps(document)
    is_new = file is not None and not file.with_name(f"{file.name}-wal").exists() and file.read_bytes() == _migrated()
    if is_new and alike in _BROUGHT_IN:
        assert file is not None
        stored, of_the_first = _BROUGHT_IN[alike]
        # The first half is the same, so that every index stays in order.
        own = tuple(first[: KEY_LENGTH // 2] + new_key()[KEY_LENGTH // 2 :] for first in of_the_first)
        for first, other in zip(of_the_first, own, strict=True):
            stored = stored.replace(first.encode(), other.encode())
        file.write_bytes(stored)
        return own[0]
    with database.session() as session:
        key = import_household(session, document, None)
        session.commit()
        change_id = session.scalars(select(household.c.change_id).where(household.c.key == key)).one()
    if is_new:
        assert file is not None
        database.close()  # whoever closes a file last writes its log into it
        _BROUGHT_IN[alike] = (file.read_bytes(), (key, change_id))
    return key


def programs() -> pathlib.Path | None:
    """The folder with `initdb` and `postgres`, of the newest version installed, if there is one."""
    found = sorted(pathlib.Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: int(path.parts[-3]))
    if found:
        return found[-1].parent
    on_path = shutil.which("initdb")
    return pathlib.Path(on_path).resolve().parent if on_path else None


@contextlib.contextmanager
def postgresql_cluster() -> Iterator[pathlib.Path]:
    """A running cluster; yields the folder of its socket. Needs PostgreSQL, see `requires`."""
    folder = programs()
    require("postgresql", folder is not None)
    assert folder is not None
    # A socket's path has at most 107 signs, so the folder is a short one.
    home = pathlib.Path(tempfile.mkdtemp(prefix="pg-"))
    as_user: list[str] = []
    if os.geteuid() == 0:  # PostgreSQL refuses to be root
        account = pwd.getpwnam(USER)
        os.chown(home, account.pw_uid, account.pw_gid)
        as_user = ["setpriv", "--reuid", USER, "--regid", USER, "--clear-groups", "--pdeathsig", "INT"]
    try:
        data = str(home / "data")
        create = [str(folder / "initdb"), "-D", data, "-U", USER, "-A", "trust", "-E", "UTF8"]
        create += ["--no-locale", "--no-sync"]
        subprocess.run([*as_user, *create], check=True, cwd=home, stdout=subprocess.DEVNULL)
        serve = [str(folder / "postgres"), "-D", data, "-k", str(home)]
        for setting in SETTINGS:
            serve += ["-c", setting]
        with (home / "log").open("wb") as log:
            server = subprocess.Popen([*as_user, *serve], cwd=home, stdout=log, stderr=log)
        try:
            _wait_until_ready(home, server)
            yield home
        finally:
            server.send_signal(signal.SIGINT)  # at once, without waiting for whoever is still connected
            server.wait(LONGEST_START_S)
    finally:
        shutil.rmtree(home)


def _wait_until_ready(home: pathlib.Path, server: subprocess.Popen[bytes]) -> None:
    give_up = time.monotonic() + LONGEST_START_S
    while True:
        try:
            psycopg.connect(host=str(home), user=USER, dbname="postgres").close()
        except psycopg.OperationalError as error:
            if server.poll() is not None or time.monotonic() > give_up:
                raise RuntimeError((home / "log").read_text()) from error
            time.sleep(0.05)
        else:
            return


@contextlib.contextmanager
def postgresql_database(home: pathlib.Path) -> Iterator[str]:
    """An empty database in a running cluster; yields its URL."""
    name = f"test_{uuid.uuid4().hex}"
    with psycopg.connect(host=str(home), user=USER, dbname="postgres", autocommit=True) as admin:
        admin.execute(f'CREATE DATABASE "{name}"')
        yield f"postgresql+psycopg://{USER}@/{name}?host={home}"
        admin.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


def empty(database: Database) -> None:
    """Delete every row of every table of ours."""
    with database.session() as session:
        for table in reversed(metadata.sorted_tables):
            session.execute(table.delete())
        session.commit()
