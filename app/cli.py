"""The command line: serve, assess, plan, import, export, backup, restore."""

import argparse
import json
import signal
import sqlite3
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from app.household.errors import HouseholdFaults
from app.settings import BadSetting

if TYPE_CHECKING:
    from app.store.session import Database

FAILED, BAD_INPUT = 1, 2
LONGEST_SEARCH_S = 600
CANNOT_BE_USED = "The database of LOADSTEAD_DATABASE cannot be used"
TOO_NEW = "The database was written by a newer Loadstead than this one; bring this one up to date first."


class Failed(Exception):
    """What this machine could not do, in a sentence: there is no database, or no room for it."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command; without one, serve. Returns the exit status: 2 for bad input, 1 for what could not be done."""
    arguments = _parser().parse_args(argv)
    commands = {
        "assess": _assess,
        "plan": _plan,
        "import": _import,
        "export": _export,
        "backup": _backup,
        "restore": _restore,
    }
    command = commands.get(arguments.command, _serve)
    try:
        return command(arguments)
    except HouseholdFaults as refused:
        return _bad(*map(str, refused.faults))
    except (OSError, BadSetting) as error:
        return _bad(str(error))
    except Failed as failed:
        _bad(str(failed))
        return FAILED
    except KeyboardInterrupt:
        return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="loadstead",
        description="What can run together, when, and what will still fit. Without a command: serve.",
    )
    parser.add_argument("--network", action="store_true", help="let phones on this network in, and print a QR code")
    parser.add_argument("--port", help="listen on this port")
    parser.add_argument("--new-link", action="store_true", help="make and print another owner's link")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")
    assess = commands.add_parser("assess", help="say as JSON what a plan of a household file comes to")
    assess.add_argument("file", help="a household file; - reads standard input")
    assess.add_argument("--scenario", metavar="ID", help="which plan; without it the first")
    plan = commands.add_parser("plan", help="find when to run what a plan leaves open: the runs that have a window")
    plan.add_argument("file", help="a household file; - reads standard input")
    plan.add_argument("--scenario", metavar="ID", help="which plan; without it the first")
    plan.add_argument("--seconds", type=float, default=5.0, metavar="N", help="how long to look at most; 5")
    plan.add_argument("--seed", type=int, default=1, metavar="N", help="another seed may find another day; 1")
    bring = commands.add_parser("import", help="store a household file as a new household")
    bring.add_argument("file", help="a household file; - reads standard input")
    take = commands.add_parser("export", help="print a stored household as a household file")
    take.add_argument("household", help="its key or its name")
    keep = commands.add_parser("backup", help="keep everything in one file, while others go on writing")
    keep.add_argument("file", help="where to; an earlier backup there is replaced")
    back = commands.add_parser("restore", help="have everything back out of such a file")
    back.add_argument("file", help="a file that backup made")
    of_replace = "let go of everything that is there now; links revoked since the backup open again"
    back.add_argument("--replace", action="store_true", help=of_replace)
    return parser


def _assess(arguments: argparse.Namespace) -> int:
    from app.engine.assess import assess
    from app.household.file import read_household
    from app.web.report import report

    household = read_household(_read(arguments.file))
    assessment = assess(household, arguments.scenario)
    _print_json(report(household, arguments.scenario, assessment))
    return 0


def _plan(arguments: argparse.Namespace) -> int:
    from app.household.file import read_household
    from app.household.moved import with_runs
    from app.household.resolve import resolve
    from app.planner.laundry.found import Proposal
    from app.planner.laundry.search import search
    from app.planner.laundry.wish import Wish
    from app.web.report import plan_report

    if not 0 < arguments.seconds <= LONGEST_SEARCH_S:
        return _bad(f"--seconds {arguments.seconds:g}: give more than 0 and at most {LONGEST_SEARCH_S} seconds")
    if arguments.seed < 0:
        return _bad(f"--seed {arguments.seed}: give 0 or a positive whole number")
    household = read_household(_read(arguments.file))
    day = resolve(household, arguments.scenario).day
    open_runs = tuple(run.id for run in day.runs if run.on and run.window is not None)
    if not open_runs:
        return _bad(f"no run of {day.name!r} that is on has a window, so none may be moved; give at least one a window")
    found = search(household, day.scenario_id, Wish(open_runs), seconds=arguments.seconds, seed=arguments.seed)
    if isinstance(found, Proposal):
        starts = {run: {"start": start} for run, start in found.starts.items()}
        household = with_runs(household, day.scenario_id, starts)
    _print_json(plan_report(household, day.scenario_id, found))
    return 0


def _import(arguments: argparse.Namespace) -> int:
    from app.engine.day import lay_day
    from app.household.file import household_from, read_document
    from app.household.resolve import resolve
    from app.store.households import export_document, import_household

    document = read_document(_read(arguments.file))
    household = household_from(document)
    for scenario in household.scenarios:
        lay_day(resolve(household, scenario.id))  # what the engine refuses is not stored either
    with _database() as database, database.session() as session:
        key = import_household(session, document, None)
        session.commit()
        stored = export_document(session, key)["name"]
    if stored != household.name:
        print(f"There is {household.name!r} already; this one is called {stored!r} now.", file=sys.stderr)
    print(key)
    return 0


def _export(arguments: argparse.Namespace) -> int:
    from app.store.households import export_document, list_households

    with _database(is_there=True) as database, database.session() as session:
        wanted = arguments.household
        keys = [row.key for row in list_households(session) if wanted in (row.key, row.name)]
        if len(keys) != 1:
            there = "is no household" if not keys else f"are {len(keys)} households"
            return _bad(f"there {there} {wanted!r}; give a household's key, or a name that only one has")
        document = export_document(session, keys[0])
    _print_json(document)
    return 0


def _backup(arguments: argparse.Namespace) -> int:
    from app.store.backup import back_up
    from app.store.errors import BadBackup

    with _database(is_there=True) as database:
        try:
            names = back_up(database, Path(arguments.file))
        except BadBackup as refused:
            return _bad(str(refused))
        except OSError as error:
            raise Failed(f"No backup was made: {error.filename or arguments.file}: {error.strerror}.") from error
        except sqlite3.Error as error:
            raise Failed(f"No backup was made: {arguments.file}: {error}.") from error
    print(f"{arguments.file} has {_households(names)}.")
    return 0


def _restore(arguments: argparse.Namespace) -> int:
    from app.store.backup import restore
    from app.store.errors import BadBackup, NotEmpty

    with _database() as database:
        try:
            names = restore(database, Path(arguments.file), replace=arguments.replace)
        except BadBackup as refused:
            return _bad(str(refused))
        except NotEmpty as there:
            return _bad(
                f"there is something here already: {_households(there.names)}, {there.links} links."
                " Nothing was changed.",
                "With --replace all of that goes, links too; make a backup of it first.",
            )
    print(f"Back from {arguments.file}: {_households(names)}, with plans, history and links.")
    if arguments.replace:
        print("Links that were revoked after that backup was made open again; revoke them once more.")
    return 0


def _households(names: Sequence[str]) -> str:
    """`2 households (Saltmarsh Ferry House, Reedbank)`."""
    if not names:
        return "no household"
    count = "1 household" if len(names) == 1 else f"{len(names)} households"
    return f"{count} ({', '.join(names)})"


def _serve(arguments: argparse.Namespace) -> int:
    from app.main import create_app, first_run, new_owner_link
    from app.settings import port_of, read_settings
    from app.web.serving import announcement, listen, network_address, serve

    # Whoever stops a service, as systems do, ends it as Ctrl+C does: everything is closed before.
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    settings = read_settings()
    port = settings.port if arguments.port is None else port_of("--port", arguments.port)
    with listen(everywhere=arguments.network, port=port) as sock, _database() as database:
        token = first_run(database)
        if token is None and (arguments.network or arguments.new_link):
            token = new_owner_link(database, "from the command line")
        print(announcement(sock, token, everywhere=arguments.network), flush=True)
        app = create_app(database, settings)
        if arguments.network:
            app.state.reachable_at = f"http://{network_address()}:{sock.getsockname()[1]}"
        try:
            serve(app, sock)
        finally:
            app.state.worker.end()
            app.state.jobs.close()
    return 0


@contextmanager
def _database(*, is_there: bool = False) -> "Iterator[Database]":
    """The database of the settings, with its tables up to date, closed at the end however that comes.

    is_there: it is not made where it is missing.
    Raises BadSetting for what is no database, Failed where it cannot be used.
    """
    from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError, OperationalError

    from app.settings import read_settings
    from app.store.errors import Unwritten
    from app.store.migrating import TooNew
    from app.store.session import Database

    url = read_settings().database
    try:
        database = Database(url)
    except (ArgumentError, NoSuchModuleError, ModuleNotFoundError, ValueError) as error:
        raise BadSetting(f"LOADSTEAD_DATABASE is no address of a database: {error}") from error
    try:
        try:
            if is_there and not database.is_there():
                where = database.file or "the address of LOADSTEAD_DATABASE"
                raise Failed(f"There is no Loadstead database at {where}.")
            database.migrate()
        except (OperationalError, sqlite3.OperationalError):
            raise
        except DBAPIError as error:
            raise BadSetting(f"{CANNOT_BE_USED}: {_why(error)}") from error
        except TooNew as newer:
            raise Failed(TOO_NEW) from newer
        except OSError as error:
            raise Failed(f"{CANNOT_BE_USED}: {error.filename}: {error.strerror}.") from error
        yield database
    except (DBAPIError, Unwritten, sqlite3.Error) as error:
        raise Failed(f"{CANNOT_BE_USED}: {_why(error)}.") from error
    finally:
        database.close()


def _why(error: Exception) -> str:
    return str(getattr(error, "orig", error)).splitlines()[0]


def _read(file: str) -> bytes:
    return sys.stdin.buffer.read() if file == "-" else Path(file).read_bytes()


def _print_json(value: Any) -> None:
    sys.stdout.buffer.write((json.dumps(value, ensure_ascii=False, indent=2) + "\n").encode())
    sys.stdout.flush()


def _bad(*lines: str) -> int:
    for line in lines:
        print(line, file=sys.stderr)
    return BAD_INPUT
