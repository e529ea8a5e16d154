"""The command line: serve, assess, import, export."""

import argparse
import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from app.household.errors import HouseholdFaults
from app.settings import BadSetting

BAD_INPUT = 2


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command; without one, serve. Returns the exit status: 2 for bad input."""
    arguments = _parser().parse_args(argv)
    command = {"assess": _assess, "import": _import, "export": _export}.get(arguments.command, _serve)
    try:
        return command(arguments)
    except HouseholdFaults as refused:
        return _bad(*map(str, refused.faults))
    except (OSError, BadSetting) as error:
        return _bad(str(error))
    except KeyboardInterrupt:
        return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="loadstead",
        description="What can run together, when, and what will still fit. Without a command: serve.",
    )
    parser.add_argument("--network", action="store_true", help="let phones on this network in, and print a QR code")
    parser.add_argument("--port", type=int, help="listen on this port")
    parser.add_argument("--new-link", action="store_true", help="make and print another owner's link")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")
    assess = commands.add_parser("assess", help="say as JSON what a plan of a household file comes to")
    assess.add_argument("file", help="a household file; - reads standard input")
    assess.add_argument("--scenario", metavar="ID", help="which plan; without it the first")
    bring = commands.add_parser("import", help="store a household file as a new household")
    bring.add_argument("file", help="a household file; - reads standard input")
    take = commands.add_parser("export", help="print a stored household as a household file")
    take.add_argument("household", help="its key or its name")
    return parser


def _assess(arguments: argparse.Namespace) -> int:
    from app.engine.assess import assess
    from app.household.file import read_household
    from app.web.report import report

    household = read_household(_read(arguments.file))
    assessment = assess(household, arguments.scenario)
    _print_json(report(household, arguments.scenario, assessment))
    return 0


def _import(arguments: argparse.Namespace) -> int:
    from app.engine.day import lay_day
    from app.household.file import household_from, read_document
    from app.household.resolve import resolve
    from app.store.households import import_household

    document = read_document(_read(arguments.file))
    household = household_from(document)
    for scenario in household.scenarios:
        lay_day(resolve(household, scenario.id))  # what the engine refuses is not stored either
    database = _database()
    with database.session() as session:
        key = import_household(session, document, None)
        session.commit()
    database.close()
    print(key)
    return 0


def _export(arguments: argparse.Namespace) -> int:
    from app.store.households import export_document, list_households

    database = _database()
    with database.session() as session:
        wanted = arguments.household
        keys = [row.key for row in list_households(session) if wanted in (row.key, row.name)]
        if len(keys) != 1:
            there = "no household" if not keys else f"{len(keys)} households"
            return _bad(f"there is {there} {wanted!r}; give a household's key, or a name that only one has")
        _print_json(export_document(session, keys[0]))
    database.close()
    return 0


def _serve(arguments: argparse.Namespace) -> int:
    from app.main import create_app, first_run, new_owner_link
    from app.settings import read_settings
    from app.web.serving import announcement, listen, serve

    settings = read_settings()
    sock = listen(everywhere=arguments.network, port=arguments.port or settings.port)
    database = _database()
    token = first_run(database)
    if token is None and (arguments.network or arguments.new_link):
        token = new_owner_link(database, "from the command line")
    print(announcement(sock, token, everywhere=arguments.network), flush=True)
    serve(create_app(database, settings), sock)
    database.close()
    return 0


def _database() -> Any:
    from app.settings import read_settings
    from app.store.session import Database

    database = Database(read_settings().database)
    database.migrate()
    return database


def _read(file: str) -> bytes:
    return sys.stdin.buffer.read() if file == "-" else Path(file).read_bytes()


def _print_json(value: Any) -> None:
    sys.stdout.buffer.write((json.dumps(value, ensure_ascii=False, indent=2) + "\n").encode())
    sys.stdout.flush()


def _bad(*lines: str) -> int:
    for line in lines:
        print(line, file=sys.stderr)
    return BAD_INPUT
