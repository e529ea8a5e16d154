"""The fields of the place, of how its people write figures, and of what must not run together."""

from app.household.household import Household
from app.web.fields.entry import Column, Entry, Field, Points
from app.web.fields.measure import Measure
from app.web.fields.measures import METRES, TEXT

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

_DEGREES = (("C", "degrees Celsius"), ("F", "degrees Fahrenheit"))
_WIRES = (("mm2", "mm\u00b2"), ("awg", "American gauge (AWG)"))

FORMATS: tuple[Field, ...] = (
    Entry("temperature", "Temperatures in", "As your thermometer has them.", choices=_DEGREES),
    Entry("conductor", "Wires in", "As printed on your cables.", choices=_WIRES),
)

INTERLOCKS = "interlocks"


def one_at_a_time(household: Household) -> Points:
    """What a switch or a habit never lets run together."""
    brought = (document for plan in household.scenarios for document in plan.changes.appliances)
    names_of = {str(one.get("id")): str(one.get("name", one.get("id"))) for one in brought}
    names_of |= {one.id: one.name for one in household.appliances}
    choices = (("", "\u2013"), *names_of.items())
    longest = max((len(one.of) for one in household.interlocks), default=0)
    names = ("never", "together with", *["nor with"] * max(longest - 2, 2))
    return Points(
        INTERLOCKS,
        "Only one at a time",
        tuple(Column(name, choices=choices) for name in names),
        "Where a switch, or a firm habit, keeps them apart. Worst cases then count the larger one alone.",
        rises=False,
    )
