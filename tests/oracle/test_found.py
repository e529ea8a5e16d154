"""Households that the search once found, kept: the product and the oracle must go on agreeing about them."""

import json
from pathlib import Path

import pytest

from tests.households import assessed
from tests.oracle.compare import differences

FOUND = sorted((Path(__file__).parent / "found").glob("*.json"))


@pytest.mark.parametrize("path", FOUND, ids=lambda path: path.stem)
def test_what_was_found_once_stays_right(path: Path) -> None:
    """The report of a household that told the two apart is the oracle's."""
    household = json.loads(path.read_text(encoding="utf-8"))

    assert differences(household, assessed(household)) == []
