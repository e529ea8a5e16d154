"""Numbers name their unit: fields and parameters of the engine and the household end in a known suffix."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

APP = Path(__file__).parents[2] / "app"
NUMBERS = {"float", "Floats", "Number"}
UNITS = (
    "_w", "_va", "_wh", "_v", "_a", "_ah", "_s", "_ms", "_c", "_k", "_l", "_m", "_mm2", "_var", "_ohm", "_deg",
    "_percent", "_w2", "_l_per_min", "_l_per_day", "_l_per_s", "_h", "_hours", "_w_m2", "_oktas",
    "_per_day", "_in_days", "per_day", "_per_run",
)  # fmt: skip
# The unit is the whole name.
WHOLE = {"watts", "volts", "va", "w", "wh", "seconds", "hours", "litres", "ms", "oktas"}
# Irradiance by the names of its trade: global horizontal, direct normal, diffuse horizontal; W/m2.
IRRADIANCE = {"ghi", "dni", "dhi", "extra_dni", "clear_ghi", "clear_of", "plane"}
# Fractions, counts and places on the globe; and words for a value whose unit stands beside it.
DIMENSIONLESS = {
    "cut_share", "turbidity", "air_mass", "pressure_share", "sine",
    "latitude", "longitude", "power_factor", "losses", "sharing", "reserve", "wanted_margin", "cloud_oktas",
    "start_state_of_charge", "state_of_charge", "end_state_of_charge",
    "temperature_coefficient", "share", "matters", "weight", "cos_phi", "factor",
    "fraction", "spread", "charge", "charge_factor", "held_from", "curved_from", "peukert", "pessimistic", "points",
    "taken", "back", "counted", "leaves", "rate", "flow", "part", "by_load", "by_plan", "left",
    "parts", "empties", "unsure", "own", "tilted", "outside", "inside", "error",
    "keeps", "filling", "emptying", "below", "above", "closely", "least", "over",
}  # fmt: skip
ANY_UNIT = {
    "limit", "use", "margin", "use_certain", "level", "value", "ceiling", "floor", "percent", "of", "one", "sums",
    "quantities", "together", "most", "begin", "end", "low", "figure", "line", "above", "figures", "certain", "mix",
    "most_first", "most_last", "point", "adds", "wanted", "each", "states", "steps", "limits",
}  # fmt: skip


def _named_numbers(path: Path) -> Iterator[tuple[str, int]]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
            name, annotation = node.target.id, node.annotation
        elif isinstance(node, ast.arg) and node.annotation is not None:
            name, annotation = node.arg, node.annotation
        else:
            continue
        words = {part.id for part in ast.walk(annotation) if isinstance(part, ast.Name)}
        if words & NUMBERS and not words & {"Callable", "tuple", "list", "dict"}:
            yield name, node.lineno


@pytest.mark.parametrize(
    "path",
    sorted([*APP.glob("engine/*.py"), *APP.glob("engine/odds/*.py"), *APP.glob("household/*.py")]),
    ids=lambda path: path.stem,
)
def test_every_number_names_its_unit(path: Path) -> None:
    """A number without a unit in its name is dimensionless and listed as such."""
    nameless = [
        f"{name} (line {line})"
        for name, line in _named_numbers(path)
        if not name.endswith(UNITS) and name not in WHOLE | IRRADIANCE | DIMENSIONLESS | ANY_UNIT and not name.isupper()
    ]

    assert nameless == []
