"""A sentence tells the first moment that is too much; how often counts all, so the worst one is told as well."""

from app.engine.assess import assess
from app.household.file import household_from
from app.web.words.limits import decisive
from tests.engine.home import house, load, steady
from tests.households import assessed

LIMITS = {"continuous_w": [[25, 2600]], "rated_va": 2600, "overload": [[3500, 5], [9000, 1]]}


def test_another_moment_at_which_others_draw_more_is_told() -> None:
    """A pump that comes and goes; an oven at half past twelve is a little too much with it, a saw at two far more."""
    pump = steady("pump", 900, cycle={"on_s": 60, "period_s": 3000})
    oven, saw = load("oven", 1800, 600), load("saw", 1990, 3600, cycle={"on_s": 50, "period_s": 60})
    document = house(pump, oven, saw, runs={"oven": "12:30", "saw": "14:00"}, inverter=LIMITS)

    sentence = assessed(document)["sentence"]

    assert "From 12:30" in sentence
    assert "Most of all at 14:00: Saw and Pump draw up to 2.9\u00a0kW." in sentence


def test_where_the_same_things_draw_nothing_is_added() -> None:
    pump = steady("pump", 900, cycle={"on_s": 60, "period_s": 3000})
    document = house(pump, load("oven", 1800, 600), runs={"oven": "12:30"}, inverter=LIMITS)

    assert "Most of all" not in assessed(document)["sentence"]


def test_what_breaks_while_all_runs_is_told_before_what_comes_back_after_a_cut() -> None:
    """A pump whose start is too much each time, and more with the fridge after a cut: the first line is of the pump."""
    start = {"va": 10_000, "power_factor": 0.5, "duration_s": 1}
    fridge = steady("fridge", 120, start={"va": 3000, "power_factor": 0.5, "duration_s": 1})
    pump = load("pump", 900, start=start)
    assessment = assess(household_from(house(fridge, pump, runs={"pump": "10:00"})))

    assert {one.id for one in assessment.limits if one.verdict == "over"} >= {"inverter_overload", "cold_restart"}
    assert decisive(assessment, 0.15).id == "inverter_overload"
