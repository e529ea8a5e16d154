"""A plan of which nobody has read the limits answers as one that was assessed."""

import numpy as np
import pytest
from hypothesis import given

from app.engine.assess import assess_day
from app.engine.day import lay_day
from app.engine.moment import Inspection
from app.engine.results import Assessment
from app.engine.sun import suns_of
from app.engine.switching import switching
from app.engine.unread import Unread
from app.household.demo import demo_text
from app.household.file import household_from, read_document
from app.household.resolve import resolve
from tests.engine.home import Document, house, load
from tests.engine.test_switching_agrees import with_guests
from tests.oracle.profiles import examples
from tests.oracle.strategies import households

HOUR_MS = 3_600_000


def _both(document: Document, scenario: str | None = None) -> tuple[Unread, Inspection]:
    resolved = resolve(household_from(document), scenario)
    day, suns = lay_day(resolved), suns_of(resolved)
    return Unread(day, suns), Inspection(day, assess_day(day, suns, closely=False))


@examples(40)
@given(households())
def test_answers_are_those_of_the_assessed_plan(household: Document) -> None:
    """Whatever is broken already, and by whatever: what is surely broken is found without a reading as well."""
    unread, read = _both(with_guests(household))
    for at_ms in range(0, unread.day.resolved.frame.day_ms, 6 * HOUR_MS):
        assert switching(unread, at_ms) == switching(read, at_ms)
    assert set(unread.sure) == set(read.sure)
    assert all(np.array_equal(flags, read.sure[limit][1]) for limit, (_, flags) in unread.sure.items())
    assert unread.assessment.limits == read.assessment.limits
    assert unread.assessment.verdict == read.assessment.verdict


@pytest.mark.parametrize("begins", ["02:00", "10:00"])
def test_what_is_surely_too_much_is_found_without_a_reading(begins: str) -> None:
    """As it comes, and while it is there."""
    unread, read = _both(house(load("kiln", 20_000), load("kettle", 2000), runs={"kiln": begins}))
    assert "inverter_overload" in unread.sure
    for at_ms in (HOUR_MS, 10 * HOUR_MS + 1000):
        assert switching(unread, at_ms) == switching(read, at_ms)


def test_nothing_is_read_for_what_fits(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody asks for a limit, and so none is read."""
    unread, read = _both(read_document(demo_text()))
    monkeypatch.setattr("app.engine.unread.assess_day", _nobody_asks)
    assert switching(unread, 4 * HOUR_MS) == switching(read, 4 * HOUR_MS)


def _nobody_asks(*_: object, **__: object) -> Assessment:
    raise AssertionError("the assessment was made")
