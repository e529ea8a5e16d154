"""What people say is on today: kept beside a plan for one day, by several phones at once, and no change of it."""

import datetime
from collections.abc import Sequence
from threading import Thread
from typing import Any

import pytest

from app.household.errors import HouseholdFaults
from app.store import overlay
from app.store.commands import RemovePlan
from app.store.errors import Gone, NotThere, Stale
from app.store.keys import new_key
from app.store.overlay import KeptTap, Place, Tapped, keep_tap, take_back, taps_by_plan
from app.store.stored import StoredHousehold
from tests.store.doing import done, envelope, history, plan_key
from tests.store.sample import Mill

MORNING = datetime.datetime(2026, 5, 12, 9, 0, tzinfo=datetime.UTC)


def place(mill: Mill, plan: str = "wash", date: str = "2026-05-12") -> Place:
    return Place(mill.key, plan_key(mill, plan), date)


def said(appliance: str = "washer", is_on: bool = True, **given: Any) -> KeptTap:
    fields: dict[str, Any] = {"at_utc": MORNING, "who": "Ada", "tab": "kitchen", "sequence": 1} | given
    return KeptTap(appliance, is_on, **fields)


def is_news(_: StoredHousehold, before: Sequence[KeptTap]) -> bool:
    """Whoever asks says so every time, but never twice the same in a row."""
    return not before or not before[-1].is_on


def tapped(mill: Mill, tap: KeptTap, where: Place | None = None, always: bool = False) -> Tapped:
    with mill.database.session() as session:
        found = keep_tap(session, where or place(mill), tap, (lambda *_: True) if always else is_news)
        session.commit()
    return found


def kept(mill: Mill, where: Place | None = None) -> tuple[KeptTap, ...]:
    with mill.database.session() as session:
        there = where or place(mill)
        return taps_by_plan(session, there.household_key, there.date).get(there.scenario_key, ())


def test_a_tap_is_kept_with_who_and_since_when_and_changes_nothing_else(mill: Mill) -> None:
    """Neither the file nor the log nor the household's revision knows of it."""
    before, log, revision = mill.exported(), history(mill), mill.stored().revision
    answer = tapped(mill, said())

    assert answer.kept
    assert answer.taps == kept(mill) == (said(),)
    assert mill.exported() == before
    assert history(mill) == log
    assert mill.stored().revision == revision


def test_taps_stay_in_the_order_in_which_they_were_made(mill: Mill) -> None:
    """Within one millisecond too, and when a clock went back in between."""
    tapped(mill, said("washer", sequence=1), always=True)
    tapped(mill, said("washer", is_on=False, sequence=2), always=True)
    tapped(mill, said("washer", sequence=3, at_utc=MORNING - datetime.timedelta(seconds=5)), always=True)

    assert [(one.is_on, one.sequence) for one in kept(mill)] == [(True, 1), (False, 2), (True, 3)]


def test_a_tap_that_says_nothing_new_is_not_kept(mill: Mill) -> None:
    """Of two phones that say the same, the second has its answer and leaves no trace."""
    tapped(mill, said())
    second = tapped(mill, said(who="Ben", tab="yard"))

    assert not second.kept
    assert second.taps == kept(mill) == (said(),)


def test_a_form_that_is_sent_twice_counts_once(mill: Mill) -> None:
    """The same page's same tap."""
    tapped(mill, said(), always=True)

    assert not tapped(mill, said(), always=True).kept
    assert len(kept(mill)) == 1


def test_a_slow_first_tap_does_not_win_over_the_second(mill: Mill) -> None:
    """What the same page sent later about the same appliance stands; of another appliance it may come."""
    tapped(mill, said(is_on=True, sequence=2), always=True)
    with pytest.raises(Stale):
        tapped(mill, said(is_on=False, sequence=1), always=True)
    tapped(mill, said("pump", sequence=1), always=True)

    assert [one.appliance for one in kept(mill)] == ["washer", "pump"]


def test_each_day_and_each_plan_has_its_own(mill: Mill) -> None:
    """What was tapped yesterday says nothing today, and goes the day after when something is tapped."""
    before, yesterday, other = place(mill, date="2026-05-10"), place(mill, date="2026-05-11"), place(mill, plan="bare")
    tapped(mill, said(), before)
    tapped(mill, said(), yesterday)
    tapped(mill, said(), other)
    assert kept(mill) == ()

    tapped(mill, said())
    assert kept(mill, before) == ()
    assert len(kept(mill, yesterday)) == 1
    assert len(kept(mill, other)) == len(kept(mill)) == 1


def test_back_to_the_plan_for_one_and_for_all(mill: Mill) -> None:
    """And once more, which finds nothing to take back."""
    for number, appliance in enumerate(("washer", "pump", "fan"), 1):
        tapped(mill, said(appliance, sequence=number), always=True)
    with mill.database.session() as session:
        one = take_back(session, place(mill), "pump")
        session.commit()
    assert [tap.appliance for tap in one.taps] == ["washer", "fan"]
    with mill.database.session() as session:
        everything, again = take_back(session, place(mill)), take_back(session, place(mill))
        session.commit()

    assert (everything.kept, everything.taps, again.kept) == (True, (), False)
    assert kept(mill) == ()


def test_a_day_does_not_take_any_number(mill: Mill, monkeypatch: pytest.MonkeyPatch) -> None:
    """It says what to do instead."""
    monkeypatch.setattr(overlay, "TAPS_AT_MOST", 2)
    tapped(mill, said(sequence=1), always=True)
    tapped(mill, said(sequence=2), always=True)

    with pytest.raises(HouseholdFaults, match="go back to what the plan says first"):
        tapped(mill, said(sequence=3), always=True)


def test_a_plan_that_is_gone_takes_no_tap(mill: Mill) -> None:
    """Gone where it was, nothing where it never was; nor does a household nobody knows."""
    where = place(mill, plan="bare")
    done(mill, RemovePlan(**envelope(mill), scenario_key=where.scenario_key))
    with pytest.raises(Gone):
        tapped(mill, said(), where)
    for nowhere in (Place(mill.key, new_key(), "2026-05-12"), Place(new_key(), new_key(), "2026-05-12")):
        with pytest.raises(NotThere):
            tapped(mill, said(), nowhere)
        with mill.database.session() as session, pytest.raises(NotThere):
            take_back(session, nowhere)


def test_two_phones_at_once_are_two_taps_in_turn(mill: Mill) -> None:
    """Each finds what the other said: of ten that all say on, one is kept."""
    answers: list[Tapped] = []
    phones = [
        Thread(target=lambda number=number: answers.append(tapped(mill, said(tab=f"phone {number}"))))
        for number in range(10)
    ]
    for phone in phones:
        phone.start()
    for phone in phones:
        phone.join()

    assert sum(answer.kept for answer in answers) == 1
    assert len(kept(mill)) == 1


def test_nothing_is_kept_of_a_tap_that_is_not_committed(mill: Mill) -> None:
    """The engine may refuse what it leads to."""
    with mill.database.session() as session:
        keep_tap(session, place(mill), said(), is_news)

    assert kept(mill) == ()
