"""On which of two conductors a circuit lies, and what that gives."""

from app.household.supply import Circuit, Inverter
from app.web.fields.measure import plain


def leg_words(circuit: Circuit, inverter: Inverter) -> str:
    """`leg A, 120 V` or `both legs, 240 V`; nothing where the inverter has one conductor."""
    if inverter.legs != 2:
        return ""
    which = "both legs" if circuit.leg == "AB" else f"leg {circuit.leg}"
    return f"{which}, {_volts(circuit, inverter)}"


def circuit_choice(circuit: Circuit, inverter: Inverter) -> str:
    """A circuit among others to choose from: whoever has two voltages sees which this one gives."""
    name = circuit.name or circuit.id
    return f"{name}, {_volts(circuit, inverter)}" if inverter.legs == 2 else name


def _volts(circuit: Circuit, inverter: Inverter) -> str:
    return f"{plain(inverter.ac_voltage / (1 if circuit.leg == 'AB' else 2))} V"
