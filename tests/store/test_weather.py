"""Records of sun that a household keeps, and the days plans take out of them."""

from typing import Any

import pytest

from app.household.errors import HouseholdFaults
from app.store import weather
from app.store.commands import AddWeather, ClearPlanField, RemoveWeather, ReplaceHousehold, TakeMeasuredDay, apply
from app.store.errors import Gone, NotThere
from app.store.keys import new_key
from app.store.weather import keep_record, kept_records, record_content
from tests.store.doing import done, envelope, history, plan_key, read_afresh, redone, refused, undone
from tests.store.sample import Mill

CONTENT = bytes(range(256)) * 200
SUMMARY = {"days": "365 days"}
DAY = {"source": "Quay", "on": "1999-05-12", "utc_offset_h": 0, "step_s": 3600, "plane_w_m2": [0.0] * 24}


def brought_in(mill: Mill, title: str = "Quay", tab: str = "kitchen") -> str:
    """The key of a record that is kept now."""
    key = new_key()
    with mill.database.session() as session:
        apply(session, AddWeather(**envelope(mill, tab=tab), record=key, title=title))
        keep_record(session, mill.key, key, "Quay", SUMMARY, CONTENT)
        session.commit()
    return key


def listed(mill: Mill) -> list[tuple[str, str]]:
    with mill.database.session() as session:
        return [(one.key, one.name) for one in kept_records(session, mill.stored())]


def taking(mill: Mill, plan: str, **given: Any) -> TakeMeasuredDay:
    about = {"scenario_key": plan_key(mill, plan), "value": DAY, "ambient_c": [[0, 4.0], [12, 9.5]]}
    return TakeMeasuredDay(**(envelope(mill) | about | given))


def test_a_record_is_kept_as_it_was_given(mill: Mill) -> None:
    """Beside the file, which says nothing of it; and its days are not read with the household."""
    before = mill.exported()
    key = brought_in(mill)

    assert mill.exported() == before
    assert listed(mill) == [(key, "Quay")]
    with mill.database.session() as session:
        kept, content = record_content(session, mill.stored(), key)
    assert content == CONTENT
    assert (kept.source, kept.summary) == ("Quay", SUMMARY)
    assert all(len(str(piece.document)) < 5000 for piece in mill.stored().pieces.values() if piece.kind == "weather")
    read_afresh(mill)


def test_coming_and_going_are_steps(mill: Mill) -> None:
    """Undone and done again; a removed one comes back with its days and its name."""
    key = brought_in(mill)
    undone(mill, "wash")
    assert listed(mill) == []
    redone(mill, "wash", sequence=2)
    done(mill, RemoveWeather(**envelope(mill, sequence=3), record=key))
    assert listed(mill) == []
    refused(mill, RemoveWeather(**envelope(mill, sequence=4), record=key), Gone)
    undone(mill, "wash", sequence=5)

    assert listed(mill) == [(key, "Quay")]
    assert [line.command["do"] for line in history(mill)][-2:] == ["add_weather", "import_household"]
    read_afresh(mill)


def test_names_are_told_apart(mill: Mill) -> None:
    brought_in(mill)
    brought_in(mill, tab="shed")

    assert [name for _, name in listed(mill)] == ["Quay", "Quay 2"]


def test_what_is_no_record_is_not_there(mill: Mill) -> None:
    """An unknown key, another part's key, and another household's."""
    for key in (new_key(), plan_key(mill, "wash"), "none"):
        refused(mill, RemoveWeather(**envelope(mill), record=key), NotThere)
        with mill.database.session() as session, pytest.raises(NotThere):
            record_content(session, mill.stored(), key)


def test_no_more_are_kept_than_there_is_room_for(mill: Mill, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(weather, "RECORDS_AT_MOST", 1)
    brought_in(mill)
    with pytest.raises(HouseholdFaults, match="1 records are kept already"):
        brought_in(mill, tab="shed")

    assert len(listed(mill)) == 1


def test_a_file_in_the_households_place_leaves_them(mill: Mill) -> None:
    key = brought_in(mill)
    done(mill, ReplaceHousehold(**envelope(mill, sequence=2), document=mill.exported() | {"name": "Other"}))

    assert listed(mill) == [(key, "Quay")]
    undone(mill, "wash", sequence=3)
    assert listed(mill) == [(key, "Quay")]


@pytest.mark.parametrize("plan", ["wash", "big"])
def test_a_day_is_taken_with_its_temperatures_in_one_step(mill: Mill, plan: str) -> None:
    """In a plan and, among its changes, in one with a parent; one undo brings back both, one redo gives both."""
    if plan not in {one.id for one in mill.stored().scenarios}:
        plan = next(one.id for one in mill.stored().household.scenarios if one.parent)
    before = mill.exported()
    done(mill, taking(mill, plan))
    day = mill.stored().days[plan]
    assert day.measured_day is not None
    assert day.measured_day.on == "1999-05-12"
    assert day.ambient_c == ((0, 4.0), (12, 9.5))
    after = mill.exported()
    undone(mill, plan)
    assert mill.exported() == before
    redone(mill, plan, sequence=2)

    assert mill.exported() == after
    assert history(mill)[0].command["becomes"] == {"source": "Quay", "on": "1999-05-12"}
    read_afresh(mill)


def test_a_day_without_temperatures_leaves_the_plans(mill: Mill) -> None:
    before = mill.stored().days["wash"].ambient_c
    done(mill, taking(mill, "wash", ambient_c=None))
    assert mill.stored().days["wash"].ambient_c == before
    done(mill, ClearPlanField(**envelope(mill, sequence=2), scenario_key=plan_key(mill, "wash"), field="measured_day"))

    assert mill.stored().days["wash"].measured_day is None


def test_a_day_that_cannot_be_is_refused(mill: Mill) -> None:
    error = refused(mill, taking(mill, "wash", value=DAY | {"plane_w_m2": [0.0] * 23}), HouseholdFaults)

    assert "measured_day" in error.faults[0].path
