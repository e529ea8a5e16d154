"""What the things and figures of a household are called where one is told beside another, and how each is written."""

import json
from typing import Any

from app.household.differences import Path
from app.household.household import Household
from app.household.names import shortened
from app.household.resolve import DAY_FIELDS
from app.web.customs import customs_of
from app.web.fields import appliance, supply
from app.web.fields.customary import in_degrees
from app.web.fields.entry import Entry, Field, Points
from app.web.fields.measure import Measure
from app.web.fields.reading import choice_text
from app.web.fields.times import seconds_text
from app.web.figures import SPACE
from app.web.words.plain import listed
from app.web.words.plans import day_name, day_value

LONGEST = 80
NOTHING = "not given"
_PARTS = {
    "name": "Its name",
    "site": "Where it is",
    "formats": "How figures are written",
    "any_time": "Any-time loads",
    "interlocks": "One at a time",
    "inverter": "Inverter",
    "battery": "Battery",
    "water": "Water",
    "generator": "Generator",
    "rules": "Voltage lost and breakers",
    "circuits": "Circuits",
    "arrays": "Solar arrays",
    "appliances": "Appliances",
    "scenarios": "Plans",
}
# What a figure is called here: it has no field in a form, or one whose label only speaks beside its neighbours.
_LABELS = {
    "source.kind": "figures come from",
    "source.text": "figures are told by",
    "source.date": "figures told on",
    "basis": "figures are",
    "uncertainty": "figures may be off by",
    "power_factor_kind": "kind of power factor",
    "cycle.on_s": "by itself on for",
    "start.va": "start draws",
    "start.power_factor": "power factor of the start",
    "start.duration_s": "start lasts",
    "peak_s": "peak lasts at most",
    "drop_starting": "voltage lost on the way, at a start",
    "trip_multiple.C": "a C breaker may trip at once from",
    "trip_multiple.D": "a D breaker may trip at once from",
    "altitude_m": "metres above the sea",
    "timezone": "time zone",
    "conductor": "wire sizes in",
    "fed_from": "fed from",
    "pump": "its pump",
    "taps_between": "taps run",
    "sets_off": "also starts",
    "always_on": "always on",
    "at_most": "on together at most",
    "of": "these",
    "off": "off",
    "parent": "builds on",
    "cloud_oktas": "sky",
    "ambient_c": "temperatures",
    "start_state_of_charge": "battery charge",
    "state_of_charge_at": "battery charge is that at",
    "wanted_margin": "wanted margin",
    "expected_yield_wh": "expected yield",
    "measured_day": "sun of a measured day",
    "start": "starts",
    "after": "waits for",
    "after_s": "later by",
    "within_s": "at most later by",
    "window": "may start within",
}
_TABLES: dict[str, tuple[Field, ...]] = {
    "inverter": supply.INVERTER,
    "battery": supply.BATTERY,
    "arrays": supply.ARRAY,
    "circuits": supply.CIRCUIT,
    "water": supply.WATER,
    "generator": supply.GENERATOR,
    "rules": supply.RULES,
    "appliances": appliance.APPLIANCE,
    "stages": (*appliance.STAGE, *appliance.CYCLE, *appliance.START),
}


class Naming:
    """Names and figures of two states of one household, the later one's where both have some."""

    def __init__(self, before: Household, after: Household) -> None:
        self._customs = customs_of(after)
        self._timezone = after.site.timezone
        self._appliances: dict[str, str] = {}
        self._circuits: dict[str, str] = {}
        self._plans: dict[str, str] = {}
        self._arrays: dict[int, str] = {}
        for state in (before, after):
            brought = [entry for plan in state.scenarios for entry in plan.changes.appliances]
            self._appliances |= {str(entry["id"]): str(entry["name"]) for entry in brought}
        for state in (before, after):
            self._appliances |= {one.id: one.name for one in state.appliances}
            self._circuits |= {one.id: one.name or one.id for one in state.supply.circuits}
            self._plans |= {one.id: one.name for one in state.scenarios}
            self._arrays |= {place: one.name for place, one in enumerate(state.supply.arrays) if one.name}

    def thing(self, thing: Path) -> str:
        """What people call a thing: an appliance, a plan, a circuit by its name."""
        match thing:
            case ("supply", "circuits", str(one)):
                return f"Circuit {self._circuits.get(one, one)}"
            case ("supply", "arrays", int(place)):
                return f"Solar array {self._arrays.get(place, place + 1)}"
            case ("appliances", str(one)):
                return self.appliance(one)
            case ("scenarios", str(one)):
                return self._plans.get(one, one)
            case _:
                return _PARTS.get(str(thing[-1]), str(thing[-1]))

    def appliance(self, appliance_id: str | int) -> str:
        """An appliance by its name."""
        return self._appliances.get(str(appliance_id), str(appliance_id))

    def appliances(self, ids: list[str]) -> str:
        """Appliances by their names."""
        return listed([self.appliance(one) for one in ids]) or NOTHING

    def figure(self, field: Field | None, name: str, value: Any) -> str:
        """A figure as the household writes it. field: the form's, if there is one; name: the figure's in the file."""
        if value is None:
            return NOTHING
        if isinstance(value, bool):
            return "yes" if value else "no"
        chosen = field.choices if isinstance(field, Entry) else ()
        if words := [words for one, words in chosen if choice_text(one) == choice_text(value)]:
            return words[0]
        if isinstance(value, str) and name in ("name", "text"):
            return value
        if isinstance(field, Entry) and field.measure and isinstance(value, str | int | float):
            return self._measured(field.measure, value)
        if isinstance(field, Points) and isinstance(value, list):
            return ", ".join(self._point(field, point) for point in value) or NOTHING
        if name in DAY_FIELDS:
            return day_value(name, value, self._customs)
        if name == "date":
            return f"{day_name(value, self._timezone)} {value[:4]}"
        if name in ("duration_s", "within_s", "after_s"):
            return seconds_text(value).replace(" ", SPACE)
        if name in ("window", "taps_between"):
            return f"{value[0]} to {value[1]}"
        if name in ("circuit", "fed_from"):
            return str(self._circuits.get(value, value))
        if name == "parent":
            return str(self._plans.get(value, value))
        if name in ("appliance", "pump", "of", "off"):
            return self.appliances(value if isinstance(value, list) else [value])
        return as_in_the_file(value)

    def _point(self, field: Points, point: Any) -> str:
        figures = [point.get(key) for key in field.keys] if isinstance(point, dict) else point
        shown = [(column, value) for column, value in zip(field.columns, figures, strict=False) if value is not None]
        return SPACE.join(
            self.appliance(value) if column.choices else self._measured(column.measure, value)
            for column, value in shown
        )

    def as_usual(self, text: str) -> str:
        """What holds where nothing is given, in the household's degrees."""
        return in_degrees(text, self._customs)

    def _measured(self, measure: Measure | None, value: Any) -> str:
        if measure is None:
            return as_in_the_file(value)
        return f"{measure.show(value, self._customs)} {measure.unit_shown(self._customs)}".strip().replace(" ", SPACE)


def label_of(names: list[str], field: Field | None) -> str:
    """What a figure is called. names: the fields that lead to it; field: the form's, if there is one."""
    own = _LABELS.get(".".join(names[-2:])) or _LABELS.get(names[-1])
    return own or (field.label if field else names[-1].replace("_", " "))


def field_of(thing: Path, inside: Path) -> Field | None:
    """The form's field for a figure, if there is one."""
    whole = (*thing, *inside)
    steps = [step for step in whole if isinstance(step, str)]
    for place in range(len(steps) - 1, -1, -1):
        for field in _TABLES.get(steps[place], ()):
            # A thing that goes by its id has that between its list and its figure.
            if field.path in (".".join(steps[place + 1 :]), ".".join(steps[place + 2 :])):
                return field
    return None


def as_in_the_file(value: Any) -> str:
    """A value as the file has it, if it is short."""
    text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    return NOTHING if value is None else shortened(text, LONGEST)
