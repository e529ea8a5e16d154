"""The fields of the three questions: what is it, what does its label say, does it have a motor."""

from app.household.motors import HORSEPOWER_W, MACHINES
from app.web.fields.entry import Entry, Field
from app.web.fields.measures import AMPERES, MINUTES, TEXT, VOLTS, WATTS, Measure, Power

_SHAFT = Power("W", "1 1/2 hp as 1.5 hp, or 1.1 kW", others={"kW": 1000.0, "hp": HORSEPOWER_W})
_ENERGY = Measure("kWh", "0.9 or 250", per_unit=1000, others={"Wh": 1.0})
_OVER = (
    (None, "each run"),
    (86400, "each day"),
    (7 * 86400, "each week"),
    (365 * 86400, "each year"),
)

WHAT: tuple[Field, ...] = (
    Entry("name", "What is it?", "As you call it.", TEXT),
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
        "",
        choices=((False, "when it is switched on"), (True, "always")),
    ),
    Entry("run_s", "How long is a run?", "Watch it once with a clock.", MINUTES, blank="always on"),
    Entry("on_s", "If it comes and goes: on for", "Listen to it.", MINUTES, blank="as usual for such"),
    Entry("period_s", "once every", "From one switching on to the next.", MINUTES, blank="as usual for such"),
    Entry(
        "longest_on_s", "at the longest on for", "On a hot day, or after loading.", MINUTES, blank="as usual for such"
    ),
)

LABEL: tuple[Field, ...] = (
    Entry("watts", "Watts", "On the label: W or kW.", WATTS, blank="not on the label"),
    Entry("current_a", "or amperes", "On the label: A.", AMPERES, blank="not on the label"),
    Entry("volts", "at volts", "Beside the amperes.", VOLTS, blank="your mains"),
    Entry("energy_wh", "or energy", "On the energy label, or from a plug-in meter.", _ENERGY, blank="not known"),
    Entry("energy_over_s", "that is", "", choices=_OVER),
)

MOTOR: tuple[Field, ...] = (
    Entry(
        "motor",
        "Does it have a motor?",
        "A compressor is one.",
        choices=(
            (None, "not sure"),
            ("no", "no"),
            ("yes", "yes"),
            ("soft", "yes, with a soft start or an electronic drive"),
        ),
    ),
    Entry("shaft_w", "Its power at the shaft", "On the motor's plate: hp or kW.", _SHAFT, blank="no plate"),
    Entry("locked_rotor_a", "Locked-rotor current", "On the plate: LRA.", AMPERES, blank="no plate"),
    Entry("code_letter", "or code letter", "On the plate: CODE, one letter from A to V.", TEXT, blank="no plate"),
    Entry(
        "machine",
        "No plate: what kind is it?",
        "Starts are known within a factor of two at best, unless measured.",
        choices=((None, "not sure"), *((key, machine.many) for key, machine in MACHINES.items())),
    ),
)

QUESTIONS = (*WHAT, *LABEL, *MOTOR)
