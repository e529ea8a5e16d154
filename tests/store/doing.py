"""Carrying out commands as a page does, and looking at what became of them."""

import json
from typing import Any

import pytest

from app.household.file import household_from
from app.store.commands import Applied, Command, Pressed, apply, redo, undo
from app.store.history import Change, recent
from app.store.households import read_pieces
from app.store.steps import Steps, steps
from app.store.stored import stored_from
from tests.store.sample import Mill


def done(mill: Mill, command: Command) -> Applied:
    """Carry out a command and commit, as a page does."""
    with mill.database.session() as session:
        applied = apply(session, command)
        session.commit()
    return applied


def refused(mill: Mill, command: Command, error: type[Exception]) -> Any:
    """The error a command is refused with; the caller's commit afterwards stores nothing."""
    before, log = json.dumps(mill.exported()), history(mill)
    with mill.database.session() as session:
        with pytest.raises(error) as raised:
            apply(session, command)
        session.commit()
    assert json.dumps(mill.exported()) == before
    assert history(mill) == log
    return raised.value


def history(mill: Mill) -> list[Change]:
    """The household's log, newest first."""
    with mill.database.session() as session:
        return recent(session, mill.key, 100)


def plan_key(mill: Mill, plan: str) -> str:
    """The key of the plan of an id."""
    return next(one.key for one in mill.stored().scenarios if one.id == plan)


def envelope(mill: Mill, **given: Any) -> dict[str, Any]:
    """From whom a command comes: a tab's first one, unless given otherwise."""
    return {"household_key": mill.key, "tab": "kitchen", "sequence": 1, "link_key": mill.link_key} | given


def steps_of(mill: Mill, plan: str) -> Steps:
    """What can be undone and redone on a plan's page."""
    with mill.database.session() as session:
        return steps(session, mill.key, plan_key(mill, plan))


def page_of(mill: Mill, plan_key: str) -> str:
    """The id of the plan on whose page it is a step that the plan of a key came or went."""
    page = mill.stored().nearest(plan_key)
    assert page is not None
    return page.id


def undone(mill: Mill, plan: str, **given: Any) -> Applied:
    """Undo the last step on a plan's page, or the one given, and commit."""
    step = steps_of(mill, plan).undo
    return _stepped(mill, plan, undo, step, given)


def redone(mill: Mill, plan: str, **given: Any) -> Applied:
    """Redo the last undone step on a plan's page, or the one given, and commit."""
    step = steps_of(mill, plan).redo
    return _stepped(mill, plan, redo, step, given)


def _stepped(mill: Mill, plan: str, way: Any, step: Change | None, given: dict[str, Any]) -> Applied:
    about = {"household_key": mill.key, "scenario_key": plan_key(mill, plan), "change_id": step.id if step else ""}
    sent = about | {"tab": "undoing", "sequence": 1, "link_key": mill.link_key} | given
    with mill.database.session() as session:
        applied: Applied = way(session, Pressed(**sent))
        session.commit()
    return applied


def read_afresh(mill: Mill) -> None:
    """What is kept in memory equals what another process reads from the database."""
    kept = mill.stored()
    with mill.database.session() as session:
        _, revision, pieces = read_pieces(session, mill.key)
    fresh = stored_from(mill.key, revision, pieces)

    assert fresh.household == kept.household == household_from(mill.exported())
    assert list(fresh.run_keys.items()) == list(kept.run_keys.items())
    assert (fresh.scenarios, fresh.revision) == (kept.scenarios, kept.revision)
    assert (fresh.days, fresh.pieces) == (kept.days, kept.pieces)
