"""From a motor's label to its draw and its start, as the editors work it out.

NFPA 70 (NEC): Table 430.248 full-load current (1999 edition's 430-148, the same in later reprints), Table
430.251(A) locked-rotor current (2008 edition), Table 430.7(B) locked-rotor code letters in kVA per hp; three reprints
of the last, of which one prints B to 3.55 and one H as J: the bands here leave no gap and overlap nowhere.
"""

import pytest

from app.household.motors import (
    HORSEPOWER_W,
    LETTERS,
    code_letter_band,
    running_of_shaft,
    start_ceiling,
    start_of_code_letter,
    start_of_locked_rotor,
)
from tests.published.plain import printed

# hp: amperes at 115 and 230 V (430.248)
FULL_LOAD_A = {
    "1/6": ("4.4", "2.2"),
    "1/4": ("5.8", "2.9"),
    "1/3": ("7.2", "3.6"),
    "1/2": ("9.8", "4.9"),
    "3/4": ("13.8", "6.9"),
    "1": ("16", "8.0"),
    "1 1/2": ("20", "10"),
    "2": ("24", "12"),
    "3": ("34", "17"),
    "5": ("56", "28"),
    "7 1/2": ("80", "40"),
    "10": ("100", "50"),
}
# hp: amperes at 115 and 230 V (430.251(A))
LOCKED_A = {
    "1/2": ("58.8", "29.4"),
    "1": ("96", "48"),
    "1 1/2": ("120", "60"),
    "2": ("144", "72"),
    "3": ("204", "102"),
    "5": ("336", "168"),
    "7 1/2": ("480", "240"),
    "10": ("600", "300"),
}
# First and last kVA a horsepower of each letter, as printed (430.7(B)); the last ends where the next begins.
BANDS = {
    "A": (0, 3.14), "B": (3.15, 3.54), "C": (3.55, 3.99), "D": (4.0, 4.49), "E": (4.5, 4.99), "F": (5.0, 5.59),
    "G": (5.6, 6.29), "H": (6.3, 7.09), "J": (7.1, 7.99), "K": (8.0, 8.99), "L": (9.0, 9.99), "M": (10.0, 11.19),
    "N": (11.2, 12.49), "P": (12.5, 13.99), "R": (14.0, 15.99), "S": (16.0, 17.99), "T": (18.0, 19.99),
    "U": (20.0, 22.39),
}  # fmt: skip


def shaft_w(horsepower: str) -> float:
    """Watts at the shaft of `1 1/2` horsepower."""
    parts = [one.partition("/") for one in horsepower.split()]
    return sum(float(top) / float(bottom or 1) for top, _, bottom in parts) * HORSEPOWER_W


@pytest.mark.parametrize("horsepower", FULL_LOAD_A)
def test_horsepower_gives_the_full_load_amperes_of_the_table(horsepower: str) -> None:
    """430.248: the volt-amperes of every row are its amperes at 115 and at 230 V."""
    at_115, at_230 = FULL_LOAD_A[horsepower]
    running = running_of_shaft(shaft_w(horsepower))

    assert running.va.value / 115 == printed(at_115)
    assert running.va.value / 230 == printed(at_230)
    assert running.va.kind == "published"
    assert "430.248" in running.va.source


@pytest.mark.parametrize("horsepower", LOCKED_A)
def test_the_ceiling_of_a_start_is_the_locked_rotor_table(horsepower: str) -> None:
    """430.251(A): the most a start is reckoned with, and six times the full load of 430.248."""
    ceiling = start_ceiling(shaft_w(horsepower))

    assert ceiling is not None
    at_115, at_230 = LOCKED_A[horsepower]
    assert ceiling.value / 115 == printed(at_115)
    assert ceiling.value / 230 == printed(at_230)
    assert ceiling.value / running_of_shaft(shaft_w(horsepower)).va.value == printed("6.000")


@pytest.mark.parametrize("letter", BANDS)
def test_code_letters_have_the_bands_of_the_table(letter: str) -> None:
    """430.7(B): every figure printed for a letter lies in its band, and the next hundredth begins the next letter."""
    first, last = BANDS[letter]
    low, high = code_letter_band(letter)

    assert low == first
    assert high == pytest.approx(last + 0.01)


def test_the_last_letter_has_no_upper_end_and_three_letters_are_not_used() -> None:
    """430.7(B): V is 22.4 and up; I, O and Q are none."""
    assert code_letter_band("V") == (22.4, None)
    assert {*"ABCDEFGHIJKLMNOPQRSTUV"} - {*LETTERS} == {"I", "O", "Q"}


@pytest.mark.parametrize(
    ("horsepower", "letter", "volts", "from_a", "to_a"),
    [
        ("1", "K", 230, "34.78", "39.13"),
        ("1/2", "L", 230, "19.57", "21.74"),
        ("1/2", "L", 115, "39.13", "43.48"),
        ("2", "J", 230, "61.74", "69.57"),
    ],
)
def test_a_code_letter_and_horsepower_bound_the_starting_amperes(
    horsepower: str, letter: str, volts: float, from_a: str, to_a: str
) -> None:
    """430.7(B): the start with its spread reaches from one end of the letter's band to the other."""
    low_va, high_va = start_of_code_letter(letter, shaft_w(horsepower)).va.between

    assert low_va / volts == printed(from_a)
    assert high_va / volts == printed(to_a)


@pytest.mark.parametrize(
    ("locked_a", "volts", "kva"),
    [("29.4", 230, "6.762"), ("48", 230, "11.04"), ("60", 230, "13.80"), ("102", 230, "23.46"), ("96", 115, "11.04")],
)
def test_locked_rotor_amperes_times_volts_are_the_start(locked_a: str, volts: float, kva: str) -> None:
    """430.251(A) in kVA: amperes times volts, at 230 and at 115 V alike."""
    assert start_of_locked_rotor(float(locked_a), volts).va.value / 1000 == printed(kva)
