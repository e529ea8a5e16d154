"""What is written beside a field that cannot be right: the validator's finding in the user's words."""

import json
from collections.abc import Iterable
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from app.household.errors import Fault

MISSING = "is missing; it is required"


def faults_of(error: ValidationError, path: str = "") -> list[Fault]:
    """Every fault of a refused part, its path beginning with `path`, each field once."""
    found: dict[str, Fault] = {}
    for detail in error.errors(include_url=False):
        where = path_of(_without_branches(detail["loc"]), path)
        if detail["type"] in _AT_FIELD:
            where += f".{detail['type']}"
        found.setdefault(where, Fault(where, _why(detail)))
    return list(found.values())


def path_of(location: Iterable[int | str], path: str = "") -> str:
    """`("appliances", 2, "watts")` as `appliances[2].watts`."""
    for step in location:
        if isinstance(step, int):
            path += f"[{step}]"
            continue
        # A name that would break the line or hide something is shown as JSON writes it.
        name = step if step.isprintable() else json.dumps(step)
        path += f".{name}" if path else name
    return path


def _without_branches(location: tuple[int | str, ...]) -> list[int | str]:
    """Leave out what is no field: the validator's own names for the branches of an either-or."""
    return [step for step in location if isinstance(step, int) or not step.startswith(("tuple[", "function-"))]


def _why(detail: ErrorDetails) -> str:
    kind, given, bounds = detail["type"], detail["input"], detail.get("ctx", {})
    if kind in _BOUNDS:
        how, right = _BOUNDS[kind]
        return f"{_shown(given)} is {how}; give a number {right.format(**bounds)}"
    if kind == "literal_error":
        return f"{_shown(given)} is not known here; give {bounds['expected']}"
    if kind in _PLAIN:
        return _PLAIN[kind].format(given=_shown(given), **bounds)
    message = detail["msg"]
    return message[0].lower() + message[1:]


def _shown(value: Any) -> str:
    """A refused value, short enough for one line."""
    text = repr(value) if isinstance(value, str) else str(value)
    return text if len(text) <= 40 else text[:37] + "..."


# Findings of a whole part that belong beside one of its fields; the kind of finding names it.
_AT_FIELD = {
    "on_s", "longest_on_s", "start.va", "start.duration_s", "overload", "restart_v", "peak_discharge_a", "taps_between",
    "taps_l_per_day", "start_below", "always_on", "controller_a", "on", "step_s",
}  # fmt: skip

_BOUNDS = {
    "greater_than": ("too small", "above {gt}"),
    "greater_than_equal": ("too small", "of at least {ge}"),
    "less_than": ("too large", "below {lt}"),
    "less_than_equal": ("too large", "of at most {le}"),
}

_PLAIN = {
    "missing": MISSING,
    "extra_forbidden": "is not a field of the household file, version 1; leave it out or check its spelling",
    "model_type": "give an object with named fields, in braces",
    "model_attributes_type": "give an object with named fields, in braces",
    "dict_type": "give an object with named fields, in braces",
    "tuple_type": "give a list, in square brackets",
    "bool_type": "{given} is neither true nor false; give one of them",
    "int_type": "{given} is not a whole number; give one",
    "int_from_float": "{given} is not a whole number; give one",
    "string_type": "give a text",
    "string_unicode": "leave out half characters",
    "too_short": "give at least {min_length} of them; here are {actual_length}",
    "too_long": "give at most {max_length} of them",
}
