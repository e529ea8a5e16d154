"""A household's customs, for the forms."""

from app.household.household import Household
from app.web.fields.customs import Customs


def customs_of(household: Household) -> Customs:
    """How a household writes its figures. One leg of two is what a socket has."""
    inverter = household.supply.inverter
    formats = household.formats
    volts = inverter.ac_voltage / 2 if inverter.legs == 2 else inverter.ac_voltage
    return Customs(formats.temperature, formats.conductor, volts)
