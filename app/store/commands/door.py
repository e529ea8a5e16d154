"""The one door: a command is carried out in one transaction with its line in the log.

Of two pages that change the same thing, the later one wins, and `changes_since` tells the other. Only what one
page itself sent is put in its order: a slow first tap does not win over the second.
"""

import contextlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import bindparam, insert, update
from sqlalchemy.orm import Session

from app.household.errors import HouseholdFaults
from app.store.commands.command import Command, Outcome
from app.store.commands.logged import logged
from app.store.errors import Gone, NotThere, Stale, Unreadable
from app.store.history import Change, Entry, append, from_tab, removal
from app.store.households import claim
from app.store.kept import KEPT
from app.store.mapping import row_of
from app.store.past import keep_past
from app.store.stored import StoredHousehold
from app.store.tables import household, part

# Written out once: a statement costs more to put together than to carry out.
_CHANGE_PART = update(part).where(part.c.key == bindparam("of_part"))
_CHANGE_HOUSEHOLD = update(household).where(household.c.key == bindparam("of_household"))


@dataclass(frozen=True)
class Applied:
    """What a command led to.

    household: the state with the command done.
    inverse: the command that undoes it; None if this very command had been done already and nothing
        was stored, as when a form is sent twice.
    change_id: its line in the log.
    part_key: of the run or plan it was about, a new one too; else the household's.
    """

    household: StoredHousehold
    inverse: Command | None
    change_id: str
    part_key: str


def apply(session: Session, command: Command) -> Applied:
    """Carry out a command; the caller commits.

    Raises NotThere for an unknown household, plan or run, and Gone for one that was removed meanwhile; Stale
    when its own tab has sent something later about the same thing; HouseholdFaults when the household would
    not be possible, Unreadable when it is not as it is stored and the command does not replace all of it. The
    transaction is undone then.
    A change of the same thing by another tab is no obstacle, whatever revision the command was made on.
    """
    with all_or_nothing(session):
        try:
            current = claim(session, command.household_key)
        except Unreadable as broken:
            current = command.instead_of(broken)
        sent = from_tab(session, *command.subject(), command.tab, command.sequence)
        for change in sent:
            if change.sequence == command.sequence and _is_same(command, change.command):
                return already_done(current, change)
        if any(command.overtaken_by(change.sequence or 0, change.command) for change in sent):
            raise Stale(current)
        return carry_out(session, current, command)


@contextlib.contextmanager
def all_or_nothing(session: Session) -> Iterator[None]:
    """Undo the transaction when a change is refused, so that the next writer need not wait for the session's end."""
    try:
        yield
    except Gone as gone:
        gone.change = removal(session, gone.current.key, gone.part_keys)
        session.rollback()
        raise
    except (NotThere, Stale, HouseholdFaults, Unreadable):
        session.rollback()
        raise


def carry_out(
    session: Session,
    current: StoredHousehold,
    command: Command,
    *,
    undoes: str | None = None,
    redoes: str | None = None,
) -> Applied:
    """Carry out a command on a household whose turn it is, and log it.

    undoes, redoes: id of the change it takes back, or does again.
    Raises as `apply`, but looks at no sequence.
    """
    outcome = command.on(current)
    stored = outcome.household
    part_key, field = command.subject()
    done = logged(outcome.command) | outcome.words
    change_id = append(
        session,
        Entry(
            household_key=current.key,
            scenario_key=outcome.scenario_key,
            part_key=part_key,
            field=getattr(command, "field", field),
            tab=command.tab,
            sequence=command.sequence,
            link_key=command.link_key,
            command=done,
            inverse=logged(outcome.inverse) | outcome.inverse_words,
            revision=stored.revision,
            undoes=undoes,
            redoes=redoes,
        ),
    )
    _write(session, current, outcome, change_id)
    KEPT.put(change_id, stored)
    return Applied(stored, outcome.inverse, change_id, _part_key(done, current))


def already_done(current: StoredHousehold, change: Change) -> Applied:
    """The answer to a command that is in the log already."""
    return Applied(current, None, change.id, _part_key(change.command, current))


def _write(session: Session, current: StoredHousehold, outcome: Outcome, change_id: str) -> None:
    for piece in outcome.changed:
        if piece.key in current.pieces:
            changed = {
                "position": piece.position,
                "revision": piece.revision,
                "document": piece.document,
                "removed": piece.removed,
            }
            session.execute(_CHANGE_PART, {"of_part": piece.key, **changed})
    if new := [row_of(piece, current.key) for piece in outcome.changed if piece.key not in current.pieces]:
        session.execute(insert(part), new)
    stored = outcome.household
    keep_past(session, current.key, outcome.changed, stored.revision)
    session.execute(
        _CHANGE_HOUSEHOLD,
        {
            "of_household": current.key,
            "name": stored.household.name,
            "revision": stored.revision,
            "change_id": change_id,
        },
    )


def _is_same(command: Command, done: Mapping[str, Any]) -> bool:
    wanted = logged(command)
    if command.may_come_late:
        # What was added got its id when it was: the log has more than was asked for.
        return bool(wanted["do"] == done["do"])
    return all(name in done and done[name] == value for name, value in wanted.items())


def _part_key(done: Mapping[str, Any], current: StoredHousehold) -> str:
    key: str = done.get("run") or done.get("scenario") or current.key
    return key
