"""Many runs in one step: stored together, taken back together, to the letter; in a plan with a parent as a patch."""

from typing import Any

import pytest

from app.household.errors import HouseholdFaults
from app.store.commands import PlaceRuns, apply
from app.store.errors import Gone, NotThere
from tests.store.sample import Mill


def place(mill: Mill, plan: str, runs: dict[str, Any], new: dict[str, Any], tab: str = "laundry") -> PlaceRuns:
    key = next(one.key for one in mill.stored().scenarios if one.id == plan)
    return PlaceRuns(
        household_key=mill.key, scenario_key=key, runs=runs, new=new, tab=tab, sequence=1, link_key=mill.link_key
    )


@pytest.mark.parametrize("plan", ["wash", "plain"])
def test_one_step_and_back(mill: Mill, plan: str) -> None:
    """Runs moved and new ones that wait for each other: stored as one, undone to the letter, done again, once each."""
    before = mill.exported()
    fresh = {
        "a": {"appliance": "washer", "start": "16:00"},
        "b": {"appliance": "pump", "start": "17:00", "after": "a", "within_s": 3600, "duration_s": 300},
    }
    with mill.database.session() as session:
        command = place(mill, plan, {"first": {"start": "10:00", "window": ["08:00", "12:00"]}}, fresh)
        applied = apply(session, command)
        again = apply(session, command)
        session.commit()
    assert again.change_id == applied.change_id
    assert again.inverse is None
    days = mill.stored().days[plan]
    runs = {run.id: run for run in days.runs}
    assert (runs["first"].start, runs["first"].window) == ("10:00", ("08:00", "12:00"))
    new = [run for run in days.runs if run.start in ("16:00", "17:00")]
    assert [run.appliance for run in new] == ["washer", "pump"]
    assert new[1].after == new[0].id
    after = mill.exported()
    with mill.database.session() as session:
        assert applied.inverse is not None
        back = apply(session, applied.inverse)
        session.commit()
    assert mill.exported() == before
    with mill.database.session() as session:
        assert back.inverse is not None
        apply(session, back.inverse)
        session.commit()
    assert mill.exported() == after


def test_what_cannot_be_leaves_nothing_behind(mill: Mill) -> None:
    """A machine that would run into itself, a run that is not there, one that was taken off: all or nothing."""
    before = mill.exported()
    clash = {"second": {"start": "09:10"}, "pump": {"start": "11:00"}}
    for runs, refusal in ((clash, HouseholdFaults), ({"never": {"start": "09:00"}}, NotThere)):
        with mill.database.session() as session, pytest.raises(refusal):
            apply(session, place(mill, "wash", runs, {}))
    with mill.database.session() as session, pytest.raises(Gone):
        apply(session, place(mill, "wet", {"pump": {"start": "09:00"}}, {}))
    assert mill.exported() == before
