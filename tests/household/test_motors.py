"""From a label to a start: what no table gives, and what is said with it."""

import pytest

from app.household.errors import HouseholdFaults
from app.household.figures import COMMON_PRACTICE, OWN_ESTIMATE
from app.household.motors import (
    HORSEPOWER_W,
    MACHINES,
    Machine,
    running_of_shaft,
    start_ceiling,
    start_held_down,
    start_of_code_letter,
    start_of_locked_rotor,
    start_without_label,
)


def test_between_two_rows_the_draw_lies_between_them() -> None:
    """1 1/4 hp draws the mean of what 1 and 1 1/2 hp draw, and rests on the table still."""
    running = running_of_shaft(1.25 * HORSEPOWER_W)

    assert running.va.value == pytest.approx((1840 + 2300) / 2)
    assert running.va.kind == "published"


@pytest.mark.parametrize(("horsepower", "va"), [(0.08, 506 * 0.48), (20, 23_000)])
def test_beyond_the_table_its_end_is_taken_in_proportion_and_that_is_said(horsepower: float, va: float) -> None:
    """A motor smaller or larger than any row is an own estimate, less sure, and says where the table ends."""
    running = running_of_shaft(horsepower * HORSEPOWER_W)

    assert running.va.value == pytest.approx(va)
    assert running.va.kind == "own"
    assert running.va.source.startswith(OWN_ESTIMATE)
    assert "the table ends at 1/6 and at 10 hp" in running.va.how
    assert running.va.spread > running_of_shaft(HORSEPOWER_W).va.spread


def test_horsepower_and_kilowatts_are_the_same_thing() -> None:
    """0.75 kW at the shaft is 1 hp within the rounding of a plate."""
    assert running_of_shaft(750).va.value == pytest.approx(running_of_shaft(HORSEPOWER_W).va.value, rel=0.01)


def test_watts_follow_from_the_table_by_a_usual_power_factor() -> None:
    """A pump of half a horsepower draws 1127 VA, 879 W at a power factor of 0.78, and says so."""
    running = running_of_shaft(HORSEPOWER_W / 2, "pump")

    assert (running.va.value, running.watts.value) == (pytest.approx(1127), pytest.approx(879, abs=0.5))
    assert running.power_factor == 0.78
    assert running.watts.how.endswith("At a power factor of 0.78, usual for such a motor, that is 879 W.")


@pytest.mark.parametrize("machine", MACHINES)
def test_without_a_label_a_start_is_a_wide_range_by_the_kind_of_machine(machine: Machine) -> None:
    """The range is at least half its middle either way, never below the running draw, and has no source."""
    start = start_without_label(1000, machine)

    low, high = start.va.between
    assert start.va.spread >= 0.5
    assert low >= 1000 * 0.99
    assert 2 <= high / 1000 <= 8
    assert (start.va.kind, start.va.source) == ("common practice", COMMON_PRACTICE)
    assert f"{start.va.value:.0f} VA" in start.va.how


def test_a_known_size_names_the_ceiling_of_its_start() -> None:
    """Half a horsepower without a label says that 6762 VA would be reckoned with; a size off the table says nothing."""
    assert "6762 VA" in start_without_label(1127, "pump", HORSEPOWER_W / 2).va.how
    assert start_ceiling(HORSEPOWER_W / 4) is None
    assert "switch" not in start_without_label(667, "pump", HORSEPOWER_W / 4).va.how


def test_a_soft_start_is_gentler_and_longer() -> None:
    """It is the smallest of all starts, and lasts seconds."""
    soft = start_held_down(1000)

    assert soft.va.value < min(start_without_label(1000, machine).va.value for machine in MACHINES)
    assert soft.duration_s > max(start_without_label(1000, machine).duration_s for machine in MACHINES)


def test_the_ends_of_the_letters_are_said() -> None:
    """A has nothing below and V nothing above; both say how they were taken."""
    assert start_of_code_letter("a", HORSEPOWER_W).va.how.startswith("Code letter A is less than 3.15 kVA")
    assert "at least 22.4 kVA" in start_of_code_letter(" v ", HORSEPOWER_W).va.how


@pytest.mark.parametrize("letter", ["I", "O", "Q", "W", "", "KK", "8"])
def test_what_is_no_code_letter_is_refused_in_words(letter: str) -> None:
    """The fault stands at the code letter and names those there are."""
    with pytest.raises(HouseholdFaults) as refused:
        start_of_code_letter(letter, HORSEPOWER_W)

    (fault,) = refused.value.faults
    assert fault.path == "code_letter"
    assert "ABCDEFGHJKLMNPRSTUV" in fault.why


def test_a_label_is_surer_than_a_guess() -> None:
    """Locked-rotor amperes and a code letter are both surer than the kind of machine."""
    guess = start_without_label(1840, "belt").va.spread

    assert start_of_locked_rotor(48, 230).va.spread < guess
    assert start_of_code_letter("K", HORSEPOWER_W).va.spread < guess
