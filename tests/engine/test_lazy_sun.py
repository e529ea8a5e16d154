"""What works out the sun takes a second to load: it is loaded when a sun is first needed, and by nothing else."""

import subprocess
import sys
import textwrap
from pathlib import Path

import pytest

HEAVY = ("pvlib", "pandas", "scipy")
LARGEST_MB = 400

ASSESSED = """
from app.engine.assess import assess
from app.household.file import household_from
from tests.engine.home import house, load
found = assess(household_from(house(load("oven", 2000), runs={"oven": "10:00"}, supply={"arrays": ARRAYS})))
assert found.battery is not None
"""

SERVED = """
import json, pathlib, sys
from fastapi.testclient import TestClient
from app.household.demo import demo_text
from app.main import create_app
from app.settings import Settings
from app.store.households import import_household, load
from app.store.links import make_link
from app.store.session import Database
from app.web.access import COOKIE
from tests.databases import sqlite_url

database = Database(sqlite_url(pathlib.Path(sys.argv[1])))
database.migrate()
with database.session() as session:
    key = import_household(session, json.loads(demo_text()), None)
    token = make_link(session, "owner", "owner")
    session.commit()
    stored = load(session, key)
plan, run = stored.scenarios[0], next(run for (_, name), run in stored.run_keys.items() if name == "bread")
origin = "http://localhost"
client = TestClient(create_app(database, Settings(database="")), base_url=origin, headers={"Origin": origin})
client.cookies.set(COOKIE, token)
form = {
    "field": "on", "value": "off", "revision": stored.revision, "tab": "t1", "sequence": 1, "open": "",
}
answer = client.post(f"/h/{key}/{plan.key}/runs/{run.key}", data=form, headers={"HX-Request": "true"})
assert answer.status_code == 200, answer.text
"""

WITH_THE_SUN = """
page = f"/h/{key}/{plan.key}"
for _ in range(3):
    assert client.get(page).status_code == 200
from app.engine.assess import assess
for one in stored.household.scenarios:
    assert assess(stored.household, one.id).battery.totals.sun_used_wh > 0
assert client.get(page).status_code == 200
"""

LOADED = f"""
import sys
print([name for name in {HEAVY} if name in sys.modules])
"""


def printed(source: str, *arguments: str) -> str:
    """What a program of its own prints."""
    done = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(source), *arguments],
        capture_output=True, text=True, cwd=Path(__file__).parents[2], timeout=120, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


@pytest.mark.parametrize("module", ["app.main", "app.cli", "app.web", "app.engine.assess"])
def test_importing_the_program_loads_none_of_it(module: str) -> None:
    """A start takes no longer for the sun."""
    assert printed(f"import {module}{LOADED}") == "[]"


def test_a_household_without_panels_never_loads_it() -> None:
    """There is no sun to work out; with panels there is."""
    assert printed(ASSESSED.replace("ARRAYS", "[]") + LOADED) == "[]"
    with_panels = ASSESSED.replace("ARRAYS", '[{"peak_w": 1000, "tilt_deg": 35, "azimuth_deg": 180}]')
    assert "pvlib" in printed(with_panels + LOADED)


def test_a_tap_right_after_the_start_does_not_wait_for_it(tmp_path: Path) -> None:
    """The first thing a new server does is switch a run off: the answer does not load it."""
    assert printed(SERVED + LOADED, str(tmp_path)) == "[]"


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="memory is read from /proc")
def test_a_server_with_the_sun_stays_small(tmp_path: Path) -> None:
    """Resident memory with the demo household and every plan's sun."""
    status = 'print(next(one.split()[1] for one in open("/proc/self/status") if one.startswith("VmRSS")))'
    assert int(printed(SERVED + WITH_THE_SUN + status, str(tmp_path))) / 1000 < LARGEST_MB
