"""How often one run could break a limit: closed forms, what counts without it, and what is never told."""

import copy
import json

import pytest
from hypothesis import given

from app.engine.assess import assess_day
from app.engine.day import lay_day
from app.engine.part import part_of
from app.engine.power import power_limits
from app.engine.run_odds import RunOdds, odds_of_run
from app.engine.switching import switching
from app.household.demo import demo_text
from app.household.replanned import replanned
from app.household.scenario import Run
from tests.engine.home import Document, house, load, steady
from tests.engine.test_moment import HOUR_MS, inspected
from tests.oracle.profiles import examples
from tests.oracle.strategies import households

NOON = 12 * HOUR_MS
PERIOD_S, ON_S, ALLOWED_S = 1600, 400, 300
HEATER = steady("heater", 2500, cycle={"on_s": ON_S, "period_s": PERIOD_S})
QUICK = {"overload": [[6000, ALLOWED_S]]}


def odds(document: Document, appliance: str = "hob", limit: str = "inverter_continuous") -> RunOdds | None:
    """Of a run at noon of the first plan."""
    return odds_of_run(inspected(document), appliance, NOON, limit)


@pytest.mark.parametrize("lasts_s", [600, 1800, 7200])
def test_it_is_as_often_as_the_heater_comes_in_its_time(lasts_s: int) -> None:
    """Beside a run of L s the heater is on for more than 300 s if it comes on in the first L - 300 of them.

    Or if it was on as the run began, and stays for more than 300: 100 of its 1600 s. It stands at a random point.
    """
    found = odds(house(HEATER, load("hob", 2500, lasts_s), inverter=QUICK))
    expected = (lasts_s - ALLOWED_S + ON_S - ALLOWED_S) / PERIOD_S

    assert found is not None
    assert found.broken_per_run == pytest.approx(expected, rel=0.01)
    assert found.without_per_run == 0


def test_what_comes_in_its_time_anyway_is_told_beside_it() -> None:
    """An oven is on as well, which is too much with the heater already; a lamp more changes nothing.

    It cuts out 300 s after the heater came on, at a random point of its period: what did so before is not of this time.
    """
    document = house(
        HEATER, load("oven", 2500, 3600), load("hob", 10, 1800), runs={"oven": "11:30"}, inverter=QUICK
    )  # fmt: skip
    found = odds(document)

    assert found is not None
    assert found.broken_per_run == pytest.approx(1800 / PERIOD_S, rel=0.02)
    assert found.without_per_run == pytest.approx(found.broken_per_run, rel=0.02)


@pytest.mark.parametrize(("oven_at", "lasts_s"), [("12:04:10", 250), ("11:55:50", 250)])
def test_what_goes_on_after_it_or_before_counts(oven_at: str, lasts_s: int) -> None:
    """An oven right after the hob, or right before: the heater is too much with both for 500 s, and with one for 250.

    It is on for more than 300 of the 500 if it comes on in the first 200, or as they begin with more than 300 to go.
    """
    document = house(
        HEATER, load("oven", 2500, lasts_s), load("hob", 2500, 250), runs={"oven": oven_at}, inverter=QUICK
    )  # fmt: skip
    found = odds(document)

    assert found is not None
    assert found.broken_per_run == pytest.approx((500 - ALLOWED_S + ON_S - ALLOWED_S) / PERIOD_S, rel=0.02)
    assert found.without_per_run == 0


def test_of_several_levels_the_one_that_is_broken_is_told() -> None:
    """Above 5200 W for longer than the minute allowed; above 4000 an hour is: that level is not broken."""
    document = house(
        HEATER, load("hob", 3000, 600), inverter={"overload": [[5200, 3600], [6000, 60]], "rated_va": 4000}
    )  # fmt: skip
    first, any_of_them = (odds(document, limit=limit) for limit in ("inverter_continuous", "inverter_overload"))

    assert first is not None
    assert first == any_of_them
    assert first.broken_per_run == pytest.approx((600 - 60 + ON_S - 60) / PERIOD_S, rel=0.01)


def test_of_several_rules_the_one_that_it_adds_to_is_told() -> None:
    """Leg B cuts out twice an hour by itself; the hob is on leg A, and there it does so beside the heater.

    If that comes on in the first 3540 s, or was on as the hob began with more than the minute to go: 3780 of 1800 s.
    """
    document = house(
        steady("heater", 2000, cycle={"on_s": 300, "period_s": 1800}, circuit="a"),
        steady("boiler", 1800, cycle={"on_s": 300, "period_s": 900}, circuit="b"),
        steady("iron", 1400, cycle={"on_s": 300, "period_s": 800}, circuit="b"),
        load("hob", 1300, 3600, circuit="a"),
        inverter={"rated_va": 6000, "continuous_w": [[25, 6000]], "overload": [[7000, 60]], "legs": 2},
        supply={"circuits": [{"id": one, "name": one, "leg": one.upper()} for one in "ab"]},
    )
    found = odds(document, limit="leg:A")

    assert found is not None
    assert found.broken_per_run == pytest.approx(3780 / 1800, rel=0.02)
    assert found.without_per_run == 0
    assert found.of_another is None
    assert odds(document, limit="leg:B") == found._replace(of_another="leg:A")


def test_where_fewer_are_counted_with_it_no_other_limit_is_told() -> None:
    """What cuts out several times without it does so once for as long as it is on: excursions join.

    The bank, which never does, is not told in its place.
    """
    document = house(
        steady("base", 2000), steady("heater", 2600, cycle={"on_s": 400, "period_s": 900}), load("lamp", 1900, 7200),
        inverter={"overload": [[6600, 300]]},
    )  # fmt: skip
    found = odds(document, "lamp")

    assert found is not None
    assert found.without_per_run == pytest.approx(7200 / 900, rel=0.05)
    assert found.broken_per_run is not None
    assert found.broken_per_run > 0


@pytest.mark.parametrize("runs", [{}, {"oven": "11:50"}])
def test_a_store_that_is_still_warm_counts(runs: dict[str, str]) -> None:
    """Above 3000 W are the heater for 450 s and the hob for 120: by itself neither is, for 470 s, with a lamp.

    In turn they are, where they overlap for less than 100 s, or less than 100 s lie between: 400 s of the period. An
    oven that is on for two minutes, ten before, is long forgotten.
    """
    document = house(
        steady("lamp", 2500), steady("heater", 600, cycle={"on_s": 450, "period_s": 1800}),
        load("hob", 1800, 120), load("oven", 400, 120), runs=runs,
        inverter={"rated_va": 3000, "continuous_w": [[25, 3000]], "overload": [[6000, 470]]},
    )  # fmt: skip
    found = odds(document)

    assert found is not None
    assert found.broken_per_run == pytest.approx(400 / 1800, rel=0.03)
    assert found.without_per_run == 0


def test_a_store_that_fills_by_and_by_is_warm_from_long_before() -> None:
    """A heater is above the rating for 260 of 480 s beside a lamp, which fills 40 s each time, and so beside the hob.

    The lamp has been on since 10:15; with the hob in its place it goes on filling, to what may be, for sure.
    """
    document = house(
        steady("base", 800), steady("heater", 1300, cycle={"on_s": 260, "period_s": 480}),
        load("lamp", 1000, 6300), load("hob", 1000, 1600), runs={"lamp": "10:15"},
        inverter={"rated_va": 3000, "continuous_w": [[25, 3000]], "overload": [[6000, 800]]},
    )  # fmt: skip

    assert odds(document) == RunOdds(1.0)


def test_what_comes_by_the_second_and_decides_nothing_hides_nothing() -> None:
    """The hob of the warm store above, beside a plate that pulses by the second: as often as without it."""
    document = house(
        steady("lamp", 2500), steady("heater", 600, cycle={"on_s": 450, "period_s": 3600}),
        steady("plate", 30, cycle={"on_s": 1, "period_s": 2}), load("hob", 1800, 60),
        inverter={"rated_va": 3000, "continuous_w": [[25, 3000]], "overload": [[6000, 470, 1400]]},
    )  # fmt: skip
    quiet = copy.deepcopy(document)
    quiet["appliances"] = [one for one in quiet["appliances"] if one["id"] != "plate"]
    found, expected = odds(document), odds(quiet)

    assert found is not None
    assert expected is not None
    assert expected.broken_per_run is not None
    assert found.broken_per_run == pytest.approx(expected.broken_per_run, rel=0.2)
    assert expected.broken_per_run > 0.05


def test_what_follows_a_start_is_not_on_in_it() -> None:
    """A saw's start and the welder are below the top, and so they are with its extractor, which comes on after it."""
    document = house(
        load(
            "saw", 1600, 3600, cycle={"on_s": 45, "period_s": 240},
            start={"va": 7000, "power_factor": 0.5, "duration_s": 1.0}, sets_off=[{"appliance": "fan", "after_s": 2}],
        ),
        load("fan", 1100, None), load("welder", 3200, 600), runs={"saw": "11:30"},
        inverter={"rated_va": 8000, "continuous_w": [[25, 8000]], "overload": [[9500, 60]]},
    )  # fmt: skip
    found = odds(document, "welder", "inverter_overload")

    assert found == RunOdds(0.0)


def test_a_planned_machine_an_hour_later_adds_nothing() -> None:
    """What is drawn at random for the hours around it is no part of its own odds."""
    alone = house(HEATER, load("hob", 2500, 600), load("oven", 2500, 3600), inverter=QUICK)
    beside = house(HEATER, load("hob", 2500, 600), load("oven", 2500, 3600), runs={"oven": "12:40"}, inverter=QUICK)

    assert odds(beside) == odds(alone)


def test_after_midnight_counts_as_well() -> None:
    """A run of half an hour at ten to twelve at night."""
    document = house(HEATER, load("hob", 2500, 1800), inverter=QUICK)
    found = odds_of_run(inspected(document), "hob", 24 * HOUR_MS - 600_000, "inverter_continuous")

    assert found is not None
    assert found.broken_per_run == pytest.approx(1.0, rel=0.01)


@pytest.mark.parametrize("minute", [900, 902, 915])
def test_it_is_what_the_run_adds_to_the_whole_day(minute: int) -> None:
    """The demo's shed: a washer beside saw, extractor and compressor that come and go since three.

    One is counted, the other reckoned excursion by excursion: a tenth apart at most.
    """
    inspection = inspected(json.loads(demo_text()), "shed")
    resolved = inspection.day.resolved
    found = odds_of_run(inspection, "washer", minute * 60_000, "inverter_overload")
    run = Run(id="one more", appliance="washer", start=f"{minute // 60:02d}:{minute % 60:02d}")
    days = (resolved, replanned(resolved, (*resolved.day.runs, run)))
    was, now = (assess_day(lay_day(day), None).limit("inverter_overload") for day in days)

    assert found is not None
    assert found.broken_per_run is not None
    assert was is not None
    assert was.broken_per_day is not None
    assert now is not None
    assert now.broken_per_day is not None
    added = now.broken_per_day - was.broken_per_day
    assert found.broken_per_run - found.without_per_run == pytest.approx(added, rel=0.1)


def test_its_own_later_run_is_this_one_moved() -> None:
    """As on "Switch on": else it would run into itself."""
    document = house(HEATER, load("hob", 2500, 1800), runs={"hob": "12:10"}, inverter=QUICK)

    found = odds(document)
    assert found is not None
    assert found.broken_per_run == pytest.approx(1.0, rel=0.01)


def test_none_is_told_beside_a_medical_device() -> None:
    """However seldom it comes."""
    device = load("cpap", 40, None, always_on=True)
    device["name"] = "CPAP"
    document = house(HEATER, device, load("hob", 2500, 1800), inverter=QUICK)

    assert odds(document) == RunOdds()
    assert odds(document, limit="cold_restart") == RunOdds()


def test_of_a_restart_the_part_of_its_time() -> None:
    """Both come back for all of it."""
    heater, hob = steady("heater", 5000, after_cut="starts"), load("hob", 4500, 1800, after_cut="starts")

    found = odds(house(heater, hob), limit="cold_restart")
    assert found is not None
    assert found.cut_share == pytest.approx(1.0)


def test_what_is_no_chance_has_no_odds() -> None:
    """Too much for sure; or never so in any order of coming and going."""
    assert odds(house(load("hob", 9900, 600)), limit="inverter_overload") is None
    assert odds(house(HEATER, load("hob", 100, 600))) == RunOdds(0.0)


@examples(30)
@given(households())
def test_all_of_a_day_is_a_part_of_it(household: Document) -> None:
    """Limits of the part from midnight to the horizon are those of the day."""
    day = inspected(copy.deepcopy(household)).day
    whole = power_limits(day)[1]

    assert power_limits(part_of(day, 0.0, float(day.resolved.frame.horizon_ms)))[1] == whole


@examples(30)
@given(households())
def test_what_could_cut_out_by_this_run_is_told_how_often(household: Document) -> None:
    """Whatever could be switched on that might cut out: a figure, that is no less with it than nothing."""
    inspection = inspected(household)
    at_ms = 10 * HOUR_MS
    for may in switching(inspection, at_ms).may:
        if may.answer != "ask" or may.verdict != "chance" or may.limit is None:
            continue
        found = odds_of_run(inspection, may.appliance, at_ms, may.limit, 600 if may.lasts_ms == HOUR_MS else None)
        if found is not None and found.broken_per_run is not None:
            assert 0 <= found.broken_per_run < 100_000
            assert found.without_per_run >= 0
