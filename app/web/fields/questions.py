"""The fields of the three questions: what is it, what does its label say, does it have a motor."""

from app.household.motors import HORSEPOWER_W, MACHINES
from app.web.fields.entry import Entry, Field
from app.web.fields.measure import Measure
from app.web.fields.measures import AMPERES, KILOWATT_HOURS, MINUTES, TEXT, VOLTS, WATTS

_SHAFT = Measure("W", "1 1/2 hp as 1.5 hp, or 1.1 kW", others={"kW": 1000.0, "hp": HORSEPOWER_W})
_OVER = (
    (None, "each run"),
    (86400, "each day"),
    (7 * 86400, "each week"),
    (365 * 86400, "each year"),
)

RHYTHM: tuple[Field, ...] = (
    Entry("on_s", "It is on for", "Listen to it for an hour.", MINUTES, blank="as usual"),
    Entry("period_s", "once every", "From one switching on to the next.", MINUTES, blank="as usual"),
    Entry(
        "longest_on_s",
        "at the longest on for",
        "Listen on a hot day, or after it was loaded.",
        MINUTES,
        blank="as usual",
    ),
)

WHAT: tuple[Field, ...] = (
    Entry("name", "Its name", "As you call it.", TEXT),
    Entry(
        "kind",
        "What does it do with its power?",
        "What it does most of the time.",
        choices=(
            ("", "choose one"),
            ("heats", "it heats: kettle, oven, iron"),
            ("motor", "it is a motor: saw, pump, fan"),
            ("heats_and_motor", "both: washing machine, dryer"),
            ("comes_and_goes", "it comes and goes by itself: fridge, freezer, heater with a thermostat"),
            ("electronics", "electronics: computer, television, charger"),
            ("light", "it gives light"),
        ),
    ),
    Entry(
        "always_on",
        "When does it run?",
        "What is never switched off runs always: a fridge, a router.",
        choices=((False, "when it is switched on"), (True, "always")),
    ),
    Entry("run_s", "How long is a run?", "Watch it once with a clock.", MINUTES, blank="needed"),
    *RHYTHM,
)

VOLTS_BESIDE = Entry("volts", "at", "On the label, beside the amperes.", VOLTS, blank="your mains")

LABEL: tuple[Field, ...] = (
    Entry("watts", "Watts", "On the label: W or kW.", WATTS, blank="not there"),
    Entry("current_a", "or amperes", "On the label: A.", AMPERES, blank="not there"),
    VOLTS_BESIDE,
    Entry(
        "energy_wh",
        "or kilowatt-hours",
        "On the energy label, or from a plug-in meter.",
        KILOWATT_HOURS,
        blank="not known",
    ),
    Entry("energy_over_s", "these are for", "The energy label says it beside them.", choices=_OVER),
)

HAS_MOTOR = Entry(
    "motor",
    "Does it have a motor?",
    "Listen for one; a compressor is one too.",
    choices=(
        (None, "not sure"),
        ("no", "no"),
        ("yes", "yes"),
        ("soft", "yes, with a soft start or an electronic drive"),
    ),
)

PLATE: tuple[Field, ...] = (
    Entry("locked_rotor_a", "Current while it is held still", "On the motor's plate: LRA.", AMPERES, blank="no plate"),
    Entry("code_letter", "or its code letter", "On the plate: CODE, one letter from A to V.", TEXT, blank="no plate"),
    Entry("shaft_w", "and its power", "On the plate: hp or kW.", _SHAFT, blank="no plate"),
)

MACHINE = Entry(
    "machine",
    "No plate: what kind is it?",
    "Starts are known within a factor of two at best, unless measured.",
    choices=((None, "not sure"), *((key, machine.many) for key, machine in MACHINES.items())),
)

MOTOR: tuple[Field, ...] = (HAS_MOTOR, *PLATE, MACHINE)

QUESTIONS = (*WHAT, *LABEL, *MOTOR)
