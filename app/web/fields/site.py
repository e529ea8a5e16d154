"""The fields of the place, of how its people write figures, and of what must not run together."""

from app.household.household import Household
from app.web.fields.entry import Column, Entry, Field, Points
from app.web.fields.measures import METRES, TEXT, Measure

_NORTH = Measure(
    "\u00b0 north",
    "54.5, or \u221233.9 in the south",
    others={"\u00b0": 1.0, "N": 1.0, "\u00b0N": 1.0, "S": -1.0, "\u00b0S": -1.0},
)
_EAST = Measure(
    "\u00b0 east",
    "13.4, or \u22122.5 in the west",
    others={"\u00b0": 1.0, "E": 1.0, "\u00b0E": 1.0, "W": -1.0, "\u00b0W": -1.0},
)

SITE: tuple[Field, ...] = (
    Entry("timezone", "Time zone", "As Area/City, like Europe/Dublin.", TEXT),
    Entry("latitude", "Latitude", "A map shows it when you press on the place.", _NORTH),
    Entry("longitude", "Longitude", "The second of the map's two figures.", _EAST),
    Entry("altitude_m", "Height above the sea", "Only the sun needs it; a guess will do.", METRES),
)

FORMATS: tuple[Field, ...] = (
    Entry("temperature", "Temperatures in", "", choices=(("C", "degrees Celsius"), ("F", "degrees Fahrenheit"))),
    Entry("conductor", "Wires in", "", choices=(("mm2", "mm\u00b2"), ("awg", "American gauge (AWG)"))),
)

INTERLOCKS = "interlocks"


def one_at_a_time(household: Household) -> Points:
    """What a switch or a habit never lets run together."""
    choices = (("", "\u2013"), *((one.id, one.name) for one in household.appliances))
    names = ("never", "together with", "nor with", "nor with")
    return Points(
        INTERLOCKS,
        "Only one at a time",
        tuple(Column(name, choices=choices) for name in names),
        "Where a switch, or a firm habit, keeps them apart. Worst cases then count the larger one alone.",
        rises=False,
    )
