"""Changes of the library and the supply in words: which figure of what, from what to what."""

from collections.abc import Iterator, Mapping
from typing import Any

from app.household.household import Household
from app.web.customs import customs_of
from app.web.fields import appliance, site, supply
from app.web.fields.customs import Customs
from app.web.fields.entry import Entry, Field, Points
from app.web.fields.reading import choice_text
from app.web.words.plain import listed

Line = Mapping[str, Any]

ARROW = "\u2192"
_FIGURES_AT_MOST = 3
LONGEST = 90
_BY_ID = ("fed_from", "circuit", "pump")  # figures that name something by its id
_PARTS = {
    "inverter": "Inverter",
    "battery": "Battery",
    "arrays": "Solar array",
    "circuits": "Circuit",
    "water": "Water",
    "generator": "Generator",
    "rules": "Voltage lost and breakers",
    "site": "Household",
    "formats": "Household",
    "any_time": "Any-time loads",
    "interlocks": "One at a time",
}
# What was done, and what taking it back does.
_WHAT = {
    "arrays_add": ("Solar array added", "Solar array out again"),
    "arrays_remove": ("Solar array taken out", "Solar array back in"),
    "circuits_add": ("Circuit added", "Circuit out again"),
    "circuits_remove": ("Circuit taken out", "Circuit back in"),
    "water_add": ("Pump and vessel added", "Pump and vessel out again"),
    "water_remove": ("Pump and vessel taken out", "Pump and vessel back in"),
    "generator_add": ("Generator added", "Generator out again"),
    "generator_remove": ("Generator taken out", "Generator back in"),
    "stage_added": ("stage added", "stage out again"),
    "stage_split": ("stage split", "stage in one again"),
    "stage_moved": ("stage moved", "stage back in its place"),
    "stage_removed": ("stage removed", "stage back in"),
}
_NOTHING = ("", "")


def part_changed(command: Line, household: Household) -> str:
    """What a change of a part did: `Dryer: draws 2000 W → 2150 W`.

    household: as it is now, for what the log has by its id.
    """
    title = _title(command)
    what, _ = _WHAT.get(command.get("what", ""), _NOTHING)
    if what:
        return what if command["kind"] != "appliance" else f"{title}: {what}"
    said = list(_listed(command, household) or _figures(command, customs_of(household), _names(household)))
    more = len(said[_FIGURES_AT_MOST:])
    shown = ", ".join(said[:_FIGURES_AT_MOST]) + (f" and {more} more" if more else "")
    return f"{title}: {shown}" if shown else f"{title} changed"


def part_put_back(command: Line) -> str:
    """What taking back a change of a part does: `Dryer as before`."""
    _, what = _WHAT.get(command.get("what", ""), _NOTHING)
    if what and not what.startswith("stage"):
        return what
    return f"{_title(command)}: {what}" if what else f"{_title(command)} as before"


def figures_of(command: Line, customs: Customs) -> str:
    """The figures a change gave, from what to what, without whose they are."""
    what, _ = _WHAT.get(command.get("what", ""), _NOTHING)
    said = what or ", ".join(_figures(command, customs))
    return f"{said[:1].upper()}{said[1:]}" if said else "As it was before"


def _title(command: Line) -> str:
    title = str(command.get("title", ""))
    which = command.get("which")
    return (_PARTS.get(title, title) or "Something") + (f" {which}" if which else "")


def _names(household: Household) -> dict[str, str]:
    """What people call what a figure names by its id: circuits, and appliances, those that plans bring among them."""
    brought = (document for plan in household.scenarios for document in plan.changes.appliances)
    names = {str(one.get("id")): str(one.get("name", one.get("id"))) for one in brought}
    names |= {one.id: one.name for one in household.appliances}
    return names | {one.id: one.name or one.id for one in household.supply.circuits}


def _listed(command: Line, household: Household) -> tuple[str, ...]:
    """What came to a list of the household, and what went; nothing for any other part."""
    name = command.get("name")
    if name not in ("any_time", "interlocks") or command.get("kind") != "section":
        return ()
    names = _names(household)
    was, now = (command.get("was") or [None])[0] or [], command["changes"][0][1] or []
    came, went = [one for one in now if one not in was], [one for one in was if one not in now]
    came, went = ([_entry(one, names) for one in some] for some in (came, went))
    if name == "interlocks" and len(came) == len(went) == 1:
        return (f"{went[0]} {ARROW} {came[0]}",)
    return (*(f"{one} added" for one in came), *(f"{one} taken out" for one in went))


def _entry(one: str | Line, names: Mapping[str, str]) -> str:
    """An appliance, or who is kept apart: `Dryer`, `Dryer and Kettle`, `2 of Dryer, Kettle and Iron`."""
    if isinstance(one, str):
        return names.get(one, one)
    of, at_most = listed([names.get(each, each) for each in one["of"]]), one.get("at_most", 1)
    return of if at_most == 1 else f"{at_most} of {of}"


def _figures(command: Line, customs: Customs, names_of: Mapping[str, str] | None = None) -> Iterator[str]:
    for (path, value), was in zip(command.get("changes") or (), command.get("was") or (), strict=False):
        stage = next((step for step in path if isinstance(step, int)), None) if path and path[0] == "stages" else None
        place = f" (stage {stage + 1})" if isinstance(stage, int) else ""
        names = [step for step in path if isinstance(step, str)]
        own = "appliance" if command.get("kind") == "appliance" else str(command.get("name"))
        field = _FIELDS.get(own, {}).get(".".join(names[1:] if stage is not None else names))
        label = field.label if field else (names[-1].replace("_", " ") if names else "all of it")
        before, after = _apart(was, value) if isinstance(field, Points) else (was, value)
        if names and names[-1] in _BY_ID:
            before, after = ((names_of or {}).get(one, one) for one in (before, after))
        old, new = (_shown(field, one, customs) for one in (before, after))
        told = f"{label[:1].lower()}{label[1:]} {old} {ARROW} {new}"
        yield f"{told}{place}" if len(told) < LONGEST else f"{label}{place} changed"


def _apart(was: Any, value: Any) -> tuple[Any, Any]:
    """The lines of a list in which two differ, where both have as many; else both as they are."""
    if not isinstance(was, list) or not isinstance(value, list) or len(was) != len(value):
        return was, value
    lines = [(old, new) for old, new in zip(was, value, strict=True) if old != new]
    return [old for old, _ in lines], [new for _, new in lines]


def _shown(field: Field | None, value: Any, customs: Customs) -> str:
    if value is None:
        return "not given"
    if isinstance(field, Entry) and field.choices:
        return next((words for choice, words in field.choices if choice_text(choice) == choice_text(value)), str(value))
    if isinstance(field, Entry) and field.measure is not None and isinstance(value, str | int | float):
        return f"{field.measure.show(value, customs)} {field.measure.unit_shown(customs)}".strip()
    if isinstance(field, Points) and isinstance(value, list):
        return _line(field, value[0], customs) if len(value) == 1 else f"{len(value)} lines"
    return str(value) if isinstance(value, str | int | float) else "other figures"


def _line(field: Points, line: Any, customs: Customs) -> str:
    """One line of a list: `6000 VA for 30 min` as `6000 VA, 30 min`."""
    figures = [line.get(key) for key in field.keys] if isinstance(line, dict) else line
    shown = (
        f"{column.measure.show(figure, customs)} {column.measure.unit_shown(customs)}".strip()
        if column.measure
        else str(figure)
        for column, figure in zip(field.columns, figures, strict=False)
        if figure is not None
    )
    return ", ".join(shown)


def _by_path(*groups: tuple[Field, ...]) -> dict[str, Field]:
    """Fields by their paths, places of lists left out."""
    fields = (field for group in groups for field in group)
    return {".".join(step for step in field.path.split(".") if not step.isdecimal()): field for field in fields}


_FIELDS: dict[str, dict[str, Field]] = {
    "appliance": _by_path(appliance.APPLIANCE, appliance.STAGE, appliance.CYCLE, appliance.START),
    "inverter": _by_path(supply.INVERTER),
    "battery": _by_path(supply.BATTERY),
    "arrays": _by_path(supply.ARRAY),
    "circuits": _by_path(supply.CIRCUIT),
    "water": _by_path(supply.WATER),
    "generator": _by_path(supply.GENERATOR),
    "rules": _by_path(supply.RULES),
    "site": _by_path(site.SITE),
    "formats": _by_path(site.FORMATS),
}
