"""Household documents for tests, and the ways through the product: a document in, the report of `assess` out."""

import json
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

from app.engine.assess import assess, assess_day
from app.engine.day import lay_day
from app.engine.results import Assessment
from app.household.demo import demo_text
from app.household.file import household_from
from app.household.resolve import resolve
from app.web.report import report

NO_ODDS = SimpleNamespace(above=(), overloading_starts_per_day=0.0, lasting=(), once_in_days=None)


def assessed(document: dict[str, Any], scenario: str | None = None) -> dict[str, Any]:
    """What `loadstead assess` prints for a household document."""
    household = household_from(document)
    return report(household, scenario, assess(household, scenario))


def loads_assessed(document: dict[str, Any], scenario: str | None = None) -> Assessment:
    """What the loads alone come to, in the worst case: no sun, no any-time loads, odds where they are asked for."""
    return assess_day(lay_day(resolve(household_from(document), scenario)), None, closely=False)


def loads_report(document: dict[str, Any], scenario: str | None = None) -> dict[str, Any]:
    """The report of that, without the table of odds: a quarter of the work of the whole."""
    found = replace(loads_assessed(document, scenario), odds=NO_ODDS)
    return report(household_from(document), scenario, found)


def report_without_odds(document: dict[str, Any], scenario: str | None = None) -> dict[str, Any]:
    """What `assessed` has but for the table of odds: half the work where nobody looks at that."""
    household = household_from(document)
    return report(household, scenario, replace(assess(household, scenario), odds=NO_ODDS))


def with_plans(*plans: str) -> dict[str, Any]:
    """The demo household with some of its plans only: what changes library or supply works out all there are."""
    found: dict[str, Any] = json.loads(demo_text())
    return found | {"scenarios": [one for one in found["scenarios"] if one["id"] in plans]}
