"""What a plan needs at least: the least figures carry it together, and a per cent less of any one does not."""

from __future__ import annotations

import pytest
from hypothesis import given, note

from app.planner.needs.found import Need, What
from app.planner.needs.needs import needs_of
from tests.oracle.energy_days import WINTER, drawn, small
from tests.oracle.profiles import examples, seeded
from tests.oracle.reading import Json
from tests.oracle.strategies import households
from tests.planner.needs_cases import Checked, Supply


@pytest.mark.parametrize("part", range(2))
def test_the_least_for_hours_and_starts_carries_and_a_per_cent_less_does_not(part: int) -> None:
    """Seventy crowded quarters of an hour: two legs, cold rooms, interlocks, what-ifs, plans that are too much."""

    @seeded(part)
    @examples(35)
    @given(households())
    def look(household: Json) -> None:
        supply = Supply(household, household["scenarios"][-1]["id"])
        needs = needs_of(supply.resolved)
        for need in needs:
            note(repr(need))
        checked = Checked(supply, needs)
        checked.power()
        assert checked.wrong == []

    look()


def test_the_least_bank_and_arrays_carry_and_a_per_cent_less_does_not() -> None:
    """Thirty days of every kind of bank: with no arrays, in winter, on the AC side, a generator left out of it."""
    for seed in range(30):
        supply = Supply(drawn(seed), "day")
        needs = needs_of(supply.resolved)
        checked = Checked(supply, needs)
        checked.energy()
        assert checked.wrong == [], (seed, needs)


def need_of(document: Json, what: What) -> Need:
    """One need of a file's first plan."""
    return next(one for one in needs_of(Supply(document, "day").resolved) if one.what == what)


# A curve that goes on rising in the cold, a room that warms, a yield that is told.
RISING = small(
    inverter={"continuous_w": [[0, 2900], [25, 2600], [40, 2200]], "room_offset_k": 6}, ambient_c=[[4, 2], [12, 31]],
    expected_yield_wh=9000, start_state_of_charge=0.8,
)  # fmt: skip


def test_a_curve_keeps_its_proportions_and_a_told_yield_grows_with_the_arrays() -> None:
    """The watts are told at 25 degC however warm it is; a yield that is told is that of the arrays there are."""
    supply = Supply(RISING, "day")
    checked = Checked(supply, needs_of(supply.resolved))
    checked.power()
    checked.energy()

    assert checked.wrong == []
    assert checked.array


@pytest.mark.parametrize(
    ("what", "why", "document"),
    [
        ("usable_wh", "begins_below", small(start_state_of_charge=0.1)),
        ("usable_wh", "voltage", small(inverter={"cut_off_v": 53.5, "restart_v": 53.5})),
        ("array_w", "begins_below", small(start_state_of_charge=0.1)),
        ("array_w", "night", small({"modules": 1, "module_ah": 30}, start_state_of_charge=0.25)),
        ("array_w", "no_array", small(arrays=[])),
        ("array_w", "dark_day", small(expected_yield_wh=0)),
        ("array_w", "charger", small({"continuous_charge_a": 0})),
        ("array_w", "cold", small(date=WINTER, ambient_c=[[0, -12]])),
        ("array_w", "full", small({"modules": 1, "module_ah": 60}, start_state_of_charge=0.95)),
        ("bank_a", "cold", small({"discharge_factor_by_temp": [[-5, 0], [10, 1]]}, ambient_c=[[0, -12]])),
        ("bank_a", "cannot_deliver", small({"module_resistance_ohm": 0.9})),
        ("bank_peak_a", "cannot_deliver", small({"module_resistance_ohm": 0.9})),
        ("restart_va", "voltage", small({"module_resistance_ohm": 0.9})),
    ],
    ids=lambda one: one if isinstance(one, str) else "",
)
def test_where_no_size_would_do_it_is_told_why(what: What, why: str, document: Json) -> None:
    """Neither a much larger bank nor many more panels help; the reason is the one that stands."""
    need = need_of(document, what)

    assert (need.least, need.why) == (None, why)
    assert not need.enough


def test_what_the_plan_does_not_need_is_nothing() -> None:
    """With no draw at all nothing is needed."""
    bare = small({"dc_load_w": 0}, {"no_load_w": 0})
    bare["appliances"], bare["scenarios"][0]["runs"] = [], []

    assert {one.what: one.least for one in needs_of(Supply(bare, "day").resolved)} == dict.fromkeys(
        ["continuous_w", "rated_va", "surge_va", "restart_va", "bank_a", "bank_peak_a", "usable_wh", "array_w"], 0.0
    )


@pytest.mark.parametrize("start", [0.35, 0.8])
def test_a_generator_is_never_counted_on(start: float) -> None:
    """It keeps the reserve with any bank and fills it before midnight; what is needed is what would be without it."""
    filling = {"rated_w": 5000, "charger_w": 1500, "start_below": 0.3, "stop_above": 0.9}
    day: Json = {"start_state_of_charge": start, "cloud_oktas": 6}
    beside, without = (needs_of(Supply(small(generator=one, **day), "day").resolved) for one in (filling, None))

    assert beside == without
    assert [one.least for one in beside if one.what in ("usable_wh", "array_w")] != [0.0, 0.0]
