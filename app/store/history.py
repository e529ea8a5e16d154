"""The change log: every write appends what was done, by which link, and what would undo it."""

import datetime
from dataclasses import dataclass
from typing import Any

from sqlalchemy import func, insert, select
from sqlalchemy.orm import Session

from app.store.clock import now_utc
from app.store.keys import new_key
from app.store.tables import change_log


@dataclass(frozen=True, kw_only=True)
class Entry:
    """What one change adds to the log.

    part_key, field, tab, sequence: which field of which part, and from which open page, as far as the
        change is about one field; later changes of the same field are judged by them.
    link_key: the link it was done with; None at the machine itself.
    revision: the household's count of changes with this one; 0 for what concerns no household.
    """

    household_key: str | None
    command: dict[str, Any]
    inverse: dict[str, Any]
    revision: int
    link_key: str | None
    scenario_key: str | None = None
    part_key: str | None = None
    field: str | None = None
    tab: str | None = None
    sequence: int | None = None


@dataclass(frozen=True)
class Change:
    """One line of the log, as it is read back."""

    id: str
    at_utc: datetime.datetime
    scenario_key: str | None
    link_key: str | None
    command: dict[str, Any]
    inverse: dict[str, Any]
    revision: int


def append(session: Session, entry: Entry) -> str:
    """Append a change to the log, in the transaction of the change itself; its id is returned."""
    change_id = new_key()
    session.execute(insert(change_log).values(id=change_id, at_utc=now_utc(), **_columns_of(entry)))
    return change_id


def recent(session: Session, household_key: str, limit: int) -> list[Change]:
    """The last changes of a household, newest first."""
    rows = session.execute(
        select(change_log)
        .where(change_log.c.household_key == household_key)
        .order_by(change_log.c.revision.desc())
        .limit(limit)
    )
    return [
        Change(row.id, row.at_utc, row.scenario_key, row.link_key, row.command, row.inverse, row.revision)
        for row in rows
    ]


def newest_revision(session: Session, part_keys: list[str], field: str) -> int:
    """The revision of the last change to a field of any of these parts; 0 if it never changed."""
    newest = session.scalar(
        select(func.max(change_log.c.revision)).where(change_log.c.part_key.in_(part_keys), change_log.c.field == field)
    )
    return newest or 0


def last_of_tab(session: Session, part_key: str, tab: str) -> tuple[int, dict[str, Any]] | None:
    """Sequence number and command of the last change an open page made to a part, if it made any."""
    row = session.execute(
        select(change_log.c.sequence, change_log.c.command)
        .where(change_log.c.part_key == part_key, change_log.c.tab == tab)
        .order_by(change_log.c.sequence.desc())
        .limit(1)
    ).first()
    return None if row is None else (row.sequence, row.command)


def _columns_of(entry: Entry) -> dict[str, Any]:
    return {name: getattr(entry, name) for name in Entry.__dataclass_fields__}
