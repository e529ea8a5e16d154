"""Every store test runs twice: on a SQLite file and on PostgreSQL."""

import pathlib
from collections.abc import Iterator

import pytest

from app.store.households import import_household
from app.store.links import find_link, make_link
from app.store.session import Database
from tests.databases import empty, postgresql_cluster, postgresql_database, sqlite_database
from tests.store.sample import MILL, Mill


@pytest.fixture(scope="session")
def cluster() -> Iterator[pathlib.Path]:
    """One PostgreSQL cluster for the whole run."""
    with postgresql_cluster() as home:
        yield home


@pytest.fixture(scope="session")
def postgresql(cluster: pathlib.Path) -> Iterator[Database]:
    """A database in the cluster with its tables: making one takes longer than most tests, so they share it."""
    with postgresql_database(cluster) as url:
        database = Database(url)
        database.migrate()
        yield database
        database.close()


@pytest.fixture(params=["sqlite", "postgresql"])
def kind(request: pytest.FixtureRequest) -> str:
    """Which database a test runs on."""
    return str(request.param)


@pytest.fixture
def empty_url(kind: str, request: pytest.FixtureRequest, tmp_path: pathlib.Path) -> Iterator[str]:
    """The URL of a database without a table."""
    if kind == "sqlite":
        yield f"sqlite:///{tmp_path}/empty.sqlite3"
    else:
        with postgresql_database(request.getfixturevalue("cluster")) as url:
            yield url


@pytest.fixture
def database(kind: str, request: pytest.FixtureRequest) -> Iterator[Database]:
    """A database with its tables, and nothing in them."""
    if kind == "sqlite":
        with sqlite_database() as database:
            yield database
    else:
        database = request.getfixturevalue("postgresql")
        empty(database)
        yield database
        database.close()


@pytest.fixture
def mill(database: Database) -> Mill:
    """The sample household, imported with an owner link."""
    with database.session() as session:
        token = make_link(session, "Owner", "owner")
        link = find_link(session, token)
        assert link is not None
        key = import_household(session, MILL, link.key)
        session.commit()
    return Mill(database, key, link.key)
