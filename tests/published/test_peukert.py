"""How long a bank lasts: Peukert 1897, normalised to the hours its capacity is stated for.

t = H (C / (I H))^k with 100 Ah at 20 h. Hours, ampere-hours and the exponent of two tests are recomputed. The form
t = C / I^k without H, as a textbook note prints it (14.5 h for 5 A and k = 1.2), is another definition: taken for a
bank rated at 20 h it loses more than a quarter.
"""

import math

import numpy as np
import pytest

from app.engine.cells import TABLE, cells_of
from app.engine.flows import Plant, State, Steps, flows
from app.household.losses import Losses
from app.household.supply import Battery
from tests.published.plain import BATTERY

HALF, A_SECOND_MS = 0.5, 1000.0


def lasts_h(exponent: float, current_a: float) -> float:
    """How long a full bank of 100 Ah at 20 h lasts, by the charge that a second of the current takes out of it."""
    bank = BATTERY | {"chemistry": "lead_acid", "modules": 1, "module_ah": 100, "module_v": 48, "peukert": exponent}
    cells = cells_of(Battery.model_validate(bank | {"module_resistance_ohm": 0}))
    plant = Plant(cells, Losses(0, 0, 0), current_a * cells.rest_v[round(HALF * TABLE)], 0, 0, None)
    nothing = np.zeros(1)
    steps = Steps(np.array([0, A_SECOND_MS]), nothing, np.zeros((0, 1)), (), nothing, nothing, nothing + np.inf)
    taken = HALF - flows(plant, steps, State(HALF)).state(-1).charge
    return A_SECOND_MS / 3_600_000 / taken


@pytest.mark.parametrize(("current_a", "hours"), [(5, 20.0), (10, 8.706), (20, 3.789), (50, 1.262)])
def test_hours_at_1_2(current_a: float, hours: float) -> None:
    """The faster the less."""
    assert lasts_h(1.2, current_a) == pytest.approx(hours, abs=0.001)


@pytest.mark.parametrize(("exponent", "usable_ah"), [(1.1, (93.3, 87.1, 79.4, 74.1)), (1.3, (81.2, 66.0, 50.1, 40.7))])
def test_ampere_hours(exponent: float, usable_ah: tuple[float, ...]) -> None:
    """At 10, 20, 50 and 100 A."""
    found = [current_a * lasts_h(exponent, current_a) for current_a in (10, 20, 50, 100)]
    assert found == pytest.approx(usable_ah, abs=0.1)


def test_an_exponent_from_two_tests() -> None:
    """5 A for 20 h and 16 A for 5 h: 1.1918; a bank with it lasts as long in both."""
    exponent = math.log(20 / 5) / math.log(16 / 5)

    assert exponent == pytest.approx(1.1918, abs=0.0001)
    assert lasts_h(exponent, 5) == pytest.approx(20)
    assert lasts_h(exponent, 16) == pytest.approx(5)


def test_it_is_not_the_form_without_hours() -> None:
    """14.496 h would be that one's."""
    other_h = 100 / 5**1.2
    assert other_h == pytest.approx(14.496, abs=0.001)
    assert lasts_h(1.2, 5) == pytest.approx(20)


def test_no_more_than_the_rating_is_counted_on() -> None:
    """At 1 A the law would promise 138 Ah."""
    assert lasts_h(1.2, 1) == pytest.approx(100)
