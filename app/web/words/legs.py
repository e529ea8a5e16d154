"""On which of two conductors a circuit lies, and what that gives."""

from app.household.supply import Circuit, Inverter
from app.web.fields.measure import plain


def leg_words(circuit: Circuit, inverter: Inverter) -> str:
    """`leg A, 120 V` or `both legs, 240 V`; nothing where the inverter has one conductor."""
    if inverter.legs != 2:
        return ""
    if circuit.leg == "AB":
        return f"both legs, {plain(inverter.ac_voltage)} V"
    return f"leg {circuit.leg}, {plain(inverter.ac_voltage / 2)} V"


def circuit_choice(circuit: Circuit, inverter: Inverter) -> str:
    """A circuit among others to choose from: whoever has two voltages sees which this one gives."""
    return ", ".join(filter(None, (circuit.name or circuit.id, leg_words(circuit, inverter))))
