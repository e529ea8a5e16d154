"""Removed households: hidden from every list, kept whole, and had back as they were; after a time, gone for good."""

import datetime
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, delete, select, update
from sqlalchemy.orm import Session

from app.store.clock import now_utc
from app.store.errors import NotThere
from app.store.history import Entry, append
from app.store.keys import is_key
from app.store.tables import change_log, household, link, part, past_part, tap, weather_record

# How long a removed household can be had back.
KEPT_DAYS = 30
_OF_A_HOUSEHOLD = (part, past_part, weather_record, tap, link, change_log)


class RemovedRow(NamedTuple):
    """A removed household in a list."""

    key: str
    name: str
    removed_at: datetime.datetime


def gone_for_good_at(removed_at: datetime.datetime) -> datetime.datetime:
    """From when on a household that was removed then cannot be had back."""
    return removed_at + datetime.timedelta(days=KEPT_DAYS)


def removed_households(session: Session) -> list[RemovedRow]:
    """Every removed household that is still kept, the last removed first."""
    columns = (household.c.key, household.c.name, household.c.removed_at)
    rows = session.execute(
        select(*columns)
        .where(household.c.removed_at.is_not(None))
        .order_by(household.c.removed_at.desc(), household.c.key)
    )
    return [RemovedRow(row.key, row.name, row.removed_at) for row in rows]


def remove_household(session: Session, household_key: str, link_key: str | None) -> None:
    """Hide a household from everything but `removed_households`; the caller commits.

    Raises NotThere for a household that is unknown or removed already.
    """
    _note(session, household_key, link_key, "remove_household", "restore_household", now_utc())


def restore_household(session: Session, household_key: str, link_key: str | None) -> None:
    """Have a removed household back, with its plans, its keys and its history; the caller commits.

    Raises NotThere for a household that is unknown or was not removed.
    """
    _note(session, household_key, link_key, "restore_household", "remove_household", None)


def purge_household(session: Session, household_key: str, link_key: str | None) -> None:
    """Delete a removed household for good: its plans, every earlier state of them, its log, taps, links and records of
    sun; the caller commits. Of it the log keeps that this was done, and with which link.

    Raises NotThere for a household that is unknown or was not removed.
    """
    if not is_key(household_key) or not _purge(session, household.c.key == household_key, link_key):
        raise NotThere("there is no such household")


def purge_due(session: Session, at_utc: datetime.datetime) -> int:
    """Delete for good what was removed too long ago, and say how many; the caller commits."""
    due = household.c.removed_at <= at_utc - datetime.timedelta(days=KEPT_DAYS)
    if session.execute(select(household.c.key).where(due).limit(1)).first() is None:
        return 0  # as nearly always: nothing is locked for that
    return _purge(session, due, None)


def _purge(session: Session, which: ColumnElement[bool], link_key: str | None) -> int:
    # Writing their rows first locks them: who would have one back at the same time waits, and finds nothing.
    removed = update(household).where(which, household.c.removed_at.is_not(None)).values(revision=household.c.revision)
    keys = list(session.scalars(removed.returning(household.c.key)))
    for key in keys:
        _purge_links_log(session, key)
        for table in _OF_A_HOUSEHOLD:
            session.execute(delete(table).where(table.c.household_key == key))
        session.execute(delete(household).where(household.c.key == key))
        said = {"do": "purge_household", "household": key}
        append(session, Entry(household_key=None, command=said, inverse={}, revision=0, link_key=link_key))
    return len(keys)


def _purge_links_log(session: Session, household_key: str) -> None:
    """Delete what the log says of a household's links, which stands there beside no household."""
    links = set(session.scalars(select(link.c.key).where(link.c.household_key == household_key)))
    rows = session.execute(select(change_log.c.id, change_log.c.command).where(change_log.c.household_key.is_(None)))
    about = [row.id for row in rows if row.command.get("link") in links]
    for at in range(0, len(about), 500):  # a database takes only so many values in one statement
        session.execute(delete(change_log).where(change_log.c.id.in_(about[at : at + 500])))


def _note(
    session: Session,
    household_key: str,
    link_key: str | None,
    do: str,
    back: str,
    removed_at: datetime.datetime | None,
) -> None:
    same = household.c.key == household_key
    as_before = household.c.removed_at.is_(None) if removed_at else household.c.removed_at.is_not(None)
    changed = update(household).where(same, as_before).values(removed_at=removed_at, revision=household.c.revision + 1)
    row = None
    if is_key(household_key):
        row = session.execute(changed.returning(household.c.name, household.c.revision)).first()
    if row is None:
        raise NotThere("there is no such household")
    about: dict[str, Any] = {"name": row.name}
    change_id = append(
        session,
        Entry(
            household_key=household_key,
            command={"do": do, **about},
            inverse={"do": back, **about},
            revision=row.revision,
            link_key=link_key,
        ),
    )
    session.execute(update(household).where(same).values(change_id=change_id))
