"""Years of sun that a household keeps: stored once, read on their own page and nowhere else."""

import datetime
from dataclasses import dataclass
from typing import Any

from sqlalchemy import func, insert, select
from sqlalchemy.orm import Session

from app.household.errors import Fault, HouseholdFaults
from app.store.clock import now_utc
from app.store.errors import NotThere
from app.store.keys import is_key, new_key
from app.store.mapping import Piece, row_of
from app.store.past import keep_past
from app.store.stored import StoredHousehold
from app.store.tables import part, weather_record

# Removed ones count too, for they can be had back; each takes some 40 to 700 kB.
RECORDS_AT_MOST = 200


@dataclass(frozen=True, slots=True)
class KeptRecord:
    """A record in a list. name: what people call it. source, summary: as they were given."""

    key: str
    name: str
    source: str
    at_utc: datetime.datetime
    summary: dict[str, Any]


def keep_record(
    session: Session, household_key: str, key: str, source: str, summary: dict[str, Any], content: bytes
) -> None:
    """Store a record's days under a fresh key, in the transaction of the command that adds it.

    Raises HouseholdFaults where a household has too many.
    """
    mine = select(func.count()).select_from(weather_record).where(weather_record.c.household_key == household_key)
    if (session.scalar(mine) or 0) >= RECORDS_AT_MOST:
        raise HouseholdFaults([Fault("file", f"{RECORDS_AT_MOST} records are kept already; more are not taken")])
    session.execute(
        insert(weather_record).values(
            key=key, household_key=household_key, source=source, at_utc=now_utc(), summary=summary, content=content
        )
    )


def kept_records(session: Session, stored: StoredHousehold) -> list[KeptRecord]:
    """The records of a household that were not removed, the first one first; their days are left where they are."""
    names = _names(stored)
    columns = (
        weather_record.c.key,
        weather_record.c.source,
        weather_record.c.at_utc,
        weather_record.c.summary,
    )
    rows = session.execute(select(*columns).where(weather_record.c.household_key == stored.key))
    found = {row.key: KeptRecord(row.key, names[row.key], *row[1:]) for row in rows if row.key in names}
    return [found[key] for key in names if key in found]


def copy_records(session: Session, original: StoredHousehold, household_key: str) -> None:
    """Give another household, just stored, the records of one, under keys of their own."""
    names = _names(original)
    for place, key in enumerate(names):
        row = session.execute(select(weather_record).where(weather_record.c.key == key)).one()
        fresh = new_key()
        copy = Piece(fresh, household_key, "weather", fresh, place, 1, {"name": names[key]})
        session.execute(insert(part), row_of(copy, household_key))
        keep_past(session, household_key, [copy], copy.revision)
        session.execute(insert(weather_record).values(**row._asdict() | {"key": fresh, "household_key": household_key}))


def record_content(session: Session, stored: StoredHousehold, key: str) -> tuple[KeptRecord, bytes]:
    """A record with its days.

    Raises NotThere for one that is not there, or no longer.
    """
    names = _names(stored)
    row = None
    if is_key(key) and key in names:
        row = session.execute(select(weather_record).where(weather_record.c.key == key)).first()
    if row is None or row.household_key != stored.key:
        raise NotThere("there is no such record")
    return KeptRecord(row.key, names[key], row.source, row.at_utc, row.summary), row.content


def _names(stored: StoredHousehold) -> dict[str, str]:
    """What the records that are there are called, by their keys, in order."""
    there = [one for one in stored.pieces.values() if one.kind == "weather" and not one.removed]
    return {one.key: one.document["name"] for one in sorted(there, key=lambda one: one.position)}
