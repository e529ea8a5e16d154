"""Sun and bank against an independent loop of one-second steps, and the balance of energies on every day."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.engine.assess import assess_day
from app.engine.cells import cells_of
from app.engine.charge import BankDay
from app.engine.day import lay_day
from app.engine.sun import suns_of
from app.household.fields import wall_clock_s
from app.household.file import household_from
from app.household.resolve import Resolved, resolve
from tests.oracle.energy import Course, Sunshine, course_of
from tests.oracle.energy_days import drawn, energy_days
from tests.oracle.profiles import examples
from tests.oracle.reading import Json

POINTS, PART, OF_ALL = 0.3, 0.005, 0.001
BALANCE = 0.001
STEP_MS = 300_000
DAYS = energy_days()


@dataclass(frozen=True)
class Compared:
    """One day twice."""

    name: str
    resolved: Resolved
    bank: BankDay
    course: Course


def bank_of(document: Json, plan: str | None = None) -> tuple[Resolved, BankDay]:
    """What the product says of a plan's sun and bank."""
    resolved = resolve(household_from(document), plan)
    bank = assess_day(lay_day(resolved), suns_of(resolved), closely=False).battery
    assert bank is not None
    return resolved, bank


def compared(name: str, document: Json, plan: str | None = None) -> Compared:
    """The product's day and the loop's."""
    resolved, bank = bank_of(document, plan)
    sun = suns_of(resolved).expected
    sunshine = Sunshine(sun.edges_ms, sun.dc_w, sun.controller_a, sun.ac_w)
    begin_ms = resolved.frame.at_ms(wall_clock_s(resolved.day.state_of_charge_at))
    course = course_of(document, plan, sunshine, resolved.day.start_state_of_charge, begin_ms)
    return Compared(name, resolved, bank, course)


def apart(day: Compared) -> list[str]:
    """Everything in which the two differ by more than the steps excuse."""
    bank, course, totals = day.bank, day.course, day.bank.totals
    at_ms = np.arange(0, day.resolved.frame.horizon_ms + 1, STEP_MS)
    ours, theirs = np.array(course.charge)[at_ms // 1000], np.interp(at_ms, bank.edges_ms, bank.state_of_charge)
    off = 100 * np.abs(ours - theirs)
    found = [f"{off.max():.2f} points at {at_ms[off.argmax()]} ms"] if off.max() > POINTS else []
    pairs = {
        "sun": totals.sun_used_wh + totals.spare_sun_wh, "spare": totals.spare_sun_wh, "into": totals.into_bank_wh,
        "out": totals.out_of_bank_wh, "served": totals.served_wh, "dc_served": totals.dc_served_wh,
        "unserved": totals.unserved_wh, "lost": totals.losses_wh, "generator": totals.generator_wh,
    }  # fmt: skip
    house_wh = course.wh["served"] + course.wh["unserved"]
    for name, wh in pairs.items():
        if abs(wh - course.wh[name]) > max(PART * abs(course.wh[name]), OF_ALL * course.wh["sun"], OF_ALL * house_wh):
            found.append(f"{name}: loop {course.wh[name]:.1f} Wh, product {wh:.1f} Wh")
    return found


def unbalanced(resolved: Resolved, bank: BankDay) -> list[str]:
    """What came in, and where it went: by the product's own figures, and by the state of charge alone."""
    totals, cells = bank.totals, cells_of(resolved.household.supply.battery)
    by_charge_wh = cells.stored_wh(bank.end_state_of_charge) - cells.stored_wh(resolved.day.start_state_of_charge)
    came_wh = totals.sun_used_wh + totals.generator_wh
    went_wh = totals.served_wh + totals.dc_served_wh + totals.losses_wh
    turned_over_wh = max(came_wh, went_wh)
    return [
        f"{kind}: {came_wh - went_wh - stored_wh:.2f} of {turned_over_wh:.0f} Wh are missing"
        for kind, stored_wh, within in (("own", totals.stored_wh, 1e-9), ("by charge", by_charge_wh, BALANCE))
        if abs(came_wh - went_wh - stored_wh) > within * turned_over_wh + 1e-6
    ]


@pytest.fixture(scope="module", params=DAYS)
def day(request: pytest.FixtureRequest) -> Compared:
    """Each day, computed once."""
    return compared(request.param, *DAYS[request.param])


def test_a_day_agrees_with_the_one_second_loop(day: Compared) -> None:
    """Charge within 0.3 points every five minutes, every energy within half a per cent or a thousandth of the whole."""
    assert apart(day) == []


def test_no_energy_is_lost(day: Compared) -> None:
    """To a thousandth of what was turned over."""
    assert unbalanced(day.resolved, day.bank) == []


def test_dark_and_generator_come_when_they_come(day: Compared) -> None:
    """Within a minute of the loop's second, and as often."""
    darkens = day.course.dark_ms[:1]
    assert [day.bank.expected.dark_ms] == [pytest.approx(one, abs=60_000) for one in darkens or [None]]
    spells = [(spell.from_ms, spell.to_ms) for spell in day.bank.generator]
    assert spells == [pytest.approx(one, abs=60_000) for one in day.course.generator_ms]
    assert day.bank.generator_starts == len(spells)


def test_the_day_is_what_it_is_called(day: Compared) -> None:
    """Else it would check nothing."""
    there = {
        "light": bool(day.course.dark_ms and day.course.light_ms) and day.bank.totals.unserved_wh > 50,
        "generator": day.bank.totals.generator_wh > 500,
        "full": day.bank.totals.spare_sun_wh > 1000,
        "much": day.bank.totals.spare_sun_wh > 1000,
        "cold": day.bank.cold_until_ms is not None,
    }
    assert all(is_so for word, is_so in there.items() if word in day.name.split())


@examples(60)
@given(st.integers(0, 10_000))
def test_any_day_balances(seed: int) -> None:
    """Whatever bank, sun, house and generator are drawn."""
    assert unbalanced(*bank_of(drawn(seed))) == []


@examples(3)
@given(st.integers(0, 10_000))
def test_any_day_agrees_with_the_one_second_loop(seed: int) -> None:
    """A few of them second by second."""
    assert apart(compared(str(seed), drawn(seed))) == []
