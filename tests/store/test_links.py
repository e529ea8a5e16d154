"""Links and their tokens."""

import pytest
from sqlalchemy import text

from app.store.households import import_household
from app.store.links import find_link, has_link, make_link, note_use, revoke_link
from app.store.session import Database
from tests.store.sample import MILL


def test_a_token_opens_its_link(database: Database) -> None:
    """The link that is found has the name, scope and household it was made with."""
    with database.session() as session:
        household = import_household(session, MILL, None)
        owner = find_link(session, make_link(session, "Owner", "owner"))
        reader = find_link(session, make_link(session, "Fridge door", "reader", household))

    assert owner is not None
    assert reader is not None
    assert (owner.name, owner.scope, owner.household_key) == ("Owner", "owner", None)
    assert (reader.name, reader.scope, reader.household_key) == ("Fridge door", "reader", household)
    assert owner.key != reader.key


def test_only_a_tokens_hash_is_stored(database: Database) -> None:
    """A token has 128 bits and stands in no table."""
    with database.session() as session:
        token = make_link(session, "Owner", "owner")
        session.commit()
        tables = ("link", "change_log")
        rows = [str(row) for table in tables for row in session.execute(text(f"SELECT * FROM {table}"))]

    assert len(bytes.fromhex(token)) * 8 == 128
    assert len(rows) == 2
    assert not any(token in row for row in rows)


@pytest.mark.parametrize("token", ["", "0" * 32, "\x00", "\ud800", "x" * 10_000])
def test_a_wrong_token_opens_nothing(database: Database, token: str) -> None:
    """Whatever is not a token finds no link, and nothing breaks."""
    with database.session() as session:
        make_link(session, "Owner", "owner")

        assert find_link(session, token) is None


def test_a_revoked_link_opens_nothing(database: Database) -> None:
    """After revoking, the token finds no link and none of its scope is left; other links stay."""
    with database.session() as session:
        token, other = make_link(session, "Owner", "owner"), make_link(session, "Neighbour", "helper")
        link = find_link(session, token)
        assert link is not None
        assert has_link(session, "owner")
        revoke_link(session, link.key)

        assert find_link(session, token) is None
        assert not has_link(session, "owner")
        assert find_link(session, other) is not None


def test_opening_a_link_is_noted(database: Database) -> None:
    """The last use is kept in UTC and is empty before the first."""
    with database.session() as session:
        link = find_link(session, make_link(session, "Owner", "owner"))
        assert link is not None
        assert session.scalar(text("SELECT last_used_at FROM link")) is None
        note_use(session, link.key)

        assert str(session.scalar(text("SELECT last_used_at FROM link"))).endswith("Z")
