"""The command line: the same figures, exit statuses, and the first start."""

import io
import json
import subprocess
import sys
from pathlib import Path

import pytest

from app.cli import main
from app.household.demo import demo_text
from app.settings import default_file, read_settings
from app.web.serving import announcement, listen, qr_code


@pytest.fixture
def demo(tmp_path: Path) -> Path:
    file = tmp_path / "home.json"
    file.write_text(demo_text(), encoding="utf-8")
    return file


@pytest.fixture(autouse=True)
def own_database(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LOADSTEAD_DATABASE", f"sqlite:///{tmp_path}/own/loadstead.sqlite3")


def test_assess_prints_the_report_of_the_first_plan(demo: Path, capfdbinary: pytest.CaptureFixture[bytes]) -> None:
    """Without a plan's id the first is assessed; the exit status is 0 whatever the verdict."""
    assert main(["assess", str(demo)]) == 0
    first = json.loads(capfdbinary.readouterr().out)
    assert main(["assess", str(demo), "--scenario", "shed"]) == 0
    shed = json.loads(capfdbinary.readouterr().out)

    assert set(first) == {
        "verdict", "sentence", "limits", "surges", "demand", "any_time", "trust", "cautions", "odds", "battery"
    }  # fmt: skip
    assert first["sentence"]
    assert first["verdict"] != shed["verdict"]


def test_assess_reads_standard_input(
    capfdbinary: pytest.CaptureFixture[bytes], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A hyphen stands for standard input."""
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(demo_text().encode())))

    assert main(["assess", "-"]) == 0
    assert json.loads(capfdbinary.readouterr().out)["limits"]


@pytest.mark.parametrize("command", ["assess", "import"])
@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ("not json", 1),
        ("[]", 1),
        ('{"format": "loadstead-household", "version": 7}', 1),
        (
            demo_text().replace('"watts": 65,', '"watts": -65,').replace('"name": "Lights"', '"nam": "Lights"'),
            3,
        ),
    ],
)
def test_bad_input_is_one_line_a_fault_and_status_2(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], command: str, text: str, lines: int
) -> None:
    """Each fault names its field on a line of its own on standard error; nothing goes to standard output."""
    file = tmp_path / "bad.json"
    file.write_text(text, encoding="utf-8")

    assert main([command, str(file)]) == 2
    written = capsys.readouterr()
    assert written.out == ""
    assert len(written.err.splitlines()) == lines


def test_a_file_or_plan_that_is_not_there_is_one_line(demo: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A missing file and an unknown plan are said in one line each, status 2."""
    assert main(["assess", "nowhere.json"]) == 2
    assert main(["assess", str(demo), "--scenario", "none"]) == 2

    assert len(capsys.readouterr().err.splitlines()) == 2


def test_a_household_goes_in_and_comes_out_unchanged(demo: Path, capfdbinary: pytest.CaptureFixture[bytes]) -> None:
    """What was imported is exported equal, by its key and by its name."""
    assert main(["import", str(demo)]) == 0
    key = capfdbinary.readouterr().out.decode().strip()
    for household in (key, "Saltmarsh Ferry House"):
        assert main(["export", household]) == 0
        assert json.loads(capfdbinary.readouterr().out) == json.loads(demo_text())


def test_a_household_nobody_stored_is_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    """Exporting what is not there is said in one line, status 2."""
    assert main(["export", "Nowhere"]) == 2
    assert len(capsys.readouterr().err.splitlines()) == 1


def test_assess_starts_without_the_server(demo: Path) -> None:
    """The command line loads neither the web framework nor the database for an assessment."""
    code = (
        "import sys; from app.cli import main; main(['assess', sys.argv[1]]);"
        "sys.exit(any(name in sys.modules for name in ('fastapi', 'sqlalchemy', 'uvicorn', 'alembic')))"
    )
    done = subprocess.run([sys.executable, "-c", code, str(demo)], stdout=subprocess.DEVNULL, check=False)

    assert done.returncode == 0


def test_settings_come_from_the_environment() -> None:
    """Database, further host names and port can be set; unset, the database lies in the user's folder."""
    settings = read_settings({"LOADSTEAD_HOSTS": "a.example, b.example,", "LOADSTEAD_PORT": "9000"})

    assert settings.hosts == ("a.example", "b.example")
    assert settings.port == 9000
    assert settings.database.startswith("sqlite:///")
    assert default_file({"XDG_DATA_HOME": "/data"}) == Path("/data/loadstead/loadstead.sqlite3")
    assert read_settings({"LOADSTEAD_DATABASE": "postgresql+psycopg://x/y"}).database == "postgresql+psycopg://x/y"
    with pytest.raises(ValueError, match="LOADSTEAD_PORT"):
        read_settings({"LOADSTEAD_PORT": "many"})


@pytest.mark.parametrize("port", ["70000", "-1", "many", "0"])
def test_a_port_that_is_none_is_said(port: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--port", port]) == 2
    assert capsys.readouterr().err == f"--port is {port!r}; give a number from 1 to 65535\n"


def test_what_is_no_database_is_said_in_a_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "own.json"
    file.write_text("{}" * 100)
    for url in ("foo", "foo://x/y", "mysql://x/y", "sqlite:///", "postgresql+psycopg://x:port/y", f"sqlite:///{file}"):
        monkeypatch.setenv("LOADSTEAD_DATABASE", url)
        assert main(["export", "x"]) == 2
        said = capsys.readouterr().err
        assert "LOADSTEAD_DATABASE" in said
        assert said.count("\n") == 1


def test_a_wrong_port_is_not_taken_for_a_wrong_database(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("LOADSTEAD_PORT", "many")
    assert main(["export", "x"]) == 2
    assert capsys.readouterr().err == "LOADSTEAD_PORT is 'many'; give a number from 1 to 65535\n"


def test_the_announcement_says_where_to_go() -> None:
    """On this machine alone it names localhost; on the network the phone's address too, with a QR code."""
    with listen(everywhere=False, port=0) as sock:
        assert sock.getsockname()[0] == "127.0.0.1"
        here = announcement(sock, "abc", everywhere=False)
        again = announcement(sock, None, everywhere=False)
    with listen(everywhere=True, port=0) as sock:
        assert sock.getsockname()[0] == "0.0.0.0"
        network = announcement(sock, "abc", everywhere=True)

    assert "http://localhost:" in here
    assert "/link/abc" in here
    assert "/link/" not in again
    assert "--new-link" in again
    assert network.count("/link/abc") == 2
    assert any(block in network for block in "▀▄█")


def test_a_qr_code_is_drawn_in_full_lines() -> None:
    """Every line of the code has the same width, and it is wide enough for an address with a token."""
    lines = [line for line in qr_code("http://192.168.1.20:8420/link/" + "0" * 32).splitlines() if line]

    assert len(lines) > 15


def test_a_port_in_use_is_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    """Starting on a port another program holds says so, with what to do, status 2."""
    with listen(everywhere=False, port=0) as sock:
        sock.listen()
        assert main(["--port", str(sock.getsockname()[1])]) == 2

    assert "--port" in capsys.readouterr().err


def test_everything_is_kept_and_had_back(
    demo: Path, tmp_path: Path, capfdbinary: pytest.CaptureFixture[bytes], monkeypatch: pytest.MonkeyPatch
) -> None:
    """An export after it is the same to the byte; where something is already, it is named and stays unless let go."""
    assert main(["import", str(demo)]) == 0
    key = capfdbinary.readouterr().out.decode().strip()
    assert main(["export", key]) == 0
    before = capfdbinary.readouterr().out
    file = tmp_path / "kept"
    assert main(["backup", str(file)]) == 0
    assert b"1 household (Saltmarsh Ferry House)" in capfdbinary.readouterr().out
    monkeypatch.setenv("LOADSTEAD_DATABASE", f"sqlite:///{tmp_path}/new/loadstead.sqlite3")
    assert main(["restore", str(file)]) == 0
    assert main(["export", key]) == 0
    assert capfdbinary.readouterr().out.partition(b"\n")[2] == before

    assert main(["restore", str(file)]) == 2
    said = capfdbinary.readouterr().err.decode()
    assert "Saltmarsh Ferry House" in said
    assert "--replace" in said
    assert main(["restore", str(file), "--replace"]) == 0
    assert main(["restore", str(demo), "--replace"]) == 2
    assert b"no Loadstead backup" in capfdbinary.readouterr().err
    assert main(["restore", str(tmp_path / "nowhere")]) == 2
