"""One change is one command about one field, carried out in one transaction with its line in the log."""

from dataclasses import asdict, dataclass, replace
from typing import Any, Literal

from sqlalchemy import insert, update
from sqlalchemy.orm import Session

from app.household.errors import HouseholdFaults
from app.store.errors import NotThere, Stale
from app.store.history import Entry, append, last_of_tab, newest_revision
from app.store.households import load, read_plan
from app.store.kept import KEPT
from app.store.keys import is_key, run_key
from app.store.mapping import Piece, plan_document, row_of
from app.store.stored import StoredHousehold
from app.store.tables import household, part

RunField = Literal["on", "start"]


@dataclass(frozen=True, kw_only=True)
class RunCommand:
    """A change to one field of one run in one plan.

    revision: of the run or the household, as the page showed it that the change was made on.
    tab: the open page, by a name it gave itself; sequence: its own count of what it sent.
    link_key: the link it was done with; None at the machine itself.
    """

    household_key: str
    scenario_key: str
    run_key: str
    field: RunField
    revision: int
    tab: str
    sequence: int
    link_key: str | None


@dataclass(frozen=True, kw_only=True)
class SetRunField(RunCommand):
    """Give a run's field a value; null is the file's null."""

    value: bool | str | None


@dataclass(frozen=True, kw_only=True)
class ClearRunField(RunCommand):
    """Leave a run's field out, as it was before it was first given."""


@dataclass(frozen=True)
class Applied:
    """What a command led to.

    household: the state with the command done.
    inverse: the command that undoes it; None if this very command had been done already and nothing
        was stored, as when a form is sent twice.
    """

    household: StoredHousehold
    inverse: RunCommand | None


def apply(session: Session, command: RunCommand) -> Applied:
    """Carry out a command; the caller commits.

    Raises NotThere for an unknown household, plan or run; Stale when the same field was changed since
    the revision the command was made on, or when its own tab has sent a later change of the run;
    HouseholdFaults when the household would not be possible. The transaction is undone then.
    """
    try:
        return _apply(session, command)
    except (NotThere, Stale, HouseholdFaults):
        session.rollback()  # nothing is stored, and the next writer need not wait for this session's end
        raise


def _apply(session: Session, command: RunCommand) -> Applied:
    _claim(session, command.household_key)
    current = load(session, command.household_key)
    scenario = current.scenario(command.scenario_key) if current else None
    run_id = current.run_id(scenario, command.run_key) if current and scenario else None
    if current is None or scenario is None or run_id is None:
        raise NotThere("there is no such run in this plan")
    last = last_of_tab(session, command.run_key, command.tab)
    if last == (command.sequence, _logged(command)):
        return Applied(current, None)
    # The page shows what parents say about the run too, so a change there counts as well.
    shown = [run_key(one.key, run_id) for one in current.lineage(scenario)]
    overtaken = last is not None and command.sequence <= last[0]
    if overtaken or newest_revision(session, shown, command.field) > command.revision:
        raise Stale(current)

    plan, runs = read_plan(session, scenario.key)
    before = next((run for run in runs if run.key == command.run_key), None)
    after = _changed(before, command, run_id, current.revision + 1)
    runs = [after if run is before else run for run in runs] + ([after] if before is None else [])
    stored = current.with_plan(scenario, plan_document(plan, runs), run_id)
    inverse = _inverse(before, command, stored.revision)
    change_id = append(session, _entry(command, inverse, stored.revision))
    _write(session, current.key, after, is_new=before is None, change_id=change_id)
    KEPT.put(change_id, stored)
    return Applied(stored, inverse)


def _claim(session: Session, household_key: str) -> None:
    """Wait for one's turn to change this household, before anything about it is read.

    Writing the household's row, even unchanged, locks it until the transaction ends: on PostgreSQL the
    row, on SQLite the file. Two writers can so never both build on the same state.
    """
    if not is_key(household_key):
        raise NotThere("there is no such household")
    session.execute(update(household).where(household.c.key == household_key).values(revision=household.c.revision))


def _changed(before: Piece | None, command: RunCommand, run_id: str, revision: int) -> Piece:
    document = {} if before is None else dict(before.document)
    if isinstance(command, SetRunField):
        document[command.field] = command.value
    else:
        document.pop(command.field, None)
    if before is not None:
        return replace(before, document=document, revision=revision)
    # A plan's first word about a run it inherits. Revisions rise, so it comes after earlier ones.
    return Piece(command.run_key, command.scenario_key, "run", run_id, revision, revision, document)


def _write(session: Session, household_key: str, after: Piece, *, is_new: bool, change_id: str) -> None:
    if is_new:
        session.execute(insert(part).values(row_of(after, household_key)))
    else:
        same = part.c.key == after.key
        session.execute(update(part).where(same).values(document=after.document, revision=after.revision))
    changed = household.c.key == household_key
    session.execute(update(household).where(changed).values(revision=after.revision, change_id=change_id))


def _inverse(before: Piece | None, command: RunCommand, revision: int) -> RunCommand:
    fields = asdict(command) | {"revision": revision, "sequence": command.sequence + 1}
    fields.pop("value", None)
    if before is not None and command.field in before.document:
        return SetRunField(**fields, value=before.document[command.field])
    return ClearRunField(**fields)


def _entry(command: RunCommand, inverse: RunCommand, revision: int) -> Entry:
    return Entry(
        household_key=command.household_key,
        scenario_key=command.scenario_key,
        part_key=command.run_key,
        field=command.field,
        tab=command.tab,
        sequence=command.sequence,
        link_key=command.link_key,
        command=_logged(command),
        inverse=_logged(inverse),
        revision=revision,
    )


def _logged(command: RunCommand) -> dict[str, Any]:
    """What the log keeps of a command beside its columns."""
    about = {"scenario": command.scenario_key, "run": command.run_key, "field": command.field}
    if isinstance(command, SetRunField):
        return {"do": "set_run_field", **about, "value": command.value}
    return {"do": "clear_run_field", **about}
