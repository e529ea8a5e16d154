"""Household documents for tests, and the one way through the product: a document in, the report of `assess` out."""

import json
from typing import Any

from app.engine.assess import assess
from app.household.demo import demo_text
from app.household.file import household_from
from app.web.report import report


def assessed(document: dict[str, Any], scenario: str | None = None) -> dict[str, Any]:
    """What `loadstead assess` prints for a household document."""
    household = household_from(document)
    return report(household, scenario, assess(household, scenario))


def with_plans(*plans: str) -> dict[str, Any]:
    """The demo household with some of its plans only: what changes library or supply works out all there are."""
    found: dict[str, Any] = json.loads(demo_text())
    return found | {"scenarios": [one for one in found["scenarios"] if one["id"] in plans]}
