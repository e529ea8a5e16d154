"""Where a machine is free."""

from app.household.demo import demo_text
from app.household.file import read_household
from app.household.gaps import first_free_s, run_length_s
from app.household.resolve import Resolved, resolve
from app.household.scenario import Run

HOUR_S, STEP_S = 3600, 300


def laundry(*, on: bool = True) -> Resolved:
    """The demo's laundry day: the iron runs from 16:00 to 16:30, if it is on."""
    resolved = resolve(read_household(demo_text()), "laundry")
    runs = tuple(run.model_copy(update={"on": on}) for run in resolved.day.runs)
    return Resolved(resolved.household, type(resolved.day)(**vars(resolved.day) | {"runs": runs}), resolved.frame)


def first(resolved: Resolved, length_s: float, from_s: int) -> int | None:
    iron = resolved.appliance("iron")
    assert iron is not None
    return first_free_s(resolved, iron, length_s, from_s, STEP_S)


def test_a_run_is_as_long_as_it_says_or_as_its_programme() -> None:
    """A length of its own goes before the programme's; the programme's is the sum of its stages."""
    washer, iron = laundry().appliance("washer"), laundry().appliance("iron")
    assert washer is not None
    assert iron is not None

    assert run_length_s(washer) == sum(stage.duration_s or 0 for stage in washer.stages)
    assert run_length_s(iron, Run(id="x", appliance="iron", start="10:00", duration_s=90)) == 90
    assert run_length_s(iron, Run(id="x", appliance="iron", start="10:00")) == 1800


def test_a_start_is_free_that_runs_into_nothing() -> None:
    """Before the other run there is room up to its begin, and after it from its end on."""
    assert first(laundry(), HOUR_S, 15 * HOUR_S) == 15 * HOUR_S
    assert first(laundry(), HOUR_S, 15 * HOUR_S + STEP_S) == 16 * HOUR_S + 1800
    assert first(laundry(), 60, 16 * HOUR_S) == 16 * HOUR_S + 1800


def test_a_run_that_is_off_takes_no_room() -> None:
    """Only what is on stands in the way."""
    assert first(laundry(on=False), HOUR_S, 16 * HOUR_S) == 16 * HOUR_S


def test_a_day_can_be_too_short() -> None:
    """Past midnight no run of this day begins."""
    assert first(laundry(), HOUR_S, 24 * HOUR_S) is None
