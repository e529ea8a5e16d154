"""What may be switched on beside loads that lead: of a planned run that is moved, of starts after a power cut."""

import pytest

from app.engine.answers import MaySwitch
from app.engine.results import LimitReading
from app.engine.switching import switching
from tests.engine.generator_truth import with_run
from tests.engine.home import Document, house, load, steady
from tests.engine.test_moment import HOUR_MS, MINUTE_MS, inspected

TEN = 10 * HOUR_MS
LEADS = {"power_factor": 0.1, "power_factor_kind": "leading"}


def may(document: Document, appliance: str, at_ms: int) -> MaySwitch:
    """The answer for one appliance."""
    return next(one for one in switching(inspected(document), at_ms).may if one.appliance == appliance)


def reading_with(document: Document, appliance: str, at_ms: int, limit: str) -> LimitReading:
    """What the whole plan says of a limit with the run tapped on then."""
    tapped = with_run(inspected(document), appliance, at_ms)
    assert tapped is not None
    found = tapped[1].limit(limit)
    assert found is not None
    return found


def kiln_and_oven(*, drive: str = "10:20", **more: object) -> Document:
    """A drive is planned beside a kiln: 1850 W and 319 var at 10:30, and 816 var without it, 1976 VA."""
    return house(
        load("kiln", 800, 1200, power_factor=0.7, circuit="c"), load("drive", 50, 1200, circuit="c", **LEADS),
        load("oven", 1000, 60, circuit="c"), runs={"drive": drive, "kiln": "10:24", "oven": "10:30"}, **more,
    )  # fmt: skip


BREAKER = {"supply": {"circuits": [{"id": "c", "breaker_a": 8.4}]}}
CABLE = {"supply": {"circuits": [{"id": "c", "cable_m": 60, "conductor_mm2": 70}], "rules": {"drop_running": 0.00143}}}


def test_a_run_that_is_moved_makes_up_for_nothing_where_it_was_planned() -> None:
    """On by 10:11 the drive is over before the oven is: 8.59 A on a breaker of 8.4, with it 8.16."""
    document = kiln_and_oven(**BREAKER)
    found = may(document, "drive", TEN + 5 * MINUTE_MS)
    told = reading_with(document, "drive", TEN + 5 * MINUTE_MS, "circuit:c")

    assert (found.answer, found.limit, found.then) == ("not_now", "circuit:c", "go")
    assert found.at_ms == told.at_ms == TEN + 30 * MINUTE_MS
    assert found.use == pytest.approx(told.use)
    assert (found.until_ms, found.instead_ms, found.is_missed) == (
        TEN + 11 * MINUTE_MS, (TEN + 20 * MINUTE_MS,), True,
    )  # fmt: skip
    assert told.verdict == "over"


def test_a_run_that_is_over_before_its_own_planned_one_moves_nothing() -> None:
    """Twenty minutes before 10:20 it goes, and until then; from 10:11 until the oven it goes as well."""
    document = kiln_and_oven(**BREAKER)
    early, late = may(document, "drive", TEN - MINUTE_MS), may(document, "drive", TEN + 11 * MINUTE_MS)

    assert (early.answer, early.until_ms, early.then) == ("go", TEN, "not_now")
    assert (late.answer, late.until_ms) == ("go", TEN + 30 * MINUTE_MS)
    assert reading_with(document, "drive", TEN + 11 * MINUTE_MS, "circuit:c").verdict == "tight"


@pytest.mark.parametrize("watts", [0, 1])
def test_a_run_that_is_moved_may_be_in_another_stage_by_then(watts: int) -> None:
    """It leads for ten minutes from 10:20; begun at 10:11 it is past that by 10:22, when the oven is on."""
    document = kiln_and_oven(**BREAKER)
    drive = next(one for one in document["appliances"] if one["id"] == "drive")
    drive["stages"] = [{"duration_s": 600, "watts": 50, **LEADS}, {"duration_s": 600, "watts": watts}]
    document["scenarios"][0]["runs"][1]["start"], document["scenarios"][0]["runs"][2]["start"] = "10:20", "10:22"
    early, late = may(document, "drive", TEN + 11 * MINUTE_MS), may(document, "drive", TEN + 14 * MINUTE_MS)

    assert reading_with(document, "drive", TEN + 11 * MINUTE_MS, "circuit:c").verdict == "over"
    assert (early.answer, early.limit, early.at_ms) == ("not_now", "circuit:c", TEN + 22 * MINUTE_MS)
    assert not early.is_missed
    assert late.answer == "go"


def test_a_drive_that_comes_and_goes_beside_what_is_not_moved() -> None:
    """The same of a kiln whose heat comes and goes: it may be too much then."""
    document = kiln_and_oven(**BREAKER)
    kiln = next(one for one in document["appliances"] if one["id"] == "kiln")
    kiln["stages"][0]["cycle"] = {"on_s": 60, "period_s": 280}

    assert may(document, "drive", TEN + 5 * MINUTE_MS).answer == "not_now"  # a breaker is no matter of odds


def test_of_voltage_more_is_lost_without_a_run_that_is_moved() -> None:
    """Through 60 m of 70 mm2 the kiln's lagging amperes count nearly as much as its watts."""
    document = kiln_and_oven(**CABLE)
    found = may(document, "drive", TEN + 5 * MINUTE_MS)
    told = reading_with(document, "drive", TEN + 5 * MINUTE_MS, "voltage_drop:c")

    assert (found.answer, found.limit) == ("not_now", "voltage_drop:c")
    assert found.use == pytest.approx(told.use)
    assert (told.verdict, told.at_ms) == ("over", found.at_ms)


def test_time_above_a_level_without_a_run_that_is_moved() -> None:
    """For a minute 1976 VA on 1900: half a minute is allowed."""
    inverter = {"rated_va": 1900, "continuous_w": [[25, 1900]], "overload": [[4000, 30], [6000, 5]]}
    document = kiln_and_oven(inverter=inverter, supply={"circuits": [{"id": "c"}]})
    found = may(document, "drive", TEN + 5 * MINUTE_MS)

    assert reading_with(document, "drive", TEN + 5 * MINUTE_MS, "inverter_apparent").verdict == "over"
    assert (found.answer, found.limit) == ("not_now", "inverter_apparent")


def test_after_a_power_cut_what_leads_may_be_off() -> None:
    """The saw starts with 1431 var beside a mixer's 995: 2539 VA, whatever leads beside them."""
    start = {"va": 1500, "power_factor": 0.3, "duration_s": 4}
    document = house(
        steady("base", 200), load("mixer", 100, 300, power_factor=0.1), load("saw", 50, 600, start=start),
        steady("filter", 300, power_factor=0.3, power_factor_kind="leading", cycle={"on_s": 600, "period_s": 1800}),
        runs={"mixer": "10:05"},
        inverter={"rated_va": 2200, "continuous_w": [[25, 2200]], "overload": [[2300, 1800], [2480, 5]]},
    )  # fmt: skip
    found = may(document, "saw", TEN)
    told = reading_with(document, "saw", TEN, "cold_restart")

    assert (found.answer, found.limit, found.at_ms) == ("ask", "cold_restart", TEN + 5 * MINUTE_MS)
    assert told.verdict == "over"
    assert found.use == pytest.approx(told.use, rel=1e-3) == pytest.approx(2643, abs=1)
    assert told.switch_off[0] == "saw"


def test_a_member_that_is_kept_off_for_a_guest_makes_up_for_nothing() -> None:
    """Two of three may be on: with lamp and fan the pump waits, and a drive leads by 3180 var all by itself."""

    def on_c(name: str, watts: float, duration_s: float | None = 600, **more: object) -> Document:
        return load(name, watts, duration_s, circuit="c", **more)

    document = house(
        on_c("drive", 1000, power_factor=0.3, power_factor_kind="leading"), on_c("pump", 300, power_factor=0.7),
        on_c("fan", 150, None, always_on=True, power_factor=0.7, cycle={"on_s": 60, "period_s": 220}),
        on_c("lamp", 50, 120, power_factor=0.9), runs={"drive": "10:00", "pump": "10:00"},
        interlocks=[{"of": ["fan", "lamp", "pump"], "at_most": 2}],
        supply={"circuits": [{"id": "c", "breaker_a": 14.4}]},
    )  # fmt: skip

    assert reading_with(document, "lamp", TEN + MINUTE_MS, "circuit:c").verdict == "over"
    assert (may(document, "lamp", TEN + MINUTE_MS).answer, may(document, "lamp", TEN + 11 * MINUTE_MS).answer) == (
        "not_now", "go",
    )  # fmt: skip


def test_what_draws_more_beside_the_member_that_is_on_is_told_whatever_the_other_draws() -> None:
    """Rectifier or motor: 8011 VA, and with a lamp that leads 8030; only with both on it would be less than without."""
    cycle = {"on_s": 60, "period_s": 1800}
    document = house(
        steady("base", 100), load("lamp", 150, 1200, power_factor=0.7, power_factor_kind="leading"),
        steady("rectifier", 800, power_factor=0.1, power_factor_kind="distortion", cycle=cycle),
        steady("motor", 800, power_factor=0.3, cycle=cycle),
        interlocks=[{"of": ["rectifier", "motor"], "at_most": 1}],
        inverter={"rated_va": 5600, "continuous_w": [[25, 5000]], "overload": [[9000, 300], [12_000, 5]]},
    )  # fmt: skip
    found = may(document, "lamp", TEN)

    assert (found.answer, found.limit) == ("ask", "inverter_apparent")
    assert reading_with(document, "lamp", TEN, "inverter_apparent").use == pytest.approx(8030, abs=1)


@pytest.mark.parametrize(("after_s", "answer"), [(1, "not_now"), (3, "not_now"), (5, "go")])
def test_a_start_adds_to_what_a_planned_one_is_above_a_level_meanwhile(after_s: int, answer: str) -> None:
    """Two seconds of a planned start of four are above 5600 VA, where two are allowed; with the saw's it is three."""
    slow = {"va": 3000, "power_factor": 0.9, "duration_s": 4}
    quick = {"va": 3000, "power_factor": 0.9, "duration_s": 2}
    document = house(
        load("press", 100, 600, start=slow, after_cut="waits"), load("pump", 100, 600, start=quick, after_cut="waits"),
        load("saw", 100, 600, start=quick, after_cut="waits"),
        runs={"press": "10:00", "pump": "10:00"},
        inverter={"rated_va": 4000, "continuous_w": [[25, 4000]], "overload": [[5600, 60], [7400, 2]]},
    )  # fmt: skip
    at_ms = TEN + after_s * 1000
    told = reading_with(document, "saw", at_ms, "inverter_overload")

    assert (told.verdict == "over") == (answer == "not_now")
    assert may(document, "saw", at_ms).answer == answer
