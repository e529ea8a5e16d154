"""Removed households: hidden from every list, kept whole, and had back as they were."""

import datetime
from typing import Any, NamedTuple

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from app.store.clock import now_utc
from app.store.errors import NotThere
from app.store.history import Entry, append
from app.store.keys import is_key
from app.store.tables import household


class RemovedRow(NamedTuple):
    """A removed household in a list."""

    key: str
    name: str
    removed_at: datetime.datetime


def removed_households(session: Session) -> list[RemovedRow]:
    """Every removed household, the last removed first."""
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
