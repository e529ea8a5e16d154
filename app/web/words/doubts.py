"""What is taken for granted and what nobody knows, in words."""

from collections.abc import Iterable

from app.household.fields import Part
from app.household.supply import Battery, Inverter
from app.web.fields import supply
from app.web.fields.customs import Customs
from app.web.fields.entry import Entry, Field, facts
from app.web.fields.measure import plain
from app.web.words.plain import listed

_FIELDS: dict[str, tuple[tuple[Field, ...], type[Part]]] = {
    "inverter": (supply.INVERTER, Inverter),
    "battery": (supply.BATTERY, Battery),
}
_BY_NAME = {part: frozenset(model.model_fields) for part, (_, model) in _FIELDS.items()}
_NAMES = {"inverter": "Inverter", "battery": "Battery"}

_UNKNOWN = {
    "dc_fuse": "The main battery fuse is not told: whether it carries the current is not checked.",
    "no_circuits": "No circuit is told: no breaker and no cable is checked.",
    "no_breaker": "No breaker is told for {names}: it is not checked.",
    "no_cable": "No cable is told for {names}: the voltage lost on the way is not checked.",
    "half_each": "On no circuit, so half on each leg: {names}. What hangs on one leg loads that one whole: give it a"
    " circuit on that leg.",
    "no_circuit": "On no circuit: {names}. No breaker counts them.",
}


def assumed_words(part: str, field: str, worse: float, customs: Customs) -> tuple[str, str]:
    """A figure that was left out with what is taken for it, and the worse one that was tried."""
    if part == "appliances":
        return "Starts that nobody measured: taken as entered", f"half as much again ({worse:g} times)"
    fields, model = _FIELDS[part]
    entry = next(one for one in fields if one.path == field)
    assert isinstance(entry, Entry)  # figures alone are tried
    assert entry.measure is not None
    taken, tried = (
        f"{entry.measure.show(value, customs)} {entry.measure.unit_shown(customs)}".strip()
        for value in (facts(model, field).default, worse)
    )
    label = f"{entry.label[:1].lower()}{entry.label[1:]}"
    return f"{_NAMES[part]}, {label}: taken as {taken}", tried


def unknown_words(what: str, names: tuple[str, ...]) -> str:
    """Something nobody told, and what is not checked without it."""
    part = what.removeprefix("filled_in_")
    if part in _FIELDS and not names:
        return f"{_NAMES[part]}: every figure is a usual one that was filled in. Its manual or label tells yours."
    if part in _FIELDS:
        labels = dict.fromkeys(f"\u201c{_label(part, name)}\u201d" for name in names)
        return (
            f"{_NAMES[part]}: usual figures were filled in for {listed(list(labels))}. Its manual or label tells yours."
        )
    shown = listed([*names[:4], f"{len(names) - 4} more"] if len(names) > 5 else list(names))
    return _UNKNOWN[what].format(names=shown)


def bank_doubt(bank_v: float) -> str:
    """A bank of no usual voltage."""
    volts = f"{plain(bank_v)} V"
    if bank_v < 20:
        why = "Cells one after the other? Then add their volts up, and count the string as one."
    else:
        why = "Look whether these are the battery\u2019s own volts, and not those of panels or mains."
    return f"{volts} is no usual voltage of a bank: 12, 24 and 48 V are, or a little more. {why}"


def doubt_words(field: str, value_v: float, bank_v: float) -> str:
    """A voltage that is hardly meant; field: which of the supply's."""
    if field == "module_v":
        return bank_doubt(bank_v)
    value, bank = f"{plain(value_v)} V", f"{plain(bank_v)} V"
    why = "it would be empty long before" if value_v < bank_v else "it hardly ever has so much"
    return f"{value} does not fit a bank of {bank}: {why}. Look in the inverter\u2019s menu."


def doubt_named(part: str, field: str, value_v: float, bank_v: float) -> str:
    """The same away from its field."""
    label = _label(part, field)
    return f"{_NAMES[part]}, {label[:1].lower()}{label[1:]}: {doubt_words(field, value_v, bank_v)}"


def followed_words(names: Iterable[str]) -> str:
    """Which figures went along with one that was told, for they had only been filled in; empty for none.

    names: each a part and its field, `inverter.cut_off_v`.
    """
    if "water.taps_between" in (names := list(names)):
        return "The hours of the taps were filled in. Look whether they are yours."
    told = [one.partition(".") for one in names]
    known = [_label(part, name) for part, _, name in told if name in _BY_NAME.get(part, ())]
    if not known:
        return ""
    labels = listed([f"\u201c{one}\u201d" for one in dict.fromkeys(known)])
    were = "was" if len(known) == 1 else "were"
    return f"{labels} {were} only filled in and went along with it. Manual or label tell yours."


def _label(part: str, name: str) -> str:
    """A field of the supply as its form calls it; of a table, its heading."""
    entry = next((one for one in _FIELDS[part][0] if one.path.partition(".")[0] == name), None)
    return name.replace("_", " ") if entry is None else entry.label
