"""A plan with what people tapped today laid over it."""

from typing import Any

import pytest

from app.engine.assess import assess_day
from app.engine.day import lay_day
from app.household.beside_plan import Beside, Tap, beside_plan, is_on, runs_by_itself
from app.household.day import DAY_S
from app.household.demo import demo_text
from app.household.file import household_from, read_document
from app.household.resolve import Resolved, resolve

H = 3600


def plan(which: str = "laundry", **scenario: Any) -> Resolved:
    document = read_document(demo_text())
    next(one for one in document["scenarios"] if one["id"] == which).update(scenario)
    return resolve(household_from(document), which)


def on(appliance: str, clock_s: float) -> Tap:
    return Tap(appliance, True, int(clock_s))


def off(appliance: str, clock_s: float) -> Tap:
    return Tap(appliance, False, int(clock_s))


def stands(beside: Beside, hour: float) -> set[str]:
    """Ids of what stands at an hour, as the engine lays it."""
    at_ms = int(hour * H * 1000)
    pieces = assess_day(lay_day(beside.resolved), None).pieces
    return {one.appliance for one in pieces if one.begin_ms <= at_ms < one.end_ms}


def test_without_taps_it_is_the_plan() -> None:
    """The very same."""
    resolved = plan()

    assert beside_plan(resolved, ()).resolved is resolved


def test_on_is_a_run_of_its_own_length_from_then_on() -> None:
    """A programme of 70 minutes; the plan is as it was."""
    resolved = plan()
    beside = beside_plan(resolved, [on("bread-oven", 9.5 * H)])

    assert "bread-oven" not in stands(beside, 9.4)
    assert "bread-oven" in stands(beside, 10.6)
    assert "bread-oven" not in stands(beside, 10.7)
    assert list(beside.begun.values()) == [on("bread-oven", 9.5 * H)]
    assert all(run.appliance != "bread-oven" for run in resolved.day.runs)


def test_on_without_a_length_lasts_until_somebody_says_off_else_until_midnight() -> None:
    """Of what runs as long as each run says."""
    appliances = [*read_document(demo_text())["appliances"]]
    fan = {"id": "fan", "name": "Fan", "stages": [{"watts": 100}]}
    resolved = plan("ordinary", changes={"appliances": [fan]})
    assert "fan" not in [one["id"] for one in appliances]
    beside = beside_plan(resolved, [on("fan", 10 * H)])
    assert "fan" in stands(beside, 23.9)
    assert "fan" not in stands(beside, 24.1)

    beside = beside_plan(resolved, [on("fan", 10 * H), off("fan", 11 * H), on("fan", 12 * H)])
    assert [("fan" in stands(beside, hour)) for hour in (10.5, 11.5, 12.5)] == [True, False, True]


def test_what_was_left_out_runs_again_when_what_was_in_its_way_is_switched_off() -> None:
    """Tapped on by mistake an hour before its run, and off a minute later."""
    resolved = plan()  # washer from 09:30 to 10:46, and from 10:48
    mistaken = [on("washer", 8.5 * H), off("washer", 8.5 * H + 60)]
    beside = beside_plan(resolved, mistaken)
    assert beside.dropped == ()
    assert "washer" in stands(beside, 9.6)

    beside = beside_plan(resolved, [*mistaken, on("washer", 9 * H)])
    assert len(beside.dropped) == 1
    beside = beside_plan(resolved, [on("washer", 9 * H), off("washer", 9.75 * H)])  # the first would have begun by then
    assert len(beside.dropped) == 1
    assert ["washer" in stands(beside, hour) for hour in (9.8, 10.9)] == [False, True]


def test_off_ends_what_is_in_progress_and_keeps_what_was() -> None:
    """A programme stopped on its way has run until then, with the same draws; its later run is still to come."""
    resolved = plan()  # washer from 09:30 to 10:46, and from 10:48
    beside = beside_plan(resolved, [off("washer", 10 * H)])
    draws = [
        sum(piece.w for piece in assess_day(lay_day(one), None).pieces if piece.begin_ms <= ms < piece.end_ms)
        for ms in (int(9.6 * H * 1000), int(9.9 * H * 1000))
        for one in (resolved, beside.resolved)
    ]

    assert draws[0] == draws[1]
    assert draws[2] == draws[3]
    assert not stands(beside, 10.1) & {"washer", *beside.stand_ins}
    assert "washer" in stands(beside, 11)
    assert beside.stopped == {"washer": off("washer", 10 * H)}
    assert beside.planned_until["washer"] == 38_760_000


def test_off_at_the_very_beginning_leaves_nothing() -> None:
    """No run of no length."""
    beside = beside_plan(plan(), [off("washer", 9.5 * H)])

    assert "washer" not in stands(beside, 9.6)
    assert not beside.stand_ins


def test_an_always_on_load_is_off_from_then_until_midnight() -> None:
    """It ran before, may be switched on again, and is back with the plan when the day is over."""
    resolved = plan()
    beside = beside_plan(resolved, [off("fridge", 10 * H)])
    hours = (9, 10.5, 23.9, 24.5, 35)
    assert [("fridge" in stands(beside, hour)) for hour in hours] == [True, False, False, True, True]

    again = beside_plan(resolved, [off("fridge", 10 * H), on("fridge", 12 * H)])
    assert [("fridge" in stands(again, hour)) for hour in (10.5, 12.5, 24.5, 35)] == [False, True, True, True]
    assert again.stopped == {}


def test_what_is_on_cannot_be_switched_on_nor_off_what_is_off() -> None:
    """By the plan, by a tap, always: the second says nothing."""
    resolved = plan()
    taps = [on("fridge", 9 * H), on("washer", 10 * H), on("kettle", 10 * H), on("kettle", 10 * H + 60)]
    taps += [off("iron", 11 * H), off("kettle", 12 * H)]
    beside = beside_plan(resolved, taps)

    assert list(beside.begun.values()) == [on("kettle", 10 * H)]
    assert beside.stopped == {}
    assert is_on(resolved, (), "washer", 10 * H)
    assert is_on(resolved, (), "fridge", 10 * H)
    assert not is_on(resolved, (), "kettle", 10 * H)
    assert is_on(resolved, [on("kettle", 10 * H)], "kettle", 10 * H + 179)
    assert not is_on(resolved, [on("kettle", 10 * H)], "kettle", 10 * H + 180)
    assert not is_on(resolved, (), "no such", 10 * H)


def test_a_planned_run_that_would_begin_meanwhile_is_left_out() -> None:
    """One machine: the dishwasher of 10:55 was begun at 10:30; the one after that stays."""
    beside = beside_plan(plan(), [on("dryer", 10.5 * H)])  # 100 minutes; planned at 10:50 and 13:15

    assert [run.start for run in beside.dropped] == ["10:50"]
    assert [run.on for run in beside.resolved.day.runs if run.appliance == "dryer"] == [False, True, True]


def test_what_the_plan_has_off_counts_as_off_and_may_be_on() -> None:
    """Its planned runs stay away; so does what is always on elsewhere."""
    resolved = plan(off=["iron", "fridge"])
    beside = beside_plan(resolved, [on("iron", 9 * H)])

    assert "iron" in stands(beside, 9.2)
    assert "iron" not in stands(beside, 16.2)
    assert "fridge" not in stands(beside, 12)
    assert beside.resolved.day.off == ()
    assert "fridge" in stands(beside_plan(resolved, [on("fridge", 9 * H)]), 12)


def test_what_nobody_switches_is_left_alone() -> None:
    """The pump, and what lasts as long as what sets it off; off for the day, they stay off."""
    resolved = plan("shed")
    assert runs_by_itself(resolved) == {"well-pump", "extractor"}
    beside = beside_plan(resolved, [on("well-pump", 9 * H), off("extractor", 15.5 * H)])
    assert beside.resolved is resolved

    silent = plan("shed", off=["extractor"])
    assert beside_plan(silent, [on("extractor", 9 * H)]).resolved.day.off == ("extractor",)


def test_an_appliance_that_is_deleted_meanwhile_is_said_to_be_missing() -> None:
    """And does no harm."""
    beside = beside_plan(plan(), [on("sauna", 9 * H), on("kettle", 10 * H)])

    assert beside.missing == ("sauna",)
    assert len(beside.begun) == 1


def test_a_saw_that_is_stopped_takes_its_extractor_with_it() -> None:
    """What lasts as long as what sets it off."""
    beside = beside_plan(plan("shed"), [off("bandsaw", 15.5 * H)])

    assert {"bandsaw", "extractor"} <= stands(beside, 15.4)
    assert not {"bandsaw", "extractor"} & stands(beside, 15.6)


def test_what_others_set_off_stays_off_for_the_day_until_it_is_tapped() -> None:
    """A hood of half an hour that the oven sets off; with a tap it runs, and is set off as ever."""
    document = read_document(demo_text())
    hood = {"id": "hood", "name": "Hood", "stages": [{"name": "on", "duration_s": 1800, "watts": 90}]}
    oven = next(one for one in document["appliances"] if one["id"] == "bread-oven")
    oven["stages"][0]["sets_off"] = [{"appliance": "hood"}]
    document["appliances"].append(hood)
    next(one for one in document["scenarios"] if one["id"] == "laundry")["off"] = ["hood"]
    resolved = resolve(household_from(document), "laundry")

    assert "hood" not in stands(beside_plan(resolved, [on("bread-oven", 9 * H)]), 9.2)
    assert "hood" in stands(beside_plan(resolved, [on("hood", 8 * H)]), 8.2)


@pytest.mark.parametrize("clock_s", [0, 1, DAY_S // 2, DAY_S - 1])
def test_every_second_of_the_day_takes_a_tap(clock_s: int) -> None:
    """On and off again at once, of everything there is."""
    resolved = plan("shed")
    ids = [one.id for one in resolved.household.appliances]
    for first in (True, False):
        taps = [Tap(one, is_it, clock_s) for is_it in (first, not first, first) for one in ids]
        lay_day(beside_plan(resolved, taps).resolved)


def test_days_on_which_clocks_change_take_taps() -> None:
    """A day of 23 hours and one of 25, with everything tapped at every hour."""
    for date in ("2026-03-29", "2026-10-25"):
        resolved = plan("laundry", date=date)
        for hour in range(24):
            taps = [Tap(one.id, hour % 2 == 0, hour * H + 7) for one in resolved.household.appliances]
            lay_day(beside_plan(resolved, taps).resolved)
