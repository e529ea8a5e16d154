"""Measure, and write what the README quotes: `python -m tests.benchmarks`."""

import datetime
import json
import platform
import subprocess
from pathlib import Path

import numpy

from tests.benchmarks.engine import assess_ratio, demo_figures, profile_ratios
from tests.benchmarks.toggle import toggle_figures

RESULTS = Path(__file__).with_name("results.json")


def measure() -> dict[str, object]:
    """All figures of one run."""
    commit = subprocess.run(["git", "rev-parse", "--short", "HEAD"], capture_output=True, text=True, check=False)
    return {
        "date": datetime.date.today().isoformat(),
        "commit": commit.stdout.strip(),
        "machine": f"{platform.system()} {platform.machine()}, {_cores()} cores, numpy {numpy.__version__}",
        "profile_40": profile_ratios(40, 100),
        "profile_200": profile_ratios(200, 40),
        "assess_40": assess_ratio(40, 15),
        "demo_assess_ms": demo_figures(15),
        "toggle_40": toggle_figures(40, 200),
    }


def _cores() -> int:
    import os

    return os.cpu_count() or 1


if __name__ == "__main__":
    figures = measure()
    RESULTS.write_text(json.dumps(figures, indent=2) + "\n")
    print(json.dumps(figures, indent=2))
