"""Style sheets, scripts and icons: in memory, compressed once, under names made from what is in them."""

import gzip
import hashlib
import importlib.util
from collections.abc import Iterable
from functools import cache
from pathlib import Path

from starlette.requests import Request
from starlette.responses import Response

from app.web.places import placing_rules
from app.web.touch import touching_rules

CSS = "text/css; charset=utf-8"
SCRIPT = "text/javascript; charset=utf-8"
SVG = "image/svg+xml"


class Asset:
    """One file, served under a name that changes with its content, so that browsers may keep it for ever."""

    def __init__(self, name: str, content: bytes, media: str) -> None:
        stem, ending = name.rsplit(".", 1)
        self.name = name
        self.file = f"{stem}.{hashlib.sha256(content).hexdigest()[:16]}.{ending}"
        self._media = media
        self._plain = content
        self._zipped = gzip.compress(content, 9, mtime=0)

    def response(self, request: Request) -> Response:
        """The file, compressed where the browser takes that."""
        zipped = "gzip" in request.headers.get("accept-encoding", "")
        headers = {"Cache-Control": "public, max-age=31536000, immutable", "Vary": "Accept-Encoding"}
        if zipped:
            headers["Content-Encoding"] = "gzip"
        return Response(self._zipped if zipped else self._plain, media_type=self._media, headers=headers)


class Assets:
    """All of them, by their plain name for templates and by their served name for requests."""

    def __init__(self, assets: Iterable[Asset]) -> None:
        assets = tuple(assets)
        self._by_file = {asset.file: asset for asset in assets}
        self._by_name = {asset.name: asset for asset in assets}

    def file(self, name: str) -> str:
        """The served name of an asset."""
        return self._by_name[name].file

    def get(self, file: str) -> Asset | None:
        """The asset of that served name, if there is one."""
        return self._by_file.get(file)


# The parts of the style sheet and of the day page's script, in the order in which they are put together.
STYLES = (
    "base",
    "head",
    "plan",
    "day",
    "ways",
    "chart",
    "energy",
    "programme",
    "overload",
    "inspect",
    "rows",
    "plain",
    "edit",
    "begin",
    "weather",
    "switch_on",
    "laundry",
    "growth",
    "side_by_side",
    "whatif",
    "workshop",
    "links",
    "partner",
    "history",
    "print",
)
PLAIN = ("ended", "sent", "copy", "zone")
SCRIPTS = ("common", "send", "show", "wait", "live", "runs", "add", "inspect", "gist", "closer", "begin")


@cache
def load_assets(static: Path) -> Assets:
    """Read everything the pages refer to, once.

    static: the folder of the project's own files. htmx and plotly come out of installed packages, as files.
    """
    style = "\n".join((static / "style" / f"{part}.css").read_text(encoding="utf-8") for part in STYLES)
    script = _joined(static, "plain/ended", *(f"day/{part}" for part in SCRIPTS))
    return Assets(
        [
            Asset("loadstead.css", f"{style}\n{placing_rules()}{touching_rules()}".encode(), CSS),
            Asset("day.js", enclosed(script), SCRIPT),
            Asset("plain.js", enclosed(_joined(static, *(f"plain/{part}" for part in PLAIN))), SCRIPT),
            Asset("edit.js", enclosed(_joined(static, "plain/ended", "edit/liken", "edit/edit", "edit/again")), SCRIPT),
            Asset("laundry.js", enclosed((static / "laundry" / "laundry.js").read_text(encoding="utf-8")), SCRIPT),
            Asset("workshop.js", enclosed((static / "workshop" / "workshop.js").read_text(encoding="utf-8")), SCRIPT),
            Asset("side.js", enclosed((static / "side" / "side.js").read_text(encoding="utf-8")), SCRIPT),
            Asset(
                "switch.js", enclosed(_joined(static, "plain/ended", "edit/liken", "day/wait", "switch/switch")), SCRIPT
            ),
            Asset("meanwhile.js", enclosed(_joined(static, "plain/ended", "day/wait", "plain/meanwhile")), SCRIPT),
            Asset("htmx.js", packaged_file("js_lib_htmx", "static/htmx/htmx.min.js").read_bytes(), SCRIPT),
            Asset("plotly.js", packaged_file("plotly", "package_data/plotly.min.js").read_bytes(), SCRIPT),
            Asset("icon.svg", (static / "icon.svg").read_bytes(), SVG),
        ]
    )


def _joined(static: Path, *parts: str) -> str:
    return "\n".join((static / f"{part}.js").read_text(encoding="utf-8") for part in parts)


def enclosed(script: str) -> bytes:
    """A script in a function of its own, so that its parts share their names with one another and nobody else."""
    return f'"use strict";\n(() => {{\n{script}\n}})();\n'.encode()


def packaged_file(package: str, path: str) -> Path:
    """A file inside an installed package, found without importing it."""
    spec = importlib.util.find_spec(package)
    if spec is None or not spec.submodule_search_locations:
        raise FileNotFoundError(f"the package {package} is not installed")
    return Path(next(iter(spec.submodule_search_locations)), path)
