"""How the stories read a report: one limit, figures as printed, times on the clock."""

from datetime import datetime
from typing import Any

import pytest

Report = dict[str, Any]


def limit(report: Report, limit_id: str) -> dict[str, Any]:
    """The reading of one limit."""
    readings = [reading for reading in report["limits"] if reading["id"] == limit_id]
    assert len(readings) == 1, f"{limit_id} is not among {[one['id'] for one in report['limits']]}"
    return dict(readings[0])


def left_percent(reading: dict[str, Any]) -> float:
    """What is left of a ceiling, in per cent of it."""
    return float(100 * reading["margin"] / reading["limit"])


def printed(figure: str) -> Any:
    """Equal as far as it is printed: within half of the last digit."""
    digits = figure.replace(" ", "")
    decimals = len(digits.partition(".")[2])
    return pytest.approx(float(digits), rel=0, abs=0.5 * 10**-decimals + 1e-9)


def clock(instant: str) -> str:
    """HH:MM:SS of an instant in a report."""
    return datetime.fromisoformat(instant).strftime("%H:%M:%S")
