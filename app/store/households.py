"""Households in and out of the store."""

from typing import Any, NamedTuple

from sqlalchemy import insert, select
from sqlalchemy.orm import Session

from app.household.file import household_from
from app.store.clock import now_utc
from app.store.errors import NotThere
from app.store.history import Entry, append
from app.store.kept import KEPT
from app.store.keys import is_key, new_key
from app.store.mapping import Piece, piece_of, put_together, row_of, take_apart
from app.store.stored import StoredHousehold, stored_from
from app.store.tables import household, part


class HouseholdRow(NamedTuple):
    """A household in a list."""

    key: str
    name: str


def import_household(session: Session, document: dict[str, Any], link_key: str | None) -> str:
    """Store a household file as a new household and return its key; the caller commits.

    document: a household file's JSON value.
    link_key: the link it is done with; None at the machine itself.
    Raises HouseholdFaults with every fault found; nothing is stored then.
    """
    household_from(document)
    household_key, revision = new_key(), 1
    entry = Entry(
        household_key=household_key,
        command={"do": "import_household", "document": document},
        inverse={"do": "remove_household"},
        revision=revision,
        link_key=link_key,
    )
    change_id = append(session, entry)
    session.execute(
        insert(household).values(
            key=household_key,
            name=document["name"],
            created_at=now_utc(),
            revision=revision,
            change_id=change_id,
        )
    )
    rows = [row_of(piece, household_key) for piece in take_apart(document, household_key, revision)]
    session.execute(insert(part), rows)
    return household_key


def list_households(session: Session) -> list[HouseholdRow]:
    """Every household, the first stored first."""
    rows = session.execute(select(household.c.key, household.c.name).order_by(household.c.created_at, household.c.key))
    return [HouseholdRow(row.key, row.name) for row in rows]


def load(session: Session, household_key: str) -> StoredHousehold | None:
    """A household, checked, or None if there is none of that key; one query when it is unchanged."""
    if not is_key(household_key):
        return None
    change_id = session.scalar(select(household.c.change_id).where(household.c.key == household_key))
    if change_id is None:
        return None
    kept = KEPT.get(change_id)
    if kept is not None:
        return kept
    change_id, revision, pieces = read_pieces(session, household_key)
    stored = stored_from(household_key, revision, pieces)
    KEPT.put(change_id, stored)
    return stored


def export_document(session: Session, household_key: str) -> dict[str, Any]:
    """A household's file, equal to what was imported with every change since.

    Raises NotThere for an unknown household.
    """
    return put_together(read_pieces(session, household_key)[2])


def read_pieces(session: Session, household_key: str) -> tuple[str, int, list[Piece]]:
    """The id of a household's last change, its revision, and its parts as that change left them.

    Raises NotThere for an unknown household.
    """
    # One statement, for only one statement sees a single state on both databases.
    rows = session.execute(
        select(part, household.c.change_id, household.c.revision.label("changes"))
        .join(household, household.c.key == part.c.household_key)
        .where(household.c.key == household_key)
    ).all()
    if not rows:
        raise NotThere(f"there is no household {household_key}")
    return rows[0].change_id, rows[0].changes, [piece_of(row) for row in rows]


def read_plan(session: Session, scenario_key: str) -> tuple[Piece, list[Piece]]:
    """A plan's piece, and the pieces of what it says about runs, in their order."""
    rows = session.execute(
        select(part).where((part.c.key == scenario_key) | (part.c.within_key == scenario_key)).order_by(part.c.position)
    )
    pieces = [piece_of(row) for row in rows]
    [plan] = [piece for piece in pieces if piece.key == scenario_key]
    return plan, [piece for piece in pieces if piece is not plan]
