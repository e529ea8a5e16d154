"""Undo and redo: a step back is a change like any other, and names the one it takes back."""

from dataclasses import dataclass

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


@dataclass(frozen=True, kw_only=True)
class Pressed:
    """A step asked for on a plan's page.

    change_id: of the step as `steps` names it. tab, sequence, link_key: from whom, as in `Command`.
    """

    household_key: str
    scenario_key: str
    change_id: str
    tab: str
    sequence: int
    link_key: str | None


def undo(session: Session, pressed: Pressed) -> Applied:
    """Take back the last change on a plan's page; the caller commits.

    Raises Stale when that is the last one no more; NotThere, Gone and HouseholdFaults as `apply` does.
    """
    return _step(session, pressed, back=True)


def redo(session: Session, pressed: Pressed) -> Applied:
    """Do again what was undone last on a plan's page; the caller commits. As `undo` otherwise."""
    return _step(session, pressed, back=False)


def _step(session: Session, pressed: Pressed, *, back: bool) -> Applied:
    names = "undoes" if back else "redoes"
    with all_or_nothing(session):
        current = claim(session, pressed.household_key)
        stack = stacks(session, current, pressed.scenario_key)[0 if back else 1]
        is_next = bool(stack) and stack[-1].change_id == pressed.change_id
        if not is_next and (before := _sent_before(session, pressed, names)):
            return already_done(current, before)
        plan_of(current, pressed.scenario_key)
        if not is_next:
            raise Stale(current)
        # The way on from here is what undoes the last line about the step, be that the step itself.
        line = session.execute(select(change_log).where(change_log.c.id == stack[-1].line_id)).one()
        envelope = {name: getattr(pressed, name) for name in ("household_key", "tab", "sequence", "link_key")}
        command = command_of(line.inverse, **envelope, revision=current.revision)
        return carry_out(session, current, command, **{names: pressed.change_id})


def _sent_before(session: Session, pressed: Pressed, names: str) -> Change | None:
    """The line of this very request, when a form is sent twice."""
    if not is_key(pressed.change_id):
        return None
    log = change_log.c
    of_step = (log.household_key == pressed.household_key, log[names] == pressed.change_id)
    of_page = (log.tab == pressed.tab, log.sequence == pressed.sequence)
    row = session.execute(select(change_log).where(*of_step, *of_page)).first()
    return None if row is None else change_of(row)
