"""A household's customs, for the forms."""

from dataclasses import replace

from app.household.household import Household
from app.web.fields.customs import Customs
from app.web.fields.measures import WARMTH
from app.web.figures import MINUS
from app.web.warmth import Warmth


def customs_of(household: Household) -> Customs:
    """How a household writes its figures. One leg of two is what a socket has."""
    inverter = household.supply.inverter
    formats = household.formats
    volts = inverter.ac_voltage / 2 if inverter.legs == 2 else inverter.ac_voltage
    return Customs(formats.temperature, formats.conductor, volts)


def customs_on(household: Household, circuit_id: str | None) -> Customs:
    """The same for something on a circuit, whose voltage its amperes are at.

    circuit_id: None for what is on none. With two legs that may be at either voltage.
    """
    customs, inverter = customs_of(household), household.supply.inverter
    if inverter.legs != 2:
        return customs
    leg = next((one.leg for one in household.supply.circuits if one.id == circuit_id), None)
    if leg is None:
        return replace(customs, other_volts=inverter.ac_voltage)
    return replace(customs, volts=inverter.ac_voltage) if leg == "AB" else customs


def warmth_of(household: Household) -> Warmth:
    """How a household writes temperatures."""
    customs = customs_of(household)

    def read(text: str) -> float | None:
        found = WARMTH.read(text, customs)
        return found if isinstance(found, int | float) else None

    return Warmth(read, lambda celsius: WARMTH.show(celsius, customs).replace("-", MINUS))
