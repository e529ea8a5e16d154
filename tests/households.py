"""The one way tests go through the product: a household document in, the report of `loadstead assess` out."""

from typing import Any

from app.engine.assess import assess
from app.household.file import household_from
from app.web.report import report


def assessed(document: dict[str, Any], scenario: str | None = None) -> dict[str, Any]:
    """What `loadstead assess` prints for a household document."""
    household = household_from(document)
    return report(household, scenario, assess(household, scenario))
