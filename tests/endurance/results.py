"""What was measured, and of which code: the results say which files they are of, so that old ones are noticed."""

import datetime
import hashlib
import json
import os
import platform
import subprocess
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
RESULTS = Path(__file__).with_name("results.json")

COVERS = {
    "kills": ("app/store/session.py", "app/store/commands/door.py", "app/store/history.py", "app/store/past.py"),
    "pages": ("app/web/watching.py", "app/web/pages/live.py", "app/store/pulse.py"),
}


def fingerprint(name: str) -> str:
    """A word for the code that a run is about."""
    text = b"".join((ROOT / file).read_bytes() for file in COVERS[name])
    return hashlib.sha256(text).hexdigest()[:16]


def kept() -> dict[str, Any]:
    """The results that are committed."""
    found: dict[str, Any] = json.loads(RESULTS.read_text(encoding="utf-8")) if RESULTS.exists() else {}
    return found


def keep(name: str, figures: dict[str, Any]) -> None:
    """Write down one run, beside the others."""
    commit = subprocess.run(["git", "rev-parse", "--short", "HEAD"], capture_output=True, text=True, check=False)
    about = {
        "date": datetime.date.today().isoformat(),
        "commit": commit.stdout.strip(),
        "machine": f"{platform.system()} {platform.machine()}, {os.cpu_count()} cores",
        "of": fingerprint(name),
    }
    RESULTS.write_text(json.dumps(kept() | {name: about | figures}, indent=2) + "\n", encoding="utf-8")
