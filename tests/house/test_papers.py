"""The README and the developers' guide say what is so."""

import json
import re
from pathlib import Path

from tests.benchmarks.__main__ import RESULTS, quoted, table

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_the_readme_quotes_the_measured_figures() -> None:
    """Its table is made from the committed results."""
    assert quoted(README) == table(json.loads(RESULTS.read_text(encoding="utf-8")))


def test_the_readme_has_exactly_two_commands_for_set_up() -> None:
    """One runs the app, one the tests."""
    commands = re.findall(r"^python3 -m venv .*$", README, re.MULTILINE)

    assert len(commands) == 2
    assert commands[0].endswith(".venv/bin/loadstead")
    assert commands[1].endswith(".venv/bin/python -m pytest")


def test_every_setting_is_in_the_readme() -> None:
    """What is read from the environment is documented."""
    read = set(re.findall(r"LOADSTEAD_\w+", (ROOT / "app" / "settings.py").read_text(encoding="utf-8")))

    assert read <= set(re.findall(r"LOADSTEAD_\w+", README))


def test_every_room_and_every_engine_module_named_in_the_guide_exists() -> None:
    """The ten lines and the rooms name real places."""
    for room in re.findall(r"^\| `(\w+)` \|", DEVELOPERS, re.MULTILINE):
        assert (ROOT / "app" / room).exists() or (ROOT / "app" / f"{room}.py").exists(), room
    for module in re.findall(r"`engine\.(\w+)`", DEVELOPERS):
        assert (ROOT / "app" / "engine" / f"{module}.py").exists(), module


def test_pictures_of_the_readme_exist() -> None:
    """No broken picture on the front page."""
    for picture in re.findall(r"!\[[^\]]*\]\(([^)]+)\)", README):
        assert (ROOT / picture).exists(), picture
