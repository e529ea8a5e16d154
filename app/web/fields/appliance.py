"""The fields of an appliance and of its stages."""

from app.web.fields.entry import Entry, Field
from app.web.fields.measures import (
    FACTOR,
    KILOWATT_HOURS,
    LITRES,
    MINUTES,
    PER_CENT,
    SECONDS,
    TEXT,
    VOLT_AMPERES,
    WATTS,
)

BASIS = (("typical", "typical of its kind"), ("nameplate", "its own label"), ("measured", "measured here"))
RESTARTS = (("starts", "starts by itself"), ("waits", "waits for somebody"), ("stays_off", "stays off"))
SOURCE = (
    ("own", "own estimate"),
    ("nameplate", "its label"),
    ("measured", "a meter"),
    ("published", "a published figure"),
    ("common practice", "common practice, no source"),
)

NAME = Entry("name", "Name", "As you call it.", TEXT)

TRUST: tuple[Field, ...] = (
    Entry("basis", "These figures are", "A label or a meter beats what is typical.", choices=BASIS),
    Entry("uncertainty", "They may be off by", "10 % measured, 20 to 30 % typical is a fair guess.", PER_CENT),
    Entry("source.kind", "They come from", "Where you read them.", choices=((None, "not said"), *SOURCE)),
    Entry("source.text", "Where exactly", "The table, the label's line, or which meter.", TEXT),
    Entry("source.date", "When", "The day it was read or measured.", TEXT),
)

AFTER_CUT: tuple[Field, ...] = (
    Entry(
        "after_cut",
        "After a power cut",
        "In its manual, or as it did after the last cut. Do not try it out with saws, compressors or medical devices.",
        choices=((None, "as such things do"), *RESTARTS),
        caution="A machine without a no-volt release starts again by itself when power comes back.",
    ),
)

APPLIANCE: tuple[Field, ...] = (NAME, *TRUST, *AFTER_CUT)

DOES: tuple[Field, ...] = (
    Entry("name", "What it does", "Heat, spin, sawing; may stay empty.", TEXT),
    Entry("duration_s", "For how long", "Watch it once with a clock.", MINUTES),
    Entry("watts", "Draws", "On its label: W or kW. Amperes will do: 8.7 A, or 8.7 A at 120 V.", WATTS),
)

# No figure of the file: it is turned into watts over the length of its stage.
ENERGY = Entry("energy_wh", "or uses in all", "On a plug-in meter: zero it before, read it after.", KILOWATT_HOURS)

CYCLE: tuple[Field, ...] = (
    Entry("cycle.on_s", "On for", "Listen: how long the motor or the heat is on.", MINUTES),
    Entry("cycle.period_s", "once every", "From one switching on to the next.", MINUTES),
    Entry(
        "cycle.longest_on_s",
        "at the longest on for",
        "Listen on a hot day, or after it was loaded.",
        MINUTES,
        blank="as usual",
    ),
)

CURRENT: tuple[Field, ...] = (
    Entry(
        "power_factor",
        "Power factor",
        "On the label as PF or cos \u03c6. Else: heat 1, motors 0.5 to 0.9, chargers 0.5 to 0.95.",
        FACTOR,
    ),
    Entry(
        "power_factor_kind",
        "because it has",
        "What is in it: a motor, or small electronics and LED lamps.",
        choices=(
            ("lagging", "a motor (lagging)"),
            ("distortion", "electronics (distortion)"),
            ("leading", "capacitors (leading)"),
        ),
    ),
)

WATER = Entry("water_l", "Takes in water", "In the manual, or by a bucket. Its litres start your pump.", LITRES)

START: tuple[Field, ...] = (
    Entry(
        "start.va",
        "The start draws",
        "Measured with a meter that holds the peak; or worked out of the motor's plate, just below.",
        VOLT_AMPERES,
        caution="Unless measured, starts are known within a factor of two at best.",
    ),
    Entry("start.power_factor", "at a power factor of", "Nobody prints it; 0.3 to 0.6 is common practice.", FACTOR),
    Entry("start.duration_s", "for", "Listen: 0.2 to 1 s on its own, longer with a heavy wheel.", SECONDS),
)

STAGE: tuple[Field, ...] = (*DOES, *CURRENT, WATER)

# Which figures may break one that stands beside them, by the path of what is refused then.
BROKEN_BY = {
    "cycle.on_s": ("cycle.period_s",),
    "cycle.longest_on_s": ("cycle.on_s", "cycle.period_s"),
    "start.va": ("watts", "power_factor"),
    "start.duration_s": ("cycle.period_s",),
}

# What is said beside a field in place of the file's own words, where those speak of the file.
WORDS = {
    "cycle.on_s is missing": "Say how long it is on at a time.",
    "cycle.on_s": "It is on for longer than the whole cycle takes; make this shorter or the cycle longer.",
    "cycle.period_s": "Say how long it takes from one switching on to the next.",
    "cycle.longest_on_s": "The longest time on is shorter than the usual one; it has to be at least that.",
    "start.va is missing": "Say what it draws while it starts, in volt-amperes.",
    "start.va": "A start draws at least what the stage draws; give the larger figure.",
    "start.power_factor": "Say the power factor of the start; 0.5 will do if nobody knows.",
    "start.duration_s is missing": "Say how long the start takes; 0.5 s will do if nobody knows.",
    "start.duration_s": "It starts for longer than its whole cycle takes; make this shorter or the cycle longer.",
}
