"""Undo and redo: a step back is a change like any other, and names the one it takes back."""

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.store.commands.command import plan_of
from app.store.commands.door import Applied, all_or_nothing, already_done, carry_out
from app.store.commands.logged import command_of
from app.store.errors import Stale
from app.store.history import Change, change_of
from app.store.households import claim
from app.store.keys import is_key
from app.store.steps import stacks
from app.store.tables import change_log


def undo(
    session: Session,
    household_key: str,
    scenario_key: str,
    change_id: str,
    *,
    tab: str,
    sequence: int,
    link_key: str | None,
) -> Applied:
    """Take back the last change on a plan's page; the caller commits.

    change_id: of the step as `steps` names it.
    Raises Stale when that is the last one no more; NotThere, Gone and HouseholdFaults as `apply` does.
    """
    return _step(session, household_key, scenario_key, change_id, tab, sequence, link_key, back=True)


def redo(
    session: Session,
    household_key: str,
    scenario_key: str,
    change_id: str,
    *,
    tab: str,
    sequence: int,
    link_key: str | None,
) -> Applied:
    """Do again what was undone last on a plan's page; the caller commits. As `undo` otherwise."""
    return _step(session, household_key, scenario_key, change_id, tab, sequence, link_key, back=False)


def _step(
    session: Session,
    household_key: str,
    scenario_key: str,
    change_id: str,
    tab: str,
    sequence: int,
    link_key: str | None,
    *,
    back: bool,
) -> Applied:
    names = "undoes" if back else "redoes"
    with all_or_nothing(session):
        current = claim(session, household_key)
        plan_of(current, scenario_key)
        stack = stacks(session, household_key, scenario_key)[0 if back else 1]
        if not stack or stack[-1].change_id != change_id:
            before = (
                _sent_before(session, household_key, names, change_id, tab, sequence) if is_key(change_id) else None
            )
            if before is None:
                raise Stale(current)
            return already_done(current, before)
        # The way on from here is what undoes the last line about the step, be that the step itself.
        line = session.execute(select(change_log).where(change_log.c.id == stack[-1].line_id)).one()
        envelope = {"household_key": household_key, "tab": tab, "sequence": sequence, "link_key": link_key}
        command = command_of(line.inverse, **envelope, revision=current.revision)
        return carry_out(session, current, command, **{names: change_id})


def _sent_before(
    session: Session, household_key: str, names: str, change_id: str, tab: str, sequence: int
) -> Change | None:
    """The line of this very request, when a form is sent twice."""
    log = change_log.c
    same = (log.household_key == household_key, log[names] == change_id, log.tab == tab, log.sequence == sequence)
    row = session.execute(select(change_log).where(*same)).first()
    return None if row is None else change_of(row)
