"""Text in, household out, and back."""

import json

import pytest

from app.household.errors import HouseholdFaults
from app.household.file import document_of, household_from, read_household, text_of
from tests.household.sample import sample


def test_a_household_goes_out_as_it_came_in() -> None:
    """Import and export round-trip: whole numbers stay whole, what was left out stays out."""
    document = sample()

    again = document_of(household_from(document))

    assert json.dumps(again, sort_keys=True) == json.dumps(document, sort_keys=True)
    assert document_of(read_household(text_of(again))) == document


def test_null_and_absent_mean_the_same() -> None:
    """A field set to null takes its default."""
    document = sample()
    document["supply"]["inverter"]["no_load_w"] = None
    document["supply"]["arrays"] = None

    household = household_from(document)

    assert household.supply.inverter.no_load_w == 0
    assert household.supply.arrays == ()


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (b"", "not JSON: line 1, column 1: expecting value"),
        (b"{'a': 1}", "not JSON: line 1, column 2: expecting property name enclosed in double quotes"),
        (b"\xff\xfe", "byte 0 is not UTF-8; save the file as UTF-8 text"),
        (b"[" * 100_000, "nested too deeply to be a household file"),
        (b"[" * 60 + b"]" * 60, "nested too deeply to be a household file"),
        (b" " * 50_000_000, "this file has 50.0 MB; a household file has at most 5 MB"),
        (b"[]", "a household file is one object with named fields, in braces"),
        (b'{"format": 1, "format": 2}', "format: is given twice in one object; give it once"),
        (b'{"version": NaN}', "NaN is not a number; give an ordinary number"),
        (b"{}", "format: is missing; it is required"),
        (b'{"version": ' + b"9" * 5000 + b"}", "it holds a number with more digits than a household file can mean"),
    ],
    ids=lambda value: None if isinstance(value, str) else repr(value[:20]),
)
def test_what_is_no_household_file_is_refused_in_one_line(text: bytes, line: str) -> None:
    """Not JSON, too large, too deep, doubled or endless."""
    with pytest.raises(HouseholdFaults) as refused:
        read_household(text)

    assert [str(fault) for fault in refused.value.faults] == [line]
