"""What is installed from a wheel is whole: it serves a page with its templates, static files and migrations."""

import subprocess
import sys
import zipfile
from pathlib import Path

ROOT = Path(__file__).parents[2]

SERVE = """
import sys
from starlette.testclient import TestClient
from app import shipped
from app.main import create_app, first_run
from app.settings import Settings
from app.store.session import Database

assert "_shipped" in str(shipped.templates()), shipped.templates()
database = Database("sqlite:///" + sys.argv[1])
database.migrate()
token = first_run(database)
with TestClient(create_app(database, Settings(database="")), base_url="http://127.0.0.1") as client:
    client.get(f"/link/{token}")
    page = client.get("/")
assert page.status_code == 200, page.status_code
assert "Saltmarsh Ferry House" in page.text
database.close()
print("served")
"""


def test_a_wheel_serves_a_page(tmp_path: Path) -> None:
    """Built, unpacked elsewhere and run from there, the product serves its demo household."""
    wheels, installed = tmp_path / "wheels", tmp_path / "installed"
    pip = [sys.executable, "-m", "pip", "--disable-pip-version-check", "-q"]
    build = [*pip, "wheel", "--no-deps", "--no-build-isolation", "-w", str(wheels), str(ROOT)]
    subprocess.run(build, check=True, capture_output=True, text=True)
    (wheel,) = wheels.glob("loadstead-*.whl")
    zipfile.ZipFile(wheel).extractall(installed)  # as an installer does with what a wheel has for its libraries

    done = subprocess.run(
        # pvlib asks pandas in a way that a later pandas will not know.
        [
            sys.executable,
            "-W",
            "error",
            "-W",
            "ignore:DatetimeIndex.dayofyear:DeprecationWarning",
            "-c",
            SERVE,
            str(tmp_path / "wheel.sqlite3"),
        ],
        cwd=tmp_path,
        env={"PYTHONPATH": str(installed)},
        capture_output=True,
        text=True,
    )

    assert done.stdout.strip().endswith("served"), done.stderr
