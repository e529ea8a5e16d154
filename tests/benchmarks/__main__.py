"""Measure, and write what the README quotes: `python -m tests.benchmarks`."""

import datetime
import json
import os
import platform
import subprocess
from pathlib import Path
from typing import Any

import numpy

from app.web.serving import settle
from tests.benchmarks.engine import assess_ratio, demo_figures, profile_ratios, sun_ratios
from tests.benchmarks.odds import odds_ratios
from tests.benchmarks.page import page_figures
from tests.benchmarks.tap import tap_figures
from tests.benchmarks.toggle import toggle_figures

RESULTS = Path(__file__).with_name("results.json")
README = Path(__file__).parents[2] / "README.md"
BEGIN, END = "<!-- benchmarks -->", "<!-- /benchmarks -->"


def measure() -> dict[str, Any]:
    """All figures of one run, in a process that is set as the one that serves."""
    settle()
    commit = subprocess.run(["git", "rev-parse", "--short", "HEAD"], capture_output=True, text=True, check=False)
    return {
        "date": datetime.date.today().isoformat(),
        "commit": commit.stdout.strip(),
        "machine": f"{platform.system()} {platform.machine()}, {os.cpu_count()} cores, numpy {numpy.__version__}",
        "profile_40": profile_ratios(40, 100),
        "profile_200": profile_ratios(200, 40),
        "assess_40": assess_ratio(40, 15),
        "demo_assess_ms": demo_figures(15),
        "sun_over_none": sun_ratios(40, 25),
        "odds_12": odds_ratios(),
        "toggle_40": toggle_figures(40, 200),
        "tap_30": tap_figures(),
        "page_40": page_figures(40, 5),
    }


def table(figures: dict[str, Any]) -> str:
    """The README's table of the figures."""
    few, many, whole, tap = (figures[name] for name in ("profile_40", "profile_200", "assess_40", "toggle_40"))
    demo = ", ".join(f"{name} {ms:.1f} ms" for name, ms in figures["demo_assess_ms"].items())
    rows = [
        ("profile of a day against one cell per second, times faster", _pair(few, many, "dense_over_profile")),
        ("the same with the running peak, times faster", _pair(few, many, "dense_over_profile_with_peak")),
        ("profile against sorting and summing its steps alone", _pair(few, many, "profile_over_sort_and_sum", 1)),
        (
            "all of `assess` against the dense stack per load over the same horizon",
            f"{whole['assess_over_dense_per_load']:.2f} ({whole['assess_ms']:.1f} ms), 40 runs",
        ),
        ("`assess` of the demo's plans", demo),
        *_sun_rows(figures.get("sun_over_none")),
        *_odds_rows(figures.get("odds_12")),
        (
            "server time of a toggle (write, assess, render), 40 runs",
            f"median {tap['median_ms']:.1f} ms, 95th percentile {tap['p95_ms']:.1f} ms",
        ),
        *_tap_rows(figures.get("tap_30")),
        *_page_rows(figures["page_40"]),
    ]
    lines = ["| what | measured |", "|---|---|", *(f"| {what} | {value} |" for what, value in rows)]
    where = f"{figures['date']}, commit {figures['commit']}, {figures['machine']}"
    return "\n".join([*lines, "", f"Of one run: {where}."])


def _sun_rows(ratios: dict[str, float] | None) -> list[tuple[str, str]]:
    """What following sun and bank adds, where it was measured."""
    if ratios is None:
        return []
    found = ", ".join(f"{name} {ratio:.2f}" for name, ratio in ratios.items())
    return [("`assess` with the day's sun at hand against the same without sun and bank, at most 2", found)]


def _odds_rows(odds: dict[str, float] | None) -> list[tuple[str, str]]:
    """What the odds take, where it was measured."""
    if odds is None:
        return []

    def against(of: str) -> str:
        most, exact = (odds[f"{of}{name}_standard_errors_apart"] for name in ("most", "exact"))
        return (
            f"{odds[f'{of}odds_ms']:.0f} ms, {odds[f'{of}simulated_over_odds']:.0f} times faster, times and starts at"
            f" most {exact:.1f} of the simulation's standard errors apart, what follows passings drawn at random"
            f" {most:.1f}"
        )

    return [
        (
            "all odds of 12 loads that come and go over 150 stretches, against 20,000 simulated days, where limits are"
            " broken less than once a day",
            against("larger_"),
        ),
        ("the same where they are broken several times a day, and no odds are told", against("")),
        ("all odds of 60 loads", f"{odds['many_ms']:.0f} ms"),
    ]


def _tap_rows(tap: dict[str, float] | None) -> list[tuple[str, str]]:
    """What a tap on "Switch on" takes, where it was measured."""
    if tap is None:
        return []
    return [
        (
            'server time of a tap on "Switch on" (write, assess, ask for all that is off, render), 30 appliances',
            f"median {tap['median_ms']:.1f} ms, 95th percentile {tap['p95_ms']:.1f} ms",
        )
    ]


def _page_rows(page: dict[str, float] | None) -> list[tuple[str, str]]:
    """What was measured in a browser, if there was one."""
    if page is None:
        return []
    return [
        (
            "first view on a phone, processor slowed four times, slow network, 40 runs",
            f"largest paint {page['largest_paint_ms']:.0f} ms, blocked {page['blocked_ms']:.0f} ms"
            f" after the first paint ({page['blocked_ever_ms']:.0f} ms from the navigation on),"
            f" {page['page_bytes'] / 1000:.0f} kB of HTML",
        ),
        (
            "a tap until its run is repainted, the same phone",
            f"median {page['tap_shown_ms']:.0f} ms, worst {page['tap_shown_worst_ms']:.0f} ms",
        ),
        (
            "a tap until everything in sight that it changes is repainted, the same phone",
            f"median {page['tap_ms']:.0f} ms, worst {page['tap_worst_ms']:.0f} ms",
        ),
    ]


def _pair(few: dict[str, float], many: dict[str, float], name: str, decimals: int = 0) -> str:
    return f"{few[name]:.{decimals}f} at 40 runs, {many[name]:.{decimals}f} at 200"


def quoted(readme: str) -> str:
    """What stands between the README's marks."""
    return readme.partition(BEGIN)[2].partition(END)[0].strip()


if __name__ == "__main__":
    found = measure()
    RESULTS.write_text(json.dumps(found, indent=2) + "\n", encoding="utf-8")
    text = README.read_text(encoding="utf-8")
    before, _, rest = text.partition(BEGIN)
    README.write_text(f"{before}{BEGIN}\n{table(found)}\n{END}{rest.partition(END)[2]}", encoding="utf-8")
    print(table(found))
