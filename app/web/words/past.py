"""What a part's figures were before: each change in words, with what the old figures rested on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from app.web.fields.appliance import BASIS, SOURCE
from app.web.fields.customs import Customs
from app.web.fields.measure import plain
from app.web.words.parts import figures_of

if TYPE_CHECKING:
    from app.store.history import Past

_BROUGHT = ("replace_household", "household_as_before")


def what_became(past: Past, customs: Customs) -> str:
    """What a change made of the figures: `Draws 2000 W \u2192 2150 W`, `Taken back: draws 2150 W \u2192 2000 W`."""
    command = past.change.command
    if past.before is None or past.after is None:
        there = past.before is None
        again = past.change.undoes or past.change.redoes
        return ("Brought back" if again else "Added") if there else ("Taken away again" if again else "Taken out")
    if command["do"] == "change_part":
        return figures_of(command, customs)
    pairs = list(_differences(past.before, past.after))
    told = {"kind": "appliance", "changes": [[path, value] for path, _, value in pairs]}
    told |= {"was": [was for _, was, _ in pairs], "what": command.get("what", "")}
    said = figures_of(told, customs)
    said = f"{said[:1].lower()}{said[1:]}"
    if past.change.undoes:
        return f"Taken back: {said}"
    if past.change.redoes:
        return f"Done again: {said}"
    return f"By a household file: {said}" if command["do"] in _BROUGHT else said


def rested_on(document: Mapping[str, Any]) -> str:
    """What an appliance's figures rest on: `typical of its kind, within 20 %; a published figure: a table, of May`."""
    sure = dict(BASIS)[document.get("basis", "typical")]
    if document.get("uncertainty"):
        sure += f", within {plain(round(document['uncertainty'] * 100, 1))} %"
    source = document.get("source") or {}
    kind, text, date = (source.get(name, "") for name in ("kind", "text", "date"))
    where = ", ".join(one for one in (text.rstrip("."), date) if one)
    named = dict(SOURCE).get(kind, kind)
    says_so = where.casefold().startswith(named.casefold())  # the library's texts often begin with their kind
    told = ": ".join(one for one in ("" if says_so else named, where) if one)
    return "; ".join(one for one in (sure, told) if one)


def _differences(was: Any, value: Any, *path: str | int) -> Iterator[tuple[list[str | int], Any, Any]]:
    """Where two documents differ, with both values; a list of another length as a whole."""
    if was == value:
        return
    if isinstance(was, dict) and isinstance(value, dict):
        for name in dict.fromkeys((*was, *value)):
            yield from _differences(was.get(name), value.get(name), *path, name)
    elif path == ("stages",) and isinstance(was, list) and isinstance(value, list) and len(was) == len(value):
        for place, (old, new) in enumerate(zip(was, value, strict=True)):
            yield from _differences(old, new, *path, place)
    else:
        yield list(path), was, value
