"""The fields of an appliance and of its stages."""

from app.web.fields.entry import Entry, Field
from app.web.fields.measures import FACTOR, LITRES, MINUTES, PER_CENT, SECONDS, TEXT, VOLT_AMPERES, WATTS

BASIS = (("typical", "typical of its kind"), ("nameplate", "its own label"), ("measured", "measured here"))
SOURCE = (
    ("own", "own estimate"),
    ("nameplate", "its label"),
    ("measured", "a meter"),
    ("published", "a published figure"),
    ("common practice", "common practice, no source"),
)

APPLIANCE: tuple[Field, ...] = (
    Entry("name", "Name", "As you call it.", TEXT),
    Entry("basis", "These figures are", "A label or a meter beats what is typical.", choices=BASIS),
    Entry("uncertainty", "They may be off by", "10 % measured, 20 to 30 % typical is a fair guess.", PER_CENT),
    Entry("source.kind", "They come from", "", choices=((None, "not said"), *SOURCE)),
    Entry("source.text", "Where exactly", "The table, the label's line, or which meter.", TEXT),
    Entry("source.date", "When", "The day it was read or measured.", TEXT),
    Entry(
        "after_cut",
        "After a power cut",
        "Switch it off at the wall while it runs, and on again: what does it do?",
        choices=(
            (None, "as such things do"),
            ("starts", "starts by itself"),
            ("waits", "waits for somebody"),
            ("stays_off", "stays off"),
        ),
        caution="A machine without a no-volt release starts again by itself when power comes back.",
    ),
)

STAGE: tuple[Field, ...] = (
    Entry("name", "What it does", "Heat, spin, sawing; may stay empty.", TEXT),
    Entry("duration_s", "For how long", "Watch it once with a clock.", MINUTES),
    Entry(
        "watts",
        "Draws",
        "On its label; amps are taken at your mains voltage. Or the kilowatt-hours of this stage over its hours, from a"
        " plug-in meter.",
        WATTS,
    ),
    Entry(
        "power_factor",
        "Power factor",
        "On the label as PF or cos \u03c6. Heat 1, motors 0.5 to 0.9, chargers 0.5 to 0.95.",
        FACTOR,
    ),
    Entry(
        "power_factor_kind",
        "of the kind of",
        "Motors lag; small electronics and LED lamps distort.",
        choices=(
            ("lagging", "a motor (lagging)"),
            ("distortion", "electronics (distortion)"),
            ("leading", "leading"),
        ),
    ),
    Entry("water_l", "Takes in water", "From the manual: litres of this stage. They start the pump.", LITRES),
)

CYCLE: tuple[Field, ...] = (
    Entry("cycle.on_s", "On for", "Listen: how long the motor or the heat is on.", MINUTES),
    Entry("cycle.period_s", "once every", "From one switching on to the next.", MINUTES),
    Entry("cycle.longest_on_s", "at the longest on for", "On a hot day, or after loading.", MINUTES, blank="as usual"),
)

START: tuple[Field, ...] = (
    Entry(
        "start.va",
        "The start draws",
        "On a motor's plate: locked-rotor current, LRA, or a code letter; see below.",
        VOLT_AMPERES,
        caution="Unless measured, starts are known within a factor of two at best.",
    ),
    Entry("start.power_factor", "at a power factor of", "0.3 to 0.6 while it starts.", FACTOR),
    Entry("start.duration_s", "for", "0.2 to 1 s on its own, longer with a heavy wheel.", SECONDS),
)

# What is said beside a field in place of the file's own words, where those speak of the file.
WORDS = {
    "cycle.on_s": "It is on for longer than the whole cycle takes; make this shorter or the cycle longer.",
    "cycle.period_s": "Say how long it takes from one switching on to the next.",
    "cycle.longest_on_s": "The longest time on is shorter than the usual one; it has to be at least that.",
    "start.va": "A start draws at least what the stage draws; give the larger figure.",
    "start.power_factor": "Say the power factor of the start; 0.5 will do if nobody knows.",
    "start.duration_s": "Say how long the start takes; 0.5 s will do if nobody knows.",
}
