"""What may be switched on beside what people tapped: the same answers however the library came to be."""

import dataclasses

import pytest

from app.engine.assess import assess_day
from app.engine.day import lay_day
from app.engine.moment import Inspection
from app.engine.sun import suns_of
from app.engine.switching import switching
from app.household.beside_plan import Tap, beside_plan
from app.household.demo import demo_text
from app.household.file import household_from, read_document
from app.household.resolve import Resolved, resolve

TAPS = (Tap("washer", False, 35_000), Tap("fridge", False, 36_000), Tap("hob", True, 36_300), Tap("hob", False, 36_600))


def inspected(resolved: Resolved, *, closely: bool = True) -> Inspection:
    day = lay_day(resolved)
    return Inspection(day, assess_day(day, suns_of(resolved), closely=closely))


def anew(resolved: Resolved) -> Resolved:
    """The same plan with a library of which nothing was worked out before."""
    household = resolved.household
    fresh = tuple(one.model_copy() for one in household.appliances)
    return dataclasses.replace(resolved, household=household.model_copy(update={"appliances": fresh}))


@pytest.mark.parametrize("plan", ["ordinary", "laundry", "shed"])
def test_what_was_worked_out_for_the_library_holds_for_one_that_adds_to_it(plan: str) -> None:
    """A programme that was stopped stands in as one appliance more; the others are asked about as if it were not."""
    resolved = resolve(household_from(read_document(demo_text())), plan)
    switching(inspected(resolved), 36_000_000)
    beside = beside_plan(resolved, TAPS)
    for at_ms in (36_050_000, 36_400_000, 36_720_000, 39_900_000, 54_000_000):
        found = switching(inspected(beside.resolved), at_ms)

        assert found == switching(inspected(anew(beside.resolved)), at_ms)
        assert found == switching(inspected(beside.resolved, closely=False), at_ms)


def test_what_is_not_asked_about_is_left_out() -> None:
    """Nothing else changes."""
    beside = beside_plan(resolve(household_from(read_document(demo_text())), "laundry"), TAPS)
    inspection = inspected(beside.resolved)
    everything, some = (switching(inspection, 36_720_000, but=but) for but in ((), beside.stand_ins))

    assert beside.stand_ins
    assert some.may == tuple(one for one in everything.may if one.appliance not in beside.stand_ins)
    assert (some.room, some.on) == (everything.room, everything.on)
