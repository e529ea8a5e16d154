"""The tables, private to this room. Standard SQL only, the same on SQLite and PostgreSQL.

A household is kept in parts, so that two people who change two things do not meet: each part is one row
with the JSON it has in the household file, exactly as it was given, and the revision of its last change.
"""

import datetime
import json
from typing import Any

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Dialect,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
    false,
)

from app.store.keys import KEY_LENGTH


class Json(TypeDecorator[Any]):
    """A JSON value as text: the order of its fields stays, and 1.0 does not become 1."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Any, dialect: Dialect) -> str:
        """To the database; None is JSON's null, for no such column is ever empty."""
        return json.dumps(value, separators=(",", ":"))

    def process_result_value(self, value: str | None, dialect: Dialect) -> Any:
        """From the database."""
        return None if value is None else json.loads(value)


class Moment(TypeDecorator[datetime.datetime]):
    """An instant as text, `2026-05-12T09:41:07.123Z`: SQLite has no type that keeps a time zone."""

    impl = String(24)
    cache_ok = True

    def process_bind_param(self, value: datetime.datetime | None, dialect: Dialect) -> str | None:
        """To the database, in UTC; sorts as time does."""
        if value is None:
            return None
        text = value.astimezone(datetime.UTC).isoformat(timespec="milliseconds")
        return text.removesuffix("+00:00") + "Z"

    def process_result_value(self, value: str | None, dialect: Dialect) -> datetime.datetime | None:
        """From the database, aware of its zone."""
        return None if value is None else datetime.datetime.fromisoformat(value)


metadata = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
        "ix": "ix_%(table_name)s_%(column_0_name)s",
    }
)


def _key(name: str, *more: Any, nullable: bool = False, primary: bool = False) -> Column[str]:
    return Column(name, String(KEY_LENGTH), *more, nullable=nullable, primary_key=primary)


household = Table(
    "household",
    metadata,
    _key("key", primary=True),
    Column("name", String(200), nullable=False),
    Column("created_at", Moment, nullable=False),
    # Counts the household's changes; a part's revision is this count at the part's last change.
    Column("revision", Integer, nullable=False),
    # The last change's id. It never comes twice, even after a rollback, so it names the exact content.
    _key("change_id"),
    # A removed household stays for a time, so that it can be had back.
    Column("removed_at", Moment, nullable=True),
)

part = Table(
    "part",
    metadata,
    _key("key", primary=True),
    _key("household_key", ForeignKey("household.key"), nullable=False),
    # What it is a part of: the household or, for a run, its plan. No foreign key, as it is one of two.
    _key("within_key"),
    Column("kind", String(20), nullable=False),
    Column("name", String(100), nullable=False),
    Column("position", Integer, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("document", Json, nullable=False),
    # A removed run or plan stays, so that it comes back with its key, its place and all it held.
    Column("removed", Boolean, nullable=False, server_default=false()),
    UniqueConstraint("within_key", "kind", "name"),
    Index(None, "household_key"),
)

# Every part as each change left it, so that any earlier state can be read: the newest line of each part up to a
# revision. Written with the part itself, never changed, and removed only with the household itself.
past_part = Table(
    "past_part",
    metadata,
    _key("part_key", primary=True),
    Column("revision", Integer, primary_key=True, autoincrement=False),
    _key("household_key", ForeignKey("household.key"), nullable=False),
    _key("within_key"),
    Column("kind", String(20), nullable=False),
    Column("name", String(100), nullable=False),
    Column("position", Integer, nullable=False),
    Column("document", Json, nullable=False),
    Column("removed", Boolean, nullable=False),
    Index(None, "household_key", "revision"),
    Index(None, "within_key"),
)

# No foreign keys here: the log outlives whatever it speaks of, but the household.
change_log = Table(
    "change_log",
    metadata,
    _key("id", primary=True),
    _key("household_key", nullable=True),
    _key("scenario_key", nullable=True),
    _key("part_key", nullable=True),
    Column("field", String(100), nullable=True),
    Column("at_utc", Moment, nullable=False),
    _key("link_key", nullable=True),
    Column("tab", String(64), nullable=True),
    Column("sequence", BigInteger, nullable=True),
    Column("command", Json, nullable=False),
    Column("inverse", Json, nullable=False),
    Column("revision", Integer, nullable=False),
    # The change this one takes back, or does again.
    _key("undoes", nullable=True),
    _key("redoes", nullable=True),
    # Two changes that both believe to be the next one: the second is refused.
    UniqueConstraint("household_key", "revision"),
    # What an open page did last to one part; and the last changes of one plan.
    Index(None, "part_key", "tab", "sequence"),
    Index(None, "household_key", "scenario_key", "revision"),
)

# Years of sun, from which plans take a day. What belongs to a household as it changes, that a record is there and what
# it is called, is a part; here is what never changes, and is read only on its own page.
weather_record = Table(
    "weather_record",
    metadata,
    _key("key", primary=True),
    _key("household_key", ForeignKey("household.key"), nullable=False),
    Column("source", String(200), nullable=False),
    Column("at_utc", Moment, nullable=False),
    # What a list shows of it.
    Column("summary", Json, nullable=False),
    Column("content", LargeBinary, nullable=False),
    Index(None, "household_key"),
)

# What people said was on or off, on one day. It lies over the plan and is no change of it: the log knows nothing of it.
tap = Table(
    "tap",
    metadata,
    _key("key", primary=True),
    _key("household_key", ForeignKey("household.key"), nullable=False),
    _key("scenario_key"),
    # The day where the household is, YYYY-MM-DD: a tap of another day says nothing.
    Column("date", String(10), nullable=False),
    Column("appliance", String(100), nullable=False),
    Column("is_on", Boolean, nullable=False),
    Column("at_utc", Moment, nullable=False),
    # Who: the name of the link, as it was then.
    Column("who", String(200), nullable=False),
    Column("tab", String(64), nullable=False),
    Column("sequence", BigInteger, nullable=False),
    Index("ix_tap_of_day", "household_key", "scenario_key", "date"),
)

link = Table(
    "link",
    metadata,
    _key("key", primary=True),
    Column("token_sha256", String(64), nullable=False, unique=True),
    Column("name", String(200), nullable=False),
    Column("scope", String(10), nullable=False),
    _key("household_key", ForeignKey("household.key"), nullable=True),
    Column("created_at", Moment, nullable=False),
    Column("last_used_at", Moment, nullable=True),
    Column("revoked_at", Moment, nullable=True),
    # The only plan a reader is to see; no foreign key, for it is a part.
    _key("scenario_key", nullable=True),
    Column("expires_at", Moment, nullable=True),
)
