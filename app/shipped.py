"""Where the files are that travel with the program: templates, static files and migrations.

They lie inside the package when it was installed from a wheel, and beside it in a checkout, where an
editable install copies nothing.
"""

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def templates() -> Path:
    """The folder of page templates and fragments."""
    return _folder("templates")


def static() -> Path:
    """The folder of style sheets, scripts and icons."""
    return _folder("static")


def migrations() -> Path:
    """The folder that holds the migrations' environment and versions."""
    return _folder("migrations")


def _folder(name: str) -> Path:
    inside = _PACKAGE / "_shipped" / name
    return inside if inside.is_dir() else _PACKAGE.parent / name
