"""Heat stores: filling, cooling, lines that sink, patterns together and in relay."""

import numpy as np
import pytest

from app.engine.curve import Line
from app.engine.heat import Check, Rule, run_stores
from tests.engine.home import clock, house, limits, load, steady


def rule(allowed_s: float, cooling_s: float, line: Line) -> Rule:
    """One level with its time, and no top."""
    return Rule((Check(0, line, 0),), (allowed_s,), (cooling_s,), (float(line.value[0]),), ("W",))


FLAT = Line(np.array([0.0, 1e7]), np.array([100.0, 100.0]))


def test_a_store_empties_by_its_time_over_its_cooling() -> None:
    """40 s on, 30 s off at half the speed, 40 s on again: 40 - 15 + 40."""
    edges = np.array([[0.0, 40_000, 70_000, 110_000]])

    stores = run_stores(edges, [np.array([[120.0, 80, 120]])], rule(60, 120, FLAT))

    assert stores.fullest_s == (65.0,)
    assert stores.filling[0].trip_ms == 105_000.0
    assert stores.filling[0].since_ms == 0.0


def test_a_store_is_never_below_nothing() -> None:
    """A long rest does not count in advance."""
    edges = np.array([[0.0, 500_000, 560_000]])

    stores = run_stores(edges, [np.array([[0.0, 120]])], rule(60, 60, FLAT))

    assert stores.fullest_s == (60.0,)
    assert stores.filling[0].trip_ms == np.inf


def test_a_draw_equal_to_its_level_fills_nothing() -> None:
    """Exceeding means strictly more."""
    stores = run_stores(np.array([[0.0, 60_000]]), [np.array([[100.0]])], rule(1, 1, FLAT))

    assert stores.empty


def test_where_a_line_sinks_through_the_draw_the_store_begins_there() -> None:
    """100 to 50 over 100 s passes 80 after 40 s."""
    sinking = Line(np.array([0.0, 100_000]), np.array([100.0, 50.0]))

    stores = run_stores(np.array([[0.0, 100_000]]), [np.array([[80.0]])], rule(1000, 1000, sinking))

    assert stores.fullest_s[0] == pytest.approx(60)
    assert stores.filling[0].since_ms == pytest.approx(40_000)


OVEN = {"on_s": 1200, "period_s": 7200}


def test_a_draw_that_a_line_reaches_at_its_end_fills_nothing_after_it() -> None:
    """A line that sinks to a draw just as that ends, but for rounding, leaves the quiet stretch after it quiet."""
    sinking = Line(np.array([0.0, 100_000.0]), np.array([1000.0, 0.0]))
    edge = 99_900.0
    draw = float(np.nextafter(sinking.at(edge), np.inf))

    stores = run_stores(np.array([[0.0, edge, 100_000]]), [np.array([[draw, 0.0]])], rule(1000, 1000, sinking))

    assert stores.fullest_s[0] == pytest.approx(0, abs=1e-6)


def test_two_ovens_one_after_the_other_last_longer_than_together() -> None:
    """Each alone lifts 2.5 kW above 4 kW for 20 minutes: in relay 40, of 30 allowed."""
    ovens = [load(name, 2000, 7200, cycle=OVEN) for name in ("oven", "stove")]
    document = house(steady("base", 2500), *ovens, runs={"oven": "12:00", "stove": "12:00"})

    continuous = limits(document)["inverter_continuous"]

    assert continuous["lasts_s"] == 2400
    assert continuous["verdict"] == "chance"
    assert clock(continuous["trips_at"]) == "12:30"


def test_an_interlock_leaves_only_the_larger() -> None:
    """Two ovens of which one may be on: never both, and in relay still one after the other."""
    ovens = [load("oven", 2000, 7200, cycle=OVEN), load("stove", 1900, 7200, cycle=OVEN)]
    document = house(
        steady("base", 500), *ovens, runs={"oven": "12:00", "stove": "12:00"}, interlocks=[{"of": ["oven", "stove"]}]
    )

    assert limits(document)["inverter_continuous"]["use"] == 2500


def test_two_runs_that_an_interlock_forbids_are_a_caution() -> None:
    """Both are certain, so both count, and the plan says so."""
    from tests.households import assessed

    document = house(
        load("oven", 1000), load("stove", 900), runs={"oven": "12:00", "stove": "12:30"},
        interlocks=[{"of": ["oven", "stove"]}],
    )  # fmt: skip
    report = assessed(document)

    assert report["demand"]["peak_worst_w"] == 1900
    assert [caution["code"] for caution in report["cautions"]] == ["interlocked_at_once"]
    assert "Oven and Stove are planned together at 12:30" in report["cautions"][0]["text"]


def test_a_load_stays_on_for_its_longest_time_first() -> None:
    """A thermostat that may stick for two hours is over a level for two hours once."""
    heater = load("heater", 2000, 14_400, cycle={"on_s": 300, "period_s": 3600, "longest_on_s": 7200})
    document = house(steady("base", 2500), heater, runs={"heater": "12:00"})

    assert limits(document)["inverter_continuous"]["lasts_s"] == 7200
