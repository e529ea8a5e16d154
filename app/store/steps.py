"""What can be undone and done again on one plan's page: its own changes and the household's, in a line.

A step is a change an open page made. Undoing appends a change that names the one it takes back, so the two
stacks are found by reading the log's last lines: nothing else is stored about them.

That a plan was added, removed or brought back is a step of one page alone: its own or, while it is removed, the page
one was taken to then. So no page offers to take away a plan that was begun on another.
"""

from dataclasses import dataclass
from typing import Any, NamedTuple

from sqlalchemy import Select, bindparam, null, select, union_all
from sqlalchemy.orm import Session

from app.store.history import Change, change_of
from app.store.households import load
from app.store.stored import StoredHousehold
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
    current = load(session, household_key)
    undo, redo = stacks(session, current, scenario_key) if current else ([], [])
    tops = [stack[-1].change_id for stack in (undo, redo) if stack]
    rows = session.execute(select(change_log).where(change_log.c.id.in_(tops))) if tops else ()
    found = {row.id: change_of(row) for row in rows}
    return Steps(*(found.get(stack[-1].change_id) if stack else None for stack in (undo, redo)))


def stacks(session: Session, current: StoredHousehold, scenario_key: str) -> tuple[list[Step], list[Step]]:
    """What can be undone, and redone, the next one last."""
    undo: list[Step] = []
    redo: list[Step] = []
    if scenario_key not in current.pieces:
        return undo, redo
    rows = session.execute(_LINES, {"of_household": current.key, "of_plan": scenario_key})
    for row in sorted(rows, key=lambda row: row.revision):
        if not _is_of_page(row.command, current, scenario_key):
            continue
        done_before = row.undoes or row.redoes
        if done_before is None:
            undo.append(Step(row.id, row.id))
            redo.clear()
            continue
        undo = [step for step in undo if step.change_id != done_before]
        redo = [step for step in redo if step.change_id != done_before]
        (redo if row.undoes else undo).append(Step(done_before, row.id))
    return undo, redo


def _is_of_page(command: dict[str, Any] | None, current: StoredHousehold, scenario_key: str) -> bool:
    """Whether a line belongs to a plan's page. command: of a line of the household; None for one of the plan itself."""
    about = (command or {}).get("scenario")
    if about is None:
        return True
    page = current.nearest(about)
    return page is not None and page.key == scenario_key


def _lines(lines: Select[Any]) -> Select[Any]:
    log = change_log.c
    mine = (log.household_key == bindparam("of_household"), log.tab.is_not(None))
    newest_first = log.revision.desc()
    return select(lines.where(*mine).order_by(newest_first).limit(STEPS_AT_MOST).subquery())


_LOG = change_log.c
_LINE = (_LOG.id, _LOG.undoes, _LOG.redoes, _LOG.revision)
_LINES = union_all(
    _lines(select(*_LINE, _LOG.command).where(_LOG.scenario_key.is_(None))),
    _lines(select(*_LINE, null().label("command")).where(_LOG.scenario_key == bindparam("of_plan"))),
)
