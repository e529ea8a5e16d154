"""The command line, as its user runs it."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from app.cli import main
from app.household.demo import demo_text
from app.household.file import read_document
from tests.household.sample import sample


@pytest.fixture
def elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A database of its own for the test."""
    monkeypatch.setenv("LOADSTEAD_DATABASE", f"sqlite:///{tmp_path / 'cli.sqlite3'}")
    return tmp_path


def test_assess_prints_the_report_of_the_first_plan(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """JSON on standard output, exit status 0 whatever the verdict."""
    file = tmp_path / "home.json"
    file.write_text(json.dumps(sample()))

    assert main(["assess", str(file)]) == 0
    report = json.loads(capsys.readouterr().out)
    assert set(report) == {
        "verdict", "sentence", "limits", "surges", "demand", "any_time", "trust", "cautions", "odds", "battery"
    }  # fmt: skip
    assert report["odds"] is None


def test_assess_reads_standard_input_and_names_its_plan() -> None:
    """`-` is standard input; the plan is chosen by id."""
    command = [str(Path(sys.executable).with_name("loadstead")), "assess", "-", "--scenario", "what-if"]

    done = subprocess.run(command, input=json.dumps(sample()), capture_output=True, text=True, check=True)

    assert json.loads(done.stdout)["demand"]["peak_at"].startswith("2026-05-13T")


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("{", "not JSON: line 1, column 2: expecting property name enclosed in double quotes"),
        (json.dumps({**sample(), "version": 7}), "version: this program reads version 1"),
        (json.dumps({**sample(), "colour": "red"}), "colour: is not a field of the household file"),
    ],
)
def test_bad_input_is_one_line_per_fault_and_exit_status_2(
    text: str, line: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing on standard output, the faults on standard error."""
    file = tmp_path / "bad.json"
    file.write_text(text)

    assert main(["assess", str(file)]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith(line)
    assert len(said.err.splitlines()) == 1


def test_an_unknown_plan_or_file_is_bad_input(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Both are said in one line."""
    file = tmp_path / "home.json"
    file.write_text(json.dumps(sample()))

    assert main(["assess", str(file), "--scenario", "never"]) == 2
    assert "there is no plan 'never'; there are: day, what-if" in capsys.readouterr().err
    assert main(["assess", str(tmp_path / "none.json")]) == 2


def test_what_is_imported_is_exported_unchanged(elsewhere: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Through the database and back, to the byte."""
    file = elsewhere / "demo.json"
    file.write_text(demo_text())

    assert main(["import", str(file)]) == 0
    key = capsys.readouterr().out.strip()
    assert main(["export", key]) == 0
    assert json.dumps(json.loads(capsys.readouterr().out)) == json.dumps(read_document(demo_text()))
