"""What is set from outside: where the database and the jobs are, where to listen, which names the server goes by."""

import os
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

PORT = 8420
SQLITE = "sqlite:///"


class BadSetting(ValueError):
    """A setting from outside that cannot be."""


@dataclass(frozen=True, slots=True)
class Settings:
    """Read once, handed down as arguments.

    database: a URL, `sqlite:///FILE` or `postgresql+psycopg://...`.
    hosts: names the server goes by besides localhost, addresses in figures and `.local` names.
    jobs: where long work is kept, `redis://...` or a file; empty for a file that goes with the process.
    """

    database: str
    hosts: tuple[str, ...] = ()
    port: int = PORT
    jobs: str = ""


def read_settings(environment: Mapping[str, str] | None = None) -> Settings:
    """The settings of `LOADSTEAD_DATABASE`, `LOADSTEAD_HOSTS` (with commas), `LOADSTEAD_PORT` and `LOADSTEAD_JOBS`.

    Raises BadSetting for a port or a name that is none.
    """
    environment = os.environ if environment is None else environment
    hosts = (host.strip() for host in environment.get("LOADSTEAD_HOSTS", "").split(","))
    database = environment.get("LOADSTEAD_DATABASE") or f"sqlite:///{default_file(environment)}"
    return Settings(
        database=database,
        hosts=tuple(host_of(host) for host in hosts if host),
        port=port_of("LOADSTEAD_PORT", environment.get("LOADSTEAD_PORT") or str(PORT)),
        jobs=environment.get("LOADSTEAD_JOBS") or str(_jobs_file(database, environment)),
    )


def host_of(given: str) -> str:
    """The name of a server in what was given, which may be a whole address: `https://Load.example:8420/` names it, too.

    Raises BadSetting for what is none.
    """
    name = given.rpartition("://")[2].partition("/")[0]
    name = re.sub(r":\d+$", "", name).strip("[]").removesuffix(".").lower()
    try:
        name = name if ":" in name else name.encode("idna").decode()  # as browsers send it
    except UnicodeError:
        name = ""
    if not re.fullmatch(r"[\w.:-]+", name, re.ASCII):
        raise BadSetting(f"LOADSTEAD_HOSTS has {given!r}; give names of this server alone, such as planner.example")
    return name


def port_of(name: str, given: str) -> int:
    """The port that is meant; name: of the setting.

    Raises BadSetting for what is none.
    """
    if not given.isdecimal() or not 0 < int(given) < 65_536:
        raise BadSetting(f"{name} is {given!r}; give a number from 1 to 65535")
    return int(given)


def default_file(environment: Mapping[str, str]) -> Path:
    """Where the database lies unless told: in the user's own data folder."""
    given = environment.get("XDG_DATA_HOME") or environment.get("LOCALAPPDATA")
    folder = Path(given) if given else Path.home() / ".local" / "share"
    return folder / "loadstead" / "loadstead.sqlite3"


def _jobs_file(database: str, environment: Mapping[str, str]) -> Path:
    """Beside the database where that is a file, else where that would be."""
    named = database.removeprefix(SQLITE) if database.startswith(SQLITE) else ""
    file = Path(named) if named else default_file(environment)
    return file.with_name(f"{file.stem}.jobs.sqlite3")
