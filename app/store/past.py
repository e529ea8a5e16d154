"""Every part as each change left it: written with the change itself, and read as a household once stood."""

from collections.abc import Iterable
from typing import cast

from sqlalchemy import func, insert, select
from sqlalchemy.orm import Session

from app.store.mapping import Kind, Piece
from app.store.tables import past_part

# Written out once: a statement costs more to put together than to carry out.
_KEEP = insert(past_part)


def keep_past(session: Session, household_key: str, pieces: Iterable[Piece], revision: int) -> None:
    """Keep parts as a change has left them, in the transaction of the change itself.

    revision: the household's count of changes with this one; a part that only moved keeps an older one of its own.
    """
    rows = [
        {
            "part_key": piece.key,
            "revision": revision,
            "household_key": household_key,
            "within_key": piece.within_key,
            "kind": piece.kind,
            "name": piece.name,
            "position": piece.position,
            "document": piece.document,
            "removed": piece.removed,
        }
        for piece in pieces
    ]
    if rows:
        session.execute(_KEEP, rows)


def plan_then(session: Session, scenario_key: str, revision: int) -> list[Piece]:
    """What a plan itself said at a revision of its household: its own part first, then its runs in order.

    Nothing where the plan was not there yet, or nothing is known of that time.
    """
    mine = (past_part.c.part_key == scenario_key) | (past_part.c.within_key == scenario_key)
    newest = (
        select(past_part.c.part_key, func.max(past_part.c.revision).label("revision"))
        .where(mine, past_part.c.revision <= revision)
        .group_by(past_part.c.part_key)
        .subquery()
    )
    same = (past_part.c.part_key == newest.c.part_key) & (past_part.c.revision == newest.c.revision)
    rows = session.execute(select(past_part).join(newest, same))
    pieces = [
        Piece(
            row.part_key,
            row.within_key,
            cast(Kind, row.kind),
            row.name,
            row.position,
            row.revision,
            row.document,
            row.removed,
        )
        for row in rows
    ]
    pieces.sort(key=lambda piece: (piece.kind != "scenario", piece.position))
    return pieces if pieces and pieces[0].kind == "scenario" else []


def plan_revisions(session: Session, scenario_key: str, at_least: int) -> set[int]:
    """The revisions of a household, from one on, with which what a plan itself says became another."""
    mine = (past_part.c.part_key == scenario_key) | (past_part.c.within_key == scenario_key)
    rows = session.execute(select(past_part.c.revision).where(mine, past_part.c.revision >= at_least).distinct())
    return {row.revision for row in rows}
