"""What works out the sun takes a second to load: it is loaded when a sun is first needed, and by nothing else."""

import subprocess
import sys
import textwrap
from pathlib import Path

HEAVY = ("pvlib", "pandas")
LARGEST_MB = 450

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


def test_importing_the_program_loads_none_of_it() -> None:
    """A start takes no longer for the sun, whichever door it goes in by."""
    assert printed(f"import app.main, app.cli, app.web, app.engine.assess{LOADED}") == "[]"


def test_a_household_without_panels_never_loads_it() -> None:
    """There is no sun to work out; with panels there is."""
    without, panels = ASSESSED.replace("ARRAYS", "[]"), '[{"peak_w": 1000, "tilt_deg": 35, "azimuth_deg": 180}]'
    before, after = printed(without + LOADED + ASSESSED.replace("ARRAYS", panels) + LOADED).splitlines()
    assert before == "[]"
    assert "pvlib" in after


def test_a_tap_right_after_the_start_does_not_wait_and_the_sun_stays_small(tmp_path: Path) -> None:
    """The first thing a new server does is switch a run off: the answer does not load it.

    Then it works out every plan's sun of the demo household: its resident memory, where that is to be read.
    """
    status = (
        'import pathlib\nfile = pathlib.Path("/proc/self/status")\n'
        'lines = file.read_text().splitlines() if file.exists() else ["VmRSS: 0 kB"]\n'
        'print(next(one.split()[1] for one in lines if one.startswith("VmRSS")))\n'
    )
    loaded, kilobytes = printed(SERVED + LOADED + WITH_THE_SUN + status, str(tmp_path)).splitlines()
    assert loaded == "[]"
    assert int(kilobytes) / 1000 < LARGEST_MB
