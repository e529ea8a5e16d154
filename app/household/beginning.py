"""The shortest way to a first verdict: a few figures of the supply, a few machines at their usual hours.

What is not asked is taken as such supplies usually have it: common practice, no source.
"""

from collections.abc import Mapping
from typing import Any, Literal, NamedTuple

from pydantic import ValidationError

from app.household import library
from app.household.fields import Part, Positive, VoltAmperes, Volts, Watts, Whole
from app.household.starting import starting_document
from app.household.supply import Supply

Mains = Literal["230", "120/240", "120"]
Chemistry = Literal["lfp", "lead_acid"]

# The volts of each mains, and its legs.
MAINS: dict[Mains, tuple[int, int]] = {"230": (230, 1), "120/240": (240, 2), "120": (120, 1)}

# Shares of the rating, and for how long: levels that many inverters have.
_OVERLOAD = ((1.2, 1800), (1.5, 60), (2.0, 5))
_AT_25, _AT_40 = 0.9, 0.78
_PEAK_SHARE, _PEAK_S = 1.8, 15
_HOURS = {"lfp": 0.5, "lead_acid": 0.2}  # amperes for hours, as a share of the ampere-hours
_CHARGE = {"lfp": 0.5, "lead_acid": 0.13}
_CUT_OFF, _RESTART = {"lfp": 0.9, "lead_acid": 0.92}, {"lfp": 0.98, "lead_acid": 1.02}
_RESERVE = {"lfp": 0.2, "lead_acid": 0.5}
_OHM_AH_PER_V = {"lfp": 0.04, "lead_acid": 0.1}  # inner resistance, by volts and ampere-hours


class Beginning(Part):
    """What is asked at first. carries_w, surge_va, gives_a: None where nobody knows."""

    mains: Mains = "230"
    rated_va: VoltAmperes
    carries_w: Watts | None = None
    surge_va: VoltAmperes | None = None
    chemistry: Chemistry = "lfp"
    modules: Whole
    module_ah: Positive
    module_v: Volts
    gives_a: Positive | None = None


class Usual(NamedTuple):
    """A machine most people have. ids: entries of the library, the first that fits the sockets is meant.

    start: when it usually runs; None for what is always on, or planned by nobody.
    """

    ids: tuple[str, ...]
    start: str | None = None
    any_time: bool = False


USUAL = (
    Usual(("fridge", "refrigerator-120")),
    Usual(("chest-freezer",)),
    Usual(("router",)),
    Usual(("lights-led",), "18:00"),
    Usual(("television",), "19:30"),
    Usual(("laptop",), "09:00"),
    Usual(("kettle", "kettle-120"), any_time=True),
    Usual(("microwave", "microwave-120"), "12:30"),
    Usual(("induction-hob", "portable-induction-120"), "18:00"),
    Usual(("washing-machine-40", "washing-machine-120"), "10:00"),
    Usual(("dryer-heat-pump", "dryer-240"), "12:00"),
    Usual(("dishwasher-40", "dishwasher-120"), "13:30"),
    Usual(("water-heater", "water-heater-240"), "11:00"),
    Usual(("vacuum-cleaner", "vacuum-cleaner-120"), "15:00"),
    Usual(("well-pump", "well-pump-120"), "08:00"),
    Usual(("table-saw", "table-saw-120"), "14:00"),
    Usual(("air-compressor", "air-compressor-120"), "16:30"),
)


def fitting(usual: Usual, mains: Mains) -> library.Entry | None:
    """The machine that is meant where these are the mains; None where the library has none for their sockets."""
    sockets = library.sockets_at(*MAINS[mains])
    entries = (library.entry(one) for one in usual.ids)
    return next((one for one in entries if not sockets.isdisjoint(one.volts)), None)


def beginning_supply(told: Beginning) -> dict[str, dict[str, Any]]:
    """The inverter and the battery of a few figures, as the file has them, by their fields in the supply.

    What was told is taken as told; a level below the rating is left to be refused where all figures are.
    """
    carries_w = told.carries_w or _round(told.rated_va * _AT_25)
    surge_va = told.surge_va or _round(told.rated_va * _OVERLOAD[-1][0])
    # Whoever tells the surge has said what is known of its levels; one that is weak there may have no others.
    usual = [] if told.surge_va else _OVERLOAD[:-1]
    overload = [[_round(told.rated_va * share), seconds] for share, seconds in usual]
    ac_voltage, legs = MAINS[told.mains]
    inverter = {
        "rated_va": told.rated_va,
        "continuous_w": [[25, carries_w], [40, _round(carries_w * _AT_40 / _AT_25)]],
        "overload": [*overload, [surge_va, _OVERLOAD[-1][1]]],
        "no_load_w": max(_round(told.rated_va * 0.006), 5),
        "peak_efficiency": 0.95,
        "peak_efficiency_at": 0.3,
        "full_load_efficiency": 0.92,
        "cut_off_v": round(told.module_v * _CUT_OFF[told.chemistry], 1),
        "restart_v": round(told.module_v * _RESTART[told.chemistry], 1),
        "ac_voltage": ac_voltage,
        **({"legs": legs} if legs > 1 else {}),
    }
    gives_a = told.gives_a or round(told.module_ah * _HOURS[told.chemistry], 1)
    battery = {
        "chemistry": told.chemistry,
        "modules": told.modules,
        "module_ah": told.module_ah,
        "module_v": told.module_v,
        "continuous_discharge_a": gives_a,
        "peak_discharge_a": round(gives_a * _PEAK_SHARE, 1),
        "peak_s": _PEAK_S,
        "continuous_charge_a": round(told.module_ah * _CHARGE[told.chemistry], 1),
        "module_resistance_ohm": max(round(_OHM_AH_PER_V[told.chemistry] * told.module_v / told.module_ah, 4), 0.0001),
        "reserve": _RESERVE[told.chemistry],
    }
    return {"inverter": inverter, "battery": battery}


def as_begun(supply: Supply) -> dict[str, tuple[str, ...]]:
    """By part, the figures that are as a beginning fills them in: whoever has never looked has left them so.

    One that somebody found on a label and that is the same counts as well: nothing tells them apart. Who has told a
    figure beyond those has looked at the rest of that part, unless it stands on no label or manual of it.
    """
    found: dict[str, tuple[str, ...]] = {}
    documents = {"inverter": supply.inverter.document(), "battery": supply.battery.document()}
    begun = _begun_of(documents)
    plain = starting_document("", "2000-01-01")["supply"]
    for part, document in documents.items():
        if document == plain[part]:
            found[part] = tuple(document)  # nothing was told at all
        elif set(document) <= {*begun[part], *_ELSEWHERE[part]}:
            names = (name for name in document if name in begun[part] and name not in _ASKED[part])
            found[part] = tuple(name for name in names if begun[part][name] == document[name])
        else:
            found[part] = ()
    return found


def following(supply: Supply, part: str, told: Mapping[str, Any]) -> dict[str, dict[str, Any]]:
    """By part, what becomes of figures that were only filled in, once others of a part are told: as if they had been
    told in the beginning. told: by their fields, as the file has them; what is among them follows nothing.
    """
    documents = {"inverter": supply.inverter.document(), "battery": supply.battery.document()}
    try:
        now = _begun_of(documents | {part: documents[part] | dict(told)})
    except ValidationError:  # what was told cannot be, and is refused where it is stored
        return {}
    was, found = _begun_of(documents), {}
    for name, filled_in in as_begun(supply).items():
        left = set(filled_in) - _ASKED[name] - (set(told) if name == part else set())
        moved = {field: now[name][field] for field in now[name] if field in left}
        found[name] = {field: value for field, value in moved.items() if value != was[name].get(field)}
    return {name: fields for name, fields in found.items() if fields}


_ELSEWHERE = {  # read off a fuse or a thermometer, or added up
    "inverter": {"room_offset_k"},
    "battery": {"dc_fuse_a", "dc_load_w", "dc_path_ohm", "room_offset_k"},
}
_ASKED = {
    "inverter": {"rated_va", "ac_voltage", "legs"},
    "battery": {"chemistry", "modules", "module_ah", "module_v"},
}


def _begun_of(documents: Mapping[str, Mapping[str, Any]]) -> dict[str, dict[str, Any]]:
    """What a beginning makes of what it asks for in an inverter and a battery."""
    inverter, battery = documents["inverter"], documents["battery"]
    mains: Mains = "120/240" if inverter.get("legs") == 2 else "120" if inverter["ac_voltage"] < 200 else "230"
    core = {name: battery[name] for name in _ASKED["battery"]}
    return beginning_supply(Beginning(mains=mains, rated_va=inverter["rated_va"], **core))


def _round(value: float) -> float:
    """Round figures: to the ten from a hundred on."""
    return round(value / 10) * 10 if value >= 100 else round(value, 1)
