"""A sentence tells the first moment that is too much; how often counts all, so the worst one is told as well."""

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
