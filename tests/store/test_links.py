"""Links and their tokens."""

import datetime
from concurrent.futures import ThreadPoolExecutor

import pytest
from sqlalchemy import text

from app.household.errors import HouseholdFaults
from app.store.households import import_household
from app.store.links import (
    find_link,
    has_link,
    look_up,
    make_link,
    note_use,
    refuse_last_owner,
    refuse_link,
    revoke_link,
)
from app.store.session import Database
from tests.store.sample import MILL

ONE_MS = datetime.timedelta(milliseconds=1)


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
        note_use(session, link)

        assert str(session.scalar(text("SELECT last_used_at FROM link"))).endswith("Z")


def test_a_link_opens_until_its_time_is_over(database: Database) -> None:
    """Then it says that it has expired; whose owner's links have all ended has none."""
    now = datetime.datetime(2026, 5, 12, 10, 0, tzinfo=datetime.UTC)
    with database.session() as session:
        token = make_link(session, "Guest", "owner", expires_at=now)

        assert find_link(session, token, now - ONE_MS) is not None
        assert look_up(session, token, now) == "expired"
        assert not has_link(session, "owner")


def test_a_households_owner_is_no_owner_of_everything(database: Database) -> None:
    """The first start makes a link that opens everything, unless there is one that does."""
    with database.session() as session:
        household = import_household(session, MILL, None)
        make_link(session, "Owner", "owner", household)
        assert not has_link(session, "owner")
        with pytest.raises(HouseholdFaults, match="last link"):
            refuse_last_owner(session)
        make_link(session, "Everything", "owner")
        assert has_link(session, "owner")
        refuse_last_owner(session)


@pytest.mark.parametrize(("name", "why"), [("", "give it a name"), ("x" * 201, "at most"), (" kitchen", "already")])
def test_a_name_that_cannot_be_is_refused(database: Database, name: str, why: str) -> None:
    """None, one that is too long, one that another link of the household has; one of a link that ended is free."""
    now = datetime.datetime.now(datetime.UTC)
    with database.session() as session:
        household = import_household(session, MILL, None)
        make_link(session, "Kitchen", "reader", household)
        old = find_link(session, make_link(session, "Old", "reader", household))
        assert old is not None
        revoke_link(session, old.key)

        with pytest.raises(HouseholdFaults, match=why):
            refuse_link(session, household, name, now)
        refuse_link(session, household, "Old", now)


def test_a_use_is_noted_once_in_a_while(database: Database) -> None:
    """A page that asks all day long writes nothing most of the time."""
    now = datetime.datetime(2026, 5, 12, 10, 0, tzinfo=datetime.UTC)
    with database.session() as session:
        token = make_link(session, "Kitchen", "reader")
        noted = []
        for minutes in range(12):
            at = now + datetime.timedelta(minutes=minutes)
            link = find_link(session, token, at)
            assert link is not None
            noted.append(note_use(session, link, at))

    assert [minute for minute, one in enumerate(noted) if one] == [0, 5, 10]


def test_of_two_who_revoke_the_last_two_owners_at_once_one_is_refused(database: Database) -> None:
    """The second waits for the first, and then sees that nobody would be left to let anybody in."""
    with database.session() as session:
        keys = []
        for name in ("Hall", "Kitchen"):
            found = find_link(session, make_link(session, name, "owner"))
            assert found is not None
            keys.append(found.key)
        session.commit()

    def revoke(key: str) -> None:
        with database.session() as session:
            revoke_link(session, key)
            refuse_last_owner(session)
            session.commit()

    with ThreadPoolExecutor(1) as second:
        with database.session() as session:
            revoke_link(session, keys[0])
            refuse_last_owner(session)
            waits = second.submit(revoke, keys[1])
            with pytest.raises(TimeoutError):
                waits.result(0.2)
            session.commit()
        with pytest.raises(HouseholdFaults):
            waits.result()
    with database.session() as session:
        assert has_link(session, "owner")
