"""The change log: every write appends what was done, by which link, and what would undo it."""

import datetime
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Row, bindparam, insert, select
from sqlalchemy.orm import Session

from app.store.clock import now_utc
from app.store.keys import is_key, new_key
from app.store.tables import change_log

# What a page that was away for long is told at most.
NEWS_AT_MOST = 20
_REMOVALS = ("remove_run", "remove_plan")
# What the log keeps changes under that may touch any appliance: additions, and files.
_FIELDS_OF_MANY = ("appliances", "file")

# Written out once: a statement costs more to put together than to carry out.
_APPEND = insert(change_log)
_FROM_TAB = select(change_log).where(
    change_log.c.part_key == bindparam("of_part"),
    change_log.c.tab == bindparam("of_tab"),
    change_log.c.sequence >= bindparam("from_sequence"),
)
_FROM_TAB_ABOUT_FIELD = _FROM_TAB.where(change_log.c.field == bindparam("of_field"))


@dataclass(frozen=True, kw_only=True)
class Entry:
    """What one change adds to the log.

    scenario_key: the plan it changed; None for what concerns the household: its name, or that a plan comes or goes.
    part_key, field, tab, sequence: which field of which part, and from which open page, as far as the
        change is about one; later changes from the same page are judged by them. Only what an open page did
        can be undone there, so tab also tells steps from imports.
    link_key: the link it was done with; None at the machine itself.
    revision: the household's count of changes with this one; 0 for what concerns no household.
    undoes, redoes: id of the change that this one takes back, or does again.
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
    undoes: str | None = None
    redoes: str | None = None


@dataclass(frozen=True)
class Change:
    """One line of the log, as it is read back; fields as in `Entry`."""

    id: str
    at_utc: datetime.datetime
    scenario_key: str | None
    part_key: str | None
    link_key: str | None
    tab: str | None
    sequence: int | None
    command: dict[str, Any]
    inverse: dict[str, Any]
    revision: int
    undoes: str | None
    redoes: str | None


@dataclass(frozen=True)
class Past:
    """What one change made of a part.

    before, after: the part's document; None where it was not there. taken_back: the change was undone since.
    """

    change: Change
    before: Any
    after: Any
    taken_back: bool


def append(session: Session, entry: Entry) -> str:
    """Append a change to the log, in the transaction of the change itself; its id is returned."""
    change_id = new_key()
    session.execute(_APPEND, {"id": change_id, "at_utc": now_utc(), **vars(entry)})
    return change_id


def recent(session: Session, household_key: str, limit: int) -> list[Change]:
    """The last changes of a household, newest first."""
    return _changes(session, change_log.c.household_key == household_key, limit=limit)


def since(session: Session, household_key: str, scenario_keys: list[str], revision: int) -> list[Change]:
    """The changes after a revision of some plans and of the household itself, newest last, the last 20 at most."""
    about = change_log.c.scenario_key.in_(scenario_keys) | change_log.c.scenario_key.is_(None)
    later = change_log.c.revision > revision
    return _changes(session, change_log.c.household_key == household_key, later, about, limit=NEWS_AT_MOST)[::-1]


@dataclass(frozen=True)
class LogLine:
    """A change as the history shows it. taken_back: it was undone since, and not done again."""

    change: Change
    taken_back: bool


def log_lines(
    session: Session, household_key: str, scenario_key: str | None, before: int | None, limit: int
) -> list[LogLine]:
    """The changes of a household, the newest first; of a plan, those that concern the household too.

    scenario_key: of the plan; None for all of them. before: only those under this revision.
    """
    about: list[Any] = [change_log.c.household_key == household_key]
    if scenario_key is not None:
        about.append((change_log.c.scenario_key == scenario_key) | change_log.c.scenario_key.is_(None))
    if before is not None:
        about.append(change_log.c.revision < before)
    found = _changes(session, *about, limit=limit)
    ids = [change.id for change in found]
    steps = change_log.c.undoes.in_(ids) | change_log.c.redoes.in_(ids)
    columns = (change_log.c.undoes, change_log.c.redoes)
    rows = session.execute(select(*columns).where(about[0], steps).order_by(change_log.c.revision))
    is_back = {row.undoes or row.redoes: row.undoes is not None for row in rows}  # as the newest has it
    return [LogLine(change, is_back.get(change.id, False)) for change in found]


def log_line(session: Session, household_key: str, revision: int) -> Change | None:
    """The change that led to a revision of a household; None if there was none."""
    found = _changes(session, change_log.c.household_key == household_key, change_log.c.revision == revision, limit=1)
    return found[0] if found else None


def past_of(session: Session, household_key: str, part_key: str, field: str, limit: int) -> list[Past]:
    """What became of one part of the library, the newest first: its own changes, steps back and files brought in.

    field: what the log keeps its own changes under. At most so many lines of the log are looked at.
    """
    about = change_log.c.field.in_((field, part_key, *_FIELDS_OF_MANY))
    found = []
    is_back: dict[str, bool] = {}  # by the id of a change, as the newest line about it has it
    for change in _changes(session, change_log.c.household_key == household_key, about, limit=limit):
        step = change.undoes or change.redoes
        if step is not None:
            is_back.setdefault(step, change.undoes is not None)
        before, after = _around(change, part_key)
        if before != after:
            found.append(Past(change, before, after, is_back.get(change.id, False)))
    return found


def _around(change: Change, part_key: str) -> tuple[Any, Any]:
    """A part's document before a change and after it; None where it was not there, twice if it was not touched."""
    for line, is_before in ((change.inverse, True), (change.command, False)):
        for part in line.get("parts") or ():
            if part["key"] == part_key and "left" in part:
                states = [None if one["removed"] else one["document"] for one in (part, part["left"])]
                return (states[0], states[1]) if is_before else (states[1], states[0])
    return None, None


def removal(session: Session, household_key: str, part_keys: tuple[str, ...]) -> Change | None:
    """The change that removed the last of these parts, if one did lately."""
    about = change_log.c.part_key.in_(part_keys)
    found = _changes(session, change_log.c.household_key == household_key, about, limit=NEWS_AT_MOST)
    return next((change for change in found if change.command["do"] in _REMOVALS), None)


def from_tab(session: Session, part_key: str, field: str | None, tab: str, sequence: int) -> list[Change]:
    """What an open page said about a part, or about one field of it, under this number or a later one."""
    if not is_key(part_key):
        return []
    given = {"of_part": part_key, "of_tab": tab, "from_sequence": sequence}
    if field is None:
        rows = session.execute(_FROM_TAB, given)
    else:
        rows = session.execute(_FROM_TAB_ABOUT_FIELD, given | {"of_field": field})
    return [change_of(row) for row in rows]


def change_of(row: Row[Any]) -> Change:
    """A row of the log as a change."""
    return Change(**{name: getattr(row, name) for name in Change.__dataclass_fields__})


def _changes(session: Session, *wanted: Any, limit: int) -> list[Change]:
    newest_first = change_log.c.revision.desc()
    rows = session.execute(select(change_log).where(*wanted).order_by(newest_first).limit(limit))
    return [change_of(row) for row in rows]
