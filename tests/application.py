"""The application for tests: each has its own, over what is worked out once for all of them."""

from collections import OrderedDict
from pathlib import Path
from threading import Lock

import pytest
from fastapi import FastAPI

from app.engine.assess import assess_day
from app.engine.day import PlannedDay
from app.engine.results import Assessment
from app.engine.sun import Suns
from app.household.household import Household
from app.main import create_app
from app.planner.ways import Way, ways_out
from app.settings import Settings
from app.store.session import Database
from app.web.assets import Assets
from app.web.templating import AddressBook, Pages

_PAGES: dict[Path, Pages] = {}


def _pages_once(folder: Path, assets: Assets, addresses: AddressBook) -> Pages:
    """The templates as `Pages` has them; addresses and assets are the same in every application."""
    if folder not in _PAGES:
        _PAGES[folder] = Pages(folder, assets, addresses)
    return _PAGES[folder]


def application(database: Database, settings: Settings) -> FastAPI:
    """As `create_app`, but templates are read once in a process, which is most of what making one takes."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("app.main.Pages", _pages_once)
        return create_app(database, settings)


_WAYS: dict[tuple[str, str, str], tuple[Way, ...]] = {}
_SEARCH = Lock()  # two pages that ask for the same at once are answered by one search


def ways_out_once(household: Household, scenario_id: str, assessment: Assessment) -> tuple[Way, ...]:
    """As `ways_out`, searched once in a process for what is alike: a second's work for each page of a red plan."""
    alike = (household.model_dump_json(), scenario_id, repr((assessment.verdict, assessment.limits)))
    with _SEARCH:
        if alike not in _WAYS:
            _WAYS[alike] = ways_out(household, scenario_id, assessment)
        return _WAYS[alike]


_ASSESSED: OrderedDict[tuple[str, str, bool], Assessment] = OrderedDict()
KEPT = 32


def assess_day_once(day: PlannedDay, suns: Suns | None) -> Assessment:
    """As `assess_day`, which is pure: worked out once in a process for what is alike, as most tests' first page is."""
    resolved = day.resolved
    alike = (resolved.household.model_dump_json(), repr(resolved.day), suns is None)
    found = _ASSESSED.pop(alike, None) or assess_day(day, suns)
    _ASSESSED[alike] = found
    while len(_ASSESSED) > KEPT:
        _ASSESSED.popitem(last=False)
    return found
