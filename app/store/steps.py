"""What can be undone and done again on one plan's page: its own changes and those of the household, in a line.

A step is a change an open page made. Undoing appends a change that names the one it takes back, so the two
stacks are found by reading the log's last lines: nothing else is stored about them.
"""

from dataclasses import dataclass
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, Select, bindparam, select, union_all
from sqlalchemy.orm import Session

from app.store.history import Change, change_of
from app.store.tables import change_log

# How far back undoing goes.
STEPS_AT_MOST = 100


class Step(NamedTuple):
    """A change on one of the stacks, and the last line of the log about it, whose inverse is the way on."""

    change_id: str
    line_id: str


@dataclass(frozen=True, slots=True)
class Steps:
    """What would be undone next, and done again next, as it was done first."""

    undo: Change | None
    redo: Change | None


def steps(session: Session, household_key: str, scenario_key: str) -> Steps:
    """What can be undone and redone on a plan's page."""
    undo, redo = stacks(session, household_key, scenario_key)
    tops = [stack[-1].change_id for stack in (undo, redo) if stack]
    rows = session.execute(select(change_log).where(change_log.c.id.in_(tops))) if tops else ()
    found = {row.id: change_of(row) for row in rows}
    return Steps(*(found.get(stack[-1].change_id) if stack else None for stack in (undo, redo)))


def stacks(session: Session, household_key: str, scenario_key: str) -> tuple[list[Step], list[Step]]:
    """What can be undone, and redone, the next one last."""
    undo: list[Step] = []
    redo: list[Step] = []
    rows = session.execute(_LINES, {"of_household": household_key, "of_plan": scenario_key})
    for row in sorted(rows, key=lambda row: row.revision):
        done_before = row.undoes or row.redoes
        if done_before is None:
            undo.append(Step(row.id, row.id))
            redo.clear()
            continue
        undo = [step for step in undo if step.change_id != done_before]
        redo = [step for step in redo if step.change_id != done_before]
        (redo if row.undoes else undo).append(Step(done_before, row.id))
    return undo, redo


def _lines(of_plan: ColumnElement[bool]) -> Select[Any]:
    log = change_log.c
    return (
        select(log.id, log.undoes, log.redoes, log.revision)
        .where(log.household_key == bindparam("of_household"), of_plan, log.tab.is_not(None))
        .order_by(log.revision.desc())
        .limit(STEPS_AT_MOST)
    )


_LINES = union_all(
    *(
        select(_lines(of_plan).subquery())
        for of_plan in (change_log.c.scenario_key == bindparam("of_plan"), change_log.c.scenario_key.is_(None))
    )
)
