"""Undo and redo on a plan's page."""

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.household.errors import HouseholdFaults
from app.store.commands import (
    AddPlan,
    AddRun,
    ClearPlanField,
    ClearRunField,
    Command,
    Pressed,
    RemovePlan,
    RemoveRun,
    SetHouseholdName,
    SetPlanField,
    SetRunField,
    apply,
    command_of,
    copied,
    logged,
    redo,
    undo,
)
from app.store.errors import NotThere, Stale
from app.store.history import recent
from app.store.households import export_document, import_household, load, read_pieces
from app.store.steps import steps
from app.store.stored import StoredHousehold, stored_from
from tests.oracle.profiles import examples
from tests.store.doing import done, history, redone, steps_of, undone
from tests.store.sample import MILL, Mill


def test_an_import_is_no_step(mill: Mill) -> None:
    """A fresh household has nothing to undo and nothing to redo."""
    steps = steps_of(mill, "wash")

    assert (steps.undo, steps.redo) == (None, None)


def test_a_change_is_undone_and_redone(mill: Mill) -> None:
    """Each way the other is offered next, by the first change's id, and each is a line in the log that names it."""
    change_id = done(mill, mill.switch("wash", "first", field="start", value="09:10")).change_id
    undone(mill, "wash")
    back = steps_of(mill, "wash")
    assert json.dumps(mill.exported()) == json.dumps(MILL)
    assert (back.undo, back.redo and back.redo.id) == (None, change_id)
    redone(mill, "wash")
    again = steps_of(mill, "wash")

    assert mill.stored().days["wash"].runs[1].start == "09:10"
    assert (again.undo and again.undo.id, again.redo) == (change_id, None)
    assert [(line.undoes, line.redoes) for line in history(mill)[:3]] == [
        (None, change_id),
        (change_id, None),
        (None, None),
    ]
    assert history(mill)[1].command == history(mill)[2].inverse
    assert history(mill)[1].inverse == history(mill)[2].command


def test_steps_are_taken_back_one_after_the_other(mill: Mill) -> None:
    """Three changes, all the way back and all the way forth, twice."""
    files = [json.dumps(mill.exported())]
    for number, start in enumerate(["09:05", "09:10", "09:15"], start=1):
        done(mill, mill.switch("wash", "first", field="start", value=start, sequence=number))
        files.append(json.dumps(mill.exported()))
    for _ in range(2):
        for file in reversed(files[:-1]):
            undone(mill, "wash")
            assert json.dumps(mill.exported()) == file
        for file in files[1:]:
            redone(mill, "wash")
            assert json.dumps(mill.exported()) == file


def test_a_new_change_clears_what_could_be_redone(mill: Mill) -> None:
    """After an undo and another change there is no redo, and undoing goes on before the undone step."""
    kept = done(mill, mill.switch("wash", "first")).change_id
    done(mill, mill.switch("wash", "second", sequence=2))
    undone(mill, "wash")
    newer = done(mill, mill.switch("wash", "pump", sequence=3)).change_id
    assert steps_of(mill, "wash").redo is None
    undone(mill, "wash", change_id=newer)

    assert steps_of(mill, "wash").undo.id == kept  # type: ignore[union-attr]


def test_each_plan_has_its_own_steps(mill: Mill) -> None:
    """What is changed on one plan is no step of another."""
    done(mill, mill.switch("wash", "first"))
    done(mill, mill.switch("wet", "late"))
    undone(mill, "wash")

    assert mill.stored().days["wash"].runs[1].on
    assert not mill.stored().days["wet"].runs[2].on
    assert steps_of(mill, "bare").undo is None


def test_only_the_last_step_is_taken_back(mill: Mill) -> None:
    """Undoing or redoing what is not on top is refused with the present state, and nothing is stored."""
    first = done(mill, mill.switch("wash", "first")).change_id
    done(mill, mill.switch("wash", "second", sequence=2))
    with pytest.raises(Stale) as refused:
        undone(mill, "wash", change_id=first)
    assert refused.value.current is mill.stored()
    for change_id in (first, "0" * 32, "\x00", ""):
        with pytest.raises(Stale):
            redone(mill, "wash", change_id=change_id)

    assert len(history(mill)) == 3


def test_an_undo_sent_twice_is_one_step_back(mill: Mill) -> None:
    """The repeat is answered with the state as it is; another page's is refused."""
    done(mill, mill.switch("wash", "first"))
    step = done(mill, mill.switch("wash", "second", sequence=2)).change_id
    once = undone(mill, "wash", change_id=step, tab="phone", sequence=4)
    again = undone(mill, "wash", change_id=step, tab="phone", sequence=4)

    assert (again.inverse, again.change_id) == (None, once.change_id)
    with pytest.raises(Stale):
        undone(mill, "wash", change_id=step)
    assert not mill.stored().days["wash"].runs[1].on


def test_a_step_that_would_be_impossible_now_stays(mill: Mill) -> None:
    """The parent's other run has taken the place to go back to: the undo is refused, and can be tried again later."""
    done(mill, mill.switch("wet", "first", field="start", value="09:05"))
    done(mill, mill.switch("wet", "first", field="start", value="07:00", sequence=2))
    done(mill, mill.switch("wash", "first", field="start", value="16:00"))
    done(mill, mill.switch("wash", "second", field="start", value="09:10"))
    step = steps_of(mill, "wet").undo
    with pytest.raises(HouseholdFaults):
        undone(mill, "wet")

    assert steps_of(mill, "wet").undo == step


def test_an_undo_of_what_is_no_household_or_plan_is_refused(mill: Mill) -> None:
    """Unknown keys lead nowhere."""
    about: dict[str, Any] = {"change_id": "0" * 32, "tab": "t", "sequence": 1, "link_key": None}
    with mill.database.session() as session:
        for keys in [("0" * 32, "0" * 32), (mill.key, "0" * 32), (mill.key, "\x00"), ("\x00", "")]:
            with pytest.raises(NotThere):
                undo(session, Pressed(household_key=keys[0], scenario_key=keys[1], **about))


def test_lines_of_the_first_version_can_be_undone(mill: Mill) -> None:
    """A command out of the log needs no more than the first version wrote."""
    about = {"scenario": "s" * 32, "run": "r" * 32, "field": "on"}
    envelope: dict[str, Any] = {"household_key": mill.key, "tab": "t", "sequence": 3, "link_key": None}
    keys: dict[str, Any] = {"scenario_key": "s" * 32, "run_key": "r" * 32, "field": "on"}

    assert command_of({"do": "set_run_field", **about, "value": None}, **envelope) == SetRunField(
        **envelope, **keys, value=None
    )
    assert command_of({"do": "clear_run_field", **about}, **envelope) == ClearRunField(**envelope, **keys)
    with pytest.raises(ValueError, match="import_household"):
        command_of({"do": "import_household", "document": {}}, **envelope)


def drawn(draw: st.DataObject, stored: StoredHousehold, sequence: int) -> Command:
    """Any command on a household as it stands."""
    about: dict[str, Any] = {"household_key": stored.key, "tab": "any", "sequence": sequence, "link_key": None}
    plan = draw.draw(st.sampled_from(stored.scenarios), "plan")
    keys = [run.key for (plan_id, _), run in stored.run_keys.items() if plan_id == plan.id]
    of_run = {"run_key": draw.draw(st.sampled_from(keys), "run")} if keys else {}
    kinds = [SetRunField, ClearRunField, RemoveRun, AddRun, SetPlanField, ClearPlanField, AddPlan, RemovePlan]
    kind = draw.draw(st.sampled_from([*(kinds if keys else kinds[3:]), SetHouseholdName]), "kind")
    start = draw.draw(st.sampled_from(["00:30", "06:00", "09:00", "14:00", "19:30", "21:45"]), "start")
    if kind is SetHouseholdName:
        return SetHouseholdName(**about, value=f"Mill at {start}")
    if kind is AddPlan:
        return AddPlan(**about, document=copied(stored, plan, f"Copy {start}"), position=draw.draw(st.integers(0, 6)))
    about["scenario_key"] = plan.key
    if kind in (SetRunField, ClearRunField):
        fields = {"on": draw.draw(st.booleans()), "start": start, "duration_s": draw.draw(st.sampled_from([None, 300]))}
        field = draw.draw(st.sampled_from(sorted(fields)), "field")
        given = {"value": fields[field]} if kind is SetRunField else {}
        return kind(**about, **of_run, field=field, **given)
    if kind is AddRun:
        return AddRun(**about, document={"start": start, "appliance": draw.draw(st.sampled_from(["washer", "pump"]))})
    if kind in (SetPlanField, ClearPlanField):
        values = {"name": f"Day of {start}", "cloud_oktas": 3, "wanted_margin": None, "ambient_c": [[0, 5]]}
        field = draw.draw(st.sampled_from(sorted(values)), "field")
        return kind(**about, field=field, **({"value": values[field]} if kind is SetPlanField else {}))
    return kind(**about, **of_run) if kind is RemoveRun else kind(**about)


@examples(25)
@given(data=st.data())
def test_any_changes_undone_leave_the_file_as_it_was(mill: Mill, data: st.DataObject) -> None:
    """Whatever is done, undoing it step by step leads through the same files, and redoing forth again.

    Every inverse is the command its line in the log says, and what is kept is what another process reads.
    """
    with mill.database.session() as session:
        key = import_household(session, MILL, None)
        session.commit()
        stored = load(session, key)
        assert stored is not None
        files, ids = [json.dumps(export_document(session, key))], []
        page = stored.scenarios[0].key
        for number in range(1, data.draw(st.integers(1, 8), "changes") + 1):
            stored = load(session, key)
            assert stored is not None
            command = drawn(data, stored, number)
            try:
                applied = apply(session, command)
            except HouseholdFaults:
                continue
            session.commit()
            assert applied.inverse is not None
            line = recent(session, key, 1)[0]
            envelope: dict[str, Any] = {"household_key": key, "tab": "any", "link_key": None}
            assert command_of(line.inverse, **envelope, sequence=number + 1) == applied.inverse
            carried_out = command_of(line.command, **envelope, sequence=number)
            assert type(carried_out) is type(command)
            assert logged(carried_out).items() <= line.command.items()
            _, revision, pieces = read_pieces(session, key)
            fresh = stored_from(key, revision, pieces)
            kept = applied.household
            assert (fresh.household, fresh.days, fresh.pieces) == (kept.household, kept.days, kept.pieces)
            assert (fresh.run_keys, fresh.scenarios) == (kept.run_keys, kept.scenarios)
            files.append(json.dumps(export_document(session, key)))
            # What concerns the household is a step everywhere; a plan's coming and going where it is, or was last.
            ids.append((line.id, line.scenario_key or line.command.get("scenario", page)))
        sent: dict[str, Any] = {"household_key": key, "tab": "any", "sequence": 100, "link_key": None}

        def stepped(way: Any, change_id: str, plan: str) -> str:
            stored = load(session, key)
            shown = stored.nearest(plan) if stored else None
            assert shown is not None
            way(session, Pressed(**sent, scenario_key=shown.key, change_id=change_id))
            session.commit()
            return json.dumps(export_document(session, key))

        for (change_id, plan), file in zip(reversed(ids), reversed(files[:-1]), strict=True):
            assert stepped(undo, change_id, plan) == file
        for (change_id, plan), file in zip(ids, files[1:], strict=True):
            assert stepped(redo, change_id, plan) == file
        assert steps(session, key, page).redo is None
