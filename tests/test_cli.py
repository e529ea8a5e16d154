"""The command line: the same figures, exit statuses, and the first start."""

import contextlib
import io
import json
import signal
import socket
import sqlite3
import stat
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

import pytest
from sqlalchemy.exc import OperationalError

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


def test_a_household_nobody_stored_is_one_line(demo: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exporting what is not there is said in one line, status 2."""
    assert main(["import", str(demo)]) == 0
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


@pytest.mark.parametrize(
    ("given", "meant"),
    [
        ("Load.Example:8420", "load.example"),
        ("https://b.example/", "b.example"),
        ("http://planner.example.:80/h/1?x", "planner.example"),
        ("küche.example", "xn--kche-0ra.example"),
    ],
)
def test_a_host_may_be_given_as_an_address(given: str, meant: str) -> None:
    """What a browser calls it is what counts: no port, no scheme, small letters."""
    assert read_settings({"LOADSTEAD_HOSTS": f"a.example,{given}"}).hosts == ("a.example", meant)


@pytest.mark.parametrize("given", ["*.example", "two words", "https://", "a@b.example", "x" * 70 + "ü.example"])
def test_a_host_that_is_none_is_said(
    given: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("LOADSTEAD_HOSTS", given)
    assert main(["--port", "0"]) == 2
    said = f"LOADSTEAD_HOSTS has {given!r}; give names of this server alone, such as planner.example"
    assert capsys.readouterr().err.strip() == said


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


def one_sentence(capsys: pytest.CaptureFixture[str], *says: str) -> None:
    """Nothing on standard output, and on standard error one line that ends as a sentence."""
    written = capsys.readouterr()
    assert written.out == ""
    assert written.err.count("\n") == 1
    assert written.err.endswith(".\n")
    assert all(one in written.err for one in says), written.err


@pytest.mark.parametrize("command", ["export", "backup"])
def test_a_database_that_is_not_there_is_not_made(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], command: str
) -> None:
    """It is said, status 1; nothing is made, and an earlier backup of that name stays as it is."""
    kept = tmp_path / "kept"
    kept.write_bytes(b"an earlier backup")

    assert main([command, str(kept)]) == 1
    one_sentence(capsys, "no Loadstead database", f"{tmp_path}/own/loadstead.sqlite3")
    assert kept.read_bytes() == b"an earlier backup"
    assert sorted(one.name for one in tmp_path.iterdir()) == ["kept"]


@pytest.mark.parametrize("command", ["export", "backup"])
def test_a_file_without_our_tables_is_no_database(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], command: str
) -> None:
    """As an empty one is, which another program may have made."""
    file = tmp_path / "empty.sqlite3"
    file.touch()
    monkeypatch.setenv("LOADSTEAD_DATABASE", f"sqlite:///{file}")

    assert main([command, str(tmp_path / "kept")]) == 1
    one_sentence(capsys, "no Loadstead database")
    assert file.read_bytes() == b""
    assert not (tmp_path / "kept").exists()


# What is given where a command needs something; the server's port is one that is free.
COMMANDS = (["--port", "1"], ["export", "x"], ["backup", "{tmp}/kept"], ["import", "{demo}"], ["restore", "{kept}"])


def run(command: list[str], tmp_path: Path, demo: Path) -> int:
    """A command about the database, with what it needs."""
    places = {"tmp": str(tmp_path), "demo": str(demo), "kept": str(tmp_path / "earlier")}
    return main([one.format(**places) for one in command])


@pytest.fixture
def made(demo: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Path:
    """The file of a database with a household, of which there is a backup. Nothing is listened on."""
    monkeypatch.setattr("app.web.serving.listen", lambda **_: socket.socket())
    assert main(["import", str(demo)]) == 0
    assert main(["backup", str(tmp_path / "earlier")]) == 0
    capsys.readouterr()
    return tmp_path / "own" / "loadstead.sqlite3"


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command[0])
def test_a_newer_database_is_said_in_a_sentence(
    demo: Path, made: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], command: list[str]
) -> None:
    """Whatever the command, status 1 and no traceback."""
    with contextlib.closing(sqlite3.connect(made)) as newer:
        newer.execute("UPDATE alembic_version SET version_num = '0099'")
        newer.commit()

    assert run(command, tmp_path, demo) == 1
    one_sentence(capsys, "newer Loadstead")


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command[0])
def test_a_file_beside_which_nothing_can_be_made_is_said_in_a_sentence(
    demo: Path, made: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], command: list[str]
) -> None:
    """As in a folder that may not be written."""
    lock = made.with_name(f"{made.name}.lock")
    lock.unlink()
    lock.mkdir()

    assert run(command, tmp_path, demo) == 1
    one_sentence(capsys, "LOADSTEAD_DATABASE cannot be used", "unable to open database file")


def test_a_folder_that_cannot_be_made_is_said_in_a_sentence(
    demo: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("LOADSTEAD_DATABASE", f"sqlite:///{demo}/own/loadstead.sqlite3")
    assert main(["import", str(demo)]) == 1
    one_sentence(capsys, "LOADSTEAD_DATABASE cannot be used", "Not a directory")
    assert main(["export", "x"]) == 1
    one_sentence(capsys, "no Loadstead database")


FULL = sqlite3.OperationalError("database or disk is full")


@pytest.mark.parametrize(
    ("command", "fails"),
    [
        (["import", "{demo}"], "app.store.households.import_household"),
        (["export", "x"], "app.store.households.list_households"),
        (["restore", "{kept}", "--replace"], "app.store.backup.restore"),
        (["--port", "1"], "app.main.first_run"),
        (["backup", "{tmp}/kept"], "app.store.backup.back_up"),
        (["backup", "{tmp}/kept"], "app.store.session.Database.migrate"),
    ],
)
@pytest.mark.parametrize("error", [FULL, OperationalError("INSERT ...", {}, FULL)], ids=["sqlite3", "sqlalchemy"])
def test_a_full_disk_is_said_in_a_sentence(
    demo: Path,
    made: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    command: list[str],
    fails: str,
    error: Exception,
) -> None:
    """Wherever it is met, status 1 and no traceback."""

    def full(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr(fails, full)
    assert run(command, tmp_path, demo) == 1
    one_sentence(capsys, "database or disk is full")


def test_a_backup_that_cannot_be_written_is_said_in_a_sentence(
    made: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Its folder may be a file, or nobody's to write in."""
    assert main(["backup", str(tmp_path / "earlier" / "kept")]) == 1
    one_sentence(capsys, "No backup was made", "earlier")


def test_restoring_over_what_is_there_says_what_becomes_of_links(
    made: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """One that was revoked since the backup opens again; into an empty database nobody needs to be told."""
    assert main(["restore", str(tmp_path / "earlier"), "--replace"]) == 0
    assert "revoked after that backup was made open again" in capsys.readouterr().out


def test_what_is_made_is_its_owners_alone(made: Path, tmp_path: Path) -> None:
    """Database, lock and folder are made so; what is there already is left as it is."""
    assert stat.S_IMODE(made.parent.stat().st_mode) == 0o700
    assert {stat.S_IMODE(one.stat().st_mode) for one in made.parent.iterdir()} == {0o600}
    made.chmod(0o644)
    made.parent.chmod(0o755)
    assert main(["export", "Saltmarsh Ferry House"]) == 0
    assert stat.S_IMODE(made.stat().st_mode) == 0o644
    assert stat.S_IMODE(made.parent.stat().st_mode) == 0o755


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGINT])
def test_whoever_stops_the_server_finds_the_database_in_one_file(tmp_path: Path, how: signal.Signals) -> None:
    """A service that is stopped ends as Ctrl+C does: status 0, everything closed, nothing left beside the file."""
    with listen(everywhere=False, port=0) as free:
        port = free.getsockname()[1]
    file = tmp_path / "own" / "loadstead.sqlite3"
    server = subprocess.Popen(
        [sys.executable, "-c", "import sys; from app.cli import main; sys.exit(main())", "--port", str(port)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert server.stdout is not None
    assert b"Loadstead is at" in server.stdout.readline()
    deadline = time.monotonic() + 60
    while not answers(port) and time.monotonic() < deadline:
        time.sleep(0.05)
    server.send_signal(how)
    _, said = server.communicate(timeout=60)

    assert server.returncode == 0
    assert said == b""
    assert sorted(one.name for one in file.parent.iterdir()) == [file.name, f"{file.name}.lock"]
    with contextlib.closing(sqlite3.connect(file)) as stopped:
        assert stopped.execute("SELECT count(*) FROM household").fetchone() == (1,)


def answers(port: int) -> bool:
    """Whether somebody answers on this port."""
    try:
        with urllib.request.urlopen(f"http://localhost:{port}/assets/none", timeout=5):
            return True
    except urllib.error.HTTPError:
        return True
    except OSError:
        return False
