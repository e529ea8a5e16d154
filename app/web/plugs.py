"""What something new plugs into, where the mains have two voltages: the same amperes are twice the watts at one."""

from dataclasses import dataclass

from app.household.household import Household
from app.web.customs import customs_of, customs_on
from app.web.fields.customs import Customs
from app.web.fields.entry import Entry
from app.web.fields.measure import plain

PLUG = "plug"


@dataclass(frozen=True)
class Plug:
    """One choice. value: as the form sends it. words: as it is read. circuit: of the household, if it names one."""

    value: str
    words: str
    customs: Customs
    circuit: str | None = None


def plugs(household: Household) -> tuple[Plug, ...]:
    """What can be chosen: either voltage, and every circuit with its own; nothing where there is one voltage."""
    inverter, small = household.supply.inverter, customs_of(household)
    if inverter.legs != 2:
        return ()
    large = Customs(small.temperature, small.conductor, inverter.ac_voltage)
    own = (
        Plug(f"on:{one.id}", f"on {one.name or one.id}, {plain(there.volts)} V", there, one.id)
        for one in household.supply.circuits
        for there in [customs_on(household, one.id)]
    )
    return (
        Plug("small", f"an ordinary plug, {plain(small.volts)} V", small),
        Plug("large", f"a large plug or none, {plain(large.volts)} V", large),
        *own,
    )


def plug_question(offered: tuple[Plug, ...]) -> Entry:
    """The question, where it is asked."""
    return Entry(
        PLUG,
        "Which plug does it have?",
        "Only amperes need it. A range, a dryer and a well pump mostly have the larger voltage.",
        choices=(("", "not said"), *((one.value, one.words) for one in offered)),
    )


def which_plug(offered: tuple[Plug, ...]) -> str:
    """What is said where amperes were given and no plug: a guess would be wrong by half."""
    low, high = (plain(one.customs.volts) for one in offered[:2])
    return f"Say which plug it has, or give the volts: the same amperes make twice the watts at {high} V as at {low} V."
