"""The fields of the supply."""

from app.web.fields.entry import Column, Entry, Field, Points
from app.web.fields.measure import Measure
from app.web.fields.measures import (
    AMPERE_HOURS,
    AMPERES,
    BREAKER,
    CONDUCTOR,
    COUNT,
    DEGREES,
    FACE,
    FACING,
    FACTOR,
    LASTS,
    LITRES,
    LITRES_A_DAY,
    LITRES_A_MINUTE,
    MAINS_VOLTS,
    METRES,
    MILLIOHMS,
    PANELS,
    PER_CENT,
    PER_CENT_PER_KELVIN,
    PLAIN_WATTS,
    SECONDS,
    TEXT,
    VOLT_AMPERES,
    VOLTS,
    WARMER,
    WARMTH,
    WATTS,
)

HOURS = Measure("h", "20 or 10", others={"hours": 1.0, "hour": 1.0})

INVERTER: tuple[Field, ...] = (
    Entry(
        "rated_va",
        "Rated power",
        "On the nameplate. It counts every current, also the part that does no work.",
        VOLT_AMPERES,
    ),
    Points(
        "continuous_w",
        "What it carries for hours",
        (Column("in a room of", WARMTH), Column("carries", WATTS)),
        "In the manual under continuous output or derating. Warm rooms cost power; one line will do to begin with.",
    ),
    Points(
        "overload",
        "What it carries for a short time",
        (Column("up to", VOLT_AMPERES), Column("for at most", LASTS), Column("cools in", LASTS, optional=True)),
        "In the manual under overload or surge. If it names one figure only, enter that one. Cooling may stay empty:"
        " then it takes as long again.",
    ),
    Entry(
        "room_offset_k",
        "Its cupboard is warmer than outdoors by",
        "Hang a thermometer beside it on a busy afternoon.",
        WARMER,
    ),
    Entry(
        "no_load_w",
        "Its own use",
        "In the manual under no-load or idle consumption. A clamp meter on the battery cable shows it with all off.",
        PLAIN_WATTS,
        rare=True,
    ),
    Entry("peak_efficiency", "Efficiency at its best", "In the manual; 93 to 96 % is usual.", PER_CENT, rare=True),
    Entry(
        "peak_efficiency_at",
        "It is best at this share of its power",
        "A curve in the manual shows it; about a third is usual.",
        PER_CENT,
        rare=True,
    ),
    Entry(
        "full_load_efficiency",
        "Efficiency at full load",
        "The same curve; two or three points below the best are usual.",
        PER_CENT,
        rare=True,
    ),
    Entry(
        "cut_off_v",
        "Cut-off voltage",
        "In the inverter's menu, low battery shutdown.",
        VOLTS,
        caution="Figures for planning. Settings, earthing and terminals are for a licensed person and the local code.",
    ),
    Entry(
        "cut_off_delay_s",
        "It waits before it cuts off",
        "In the menu beside the cut-off; many do not wait at all.",
        SECONDS,
        rare=True,
    ),
    Entry(
        "restart_v", "Restart voltage", "In the menu, low battery restart.", VOLTS, blank="as the cut-off", rare=True
    ),
    Entry(
        "ac_voltage",
        "Mains voltage",
        "On the nameplate: 230 in most of the world. With two legs 240, between the outer conductors.",
        MAINS_VOLTS,
        caution="One bond between neutral and earth at a time; without one the residual-current device does not"
        " protect.",
    ),
    Entry(
        "legs",
        "Legs",
        "Two legs are the North American kind, 120 V each: each carries half.",
        choices=((1, "one"), (2, "two")),
    ),
)

BATTERY: tuple[Field, ...] = (
    Entry(
        "chemistry", "Kind", "On the label.", choices=(("lfp", "lithium iron phosphate"), ("lead_acid", "lead acid"))
    ),
    Entry(
        "modules",
        "Modules side by side",
        "Count those in parallel. A string in series counts as one, with its voltages added.",
        COUNT,
    ),
    Entry("module_ah", "Capacity of one", "On its label.", AMPERE_HOURS),
    Entry(
        "rated_hours",
        "That capacity is given over",
        "Beside it on the label: C20 means emptied evenly in 20 hours, which is usual for lead.",
        HOURS,
        rare=True,
    ),
    Entry(
        "peukert",
        "Less by fast emptying, Peukert's exponent",
        "Worked out of two capacities in its manual, at two speeds; 1 is none. 1.2 to 1.6 for flooded lead.",
        FACTOR,
        blank="1 for lithium, 1.2 for lead",
        rare=True,
    ),
    Entry("module_v", "Nominal voltage of one", "On its label: 12.8, 25.6, 48 or 51.2 are usual.", VOLTS),
    Entry(
        "health",
        "Capacity that is left",
        "100 % when new. A full discharge, counted, is the only sure way to know.",
        PER_CENT,
        rare=True,
    ),
    Entry(
        "continuous_discharge_a",
        "One gives for hours",
        "On its label or in its manual: continuous discharge current.",
        AMPERES,
    ),
    Entry("peak_discharge_a", "One gives at the very most", "In its manual: peak discharge current.", AMPERES),
    Entry("peak_s", "that for at most", "Beside the peak in the manual.", SECONDS),
    Entry(
        "continuous_charge_a",
        "One takes for hours",
        "On its label: charge current.",
        AMPERES,
        caution="Lithium cells are not charged at or below 0 \u00b0C. Lead acid gives off gas that needs ventilation.",
    ),
    Entry(
        "sharing",
        "The hardest-worked carries, against the average",
        "Modules never share quite evenly. 1.1 is common practice with equal cables, no source.",
        FACTOR,
        rare=True,
    ),
    Entry(
        "module_resistance_ohm",
        "Inner resistance of one",
        "In its manual. Measured, it is the dip in volts over the amps of that one module, not of the whole bank; that"
        " is for who may work at live terminals.",
        MILLIOHMS,
    ),
    Entry(
        "dc_path_ohm",
        "Cables, fuse and switch to the inverter",
        "Volts lost between battery and inverter over the amps just then; measured by who may work at live terminals.",
        MILLIOHMS,
        rare=True,
    ),
    Entry(
        "charge_efficiency",
        "What comes back of what goes in",
        "95 to 98 % for lithium, 80 to 85 % for lead.",
        PER_CENT,
        rare=True,
    ),
    Entry(
        "room_offset_k", "Its room is warmer than outdoors by", "Hang a thermometer beside it on a cold night.", WARMER
    ),
    Points(
        "charge_factor_by_temp",
        "How much of that it takes in the cold",
        (Column("at", WARMTH), Column("takes", PER_CENT)),
        "In its manual: charge current by temperature.",
        blank="for lithium none at 0 \u00b0C, a fifth at 5 \u00b0C, all from 15 \u00b0C; for lead always all",
        rare=True,
    ),
    Points(
        "discharge_factor_by_temp",
        "How much of that it gives in the cold",
        (Column("at", WARMTH), Column("gives", PER_CENT)),
        "In its manual: discharge current by temperature.",
        blank="for lithium half at \u221210 \u00b0C, all from 10 \u00b0C; for lead always all",
        rare=True,
    ),
    Entry(
        "dc_load_w",
        "Loads straight on the battery",
        "Router, alarm, lamps that do not go through the inverter, together.",
        PLAIN_WATTS,
        rare=True,
    ),
    Entry(
        "reserve", "Reserve", "The plan never goes below this. 20 to 30 % leave something for a grey morning.", PER_CENT
    ),
    Entry(
        "dc_fuse_a",
        "Main battery fuse",
        "Printed on the fuse itself. Look at it through the cover; do not pull it to read it.",
        AMPERES,
        blank="no such limit",
        caution="A dead short is thousands of amps. Before the fuse holder is opened: every load off, panels and"
        " generator off their chargers, then the inverter, then the main battery switch; by a licensed person.",
    ),
)

ARRAY: tuple[Field, ...] = (
    Entry("name", "Name", "As you call it: shed roof, south fence.", TEXT),
    Entry("peak_w", "Panels together", "The watts on the back of one panel, times how many: 4 x 300.", PANELS),
    Entry("tilt_deg", "Tilt", "0 lies flat, 90 stands upright. A phone laid on the panel shows it.", DEGREES),
    Entry("azimuth_deg", "Facing", "By the compass: 90 or east, 180 or south.", FACING),
    Entry(
        "coupling",
        "They feed",
        "Follow their cable: to a charge controller, or to an inverter of their own on the household's mains.",
        choices=(("dc", "the battery, by a charge controller"), ("ac", "the mains, by an inverter of their own")),
    ),
    Entry(
        "temperature_coefficient",
        "Loss by heat",
        "On the back of the panel, temperature coefficient of power.",
        PER_CENT_PER_KELVIN,
        rare=True,
    ),
    Entry("losses", "Dirt, shade and cables take", "5 to 15 % is common practice, no source.", PER_CENT, rare=True),
    Entry(
        "controller_a",
        "Its charge controller gives at most",
        "On the controller's label: amps to the battery.",
        AMPERES,
        blank="no such limit",
        caution="Panels are live whenever there is daylight, whatever is switched off.",
    ),
    Points(
        "horizon",
        "What hides the sun",
        (Column("towards", FACING), Column("up to", DEGREES)),
        "Compass direction, and how high the hill, house or trees stand there.",
        blank="an open horizon",
        rare=True,
    ),
)

CIRCUIT: tuple[Field, ...] = (
    Entry("name", "Name", "As on the board.", TEXT),
    Entry("breaker_a", "Breaker", "The number on it, behind the letter.", BREAKER, blank="no such limit"),
    Entry(
        "curve",
        "Its letter",
        "Before the number. Where there is none, B is the careful guess: it trips first.",
        choices=(("B", "B"), ("C", "C"), ("D", "D")),
    ),
    Entry("cable_m", "Cable, one way", "From the board to the last socket.", METRES, blank="no cable check"),
    Entry("conductor_mm2", "Wire size", "Printed on the cable's sheath.", CONDUCTOR, blank="no cable check"),
    Entry(
        "cable_a",
        "The cable carries",
        "From the wiring rules' table for how it is laid; ask who installed it.",
        AMPERES,
        blank="no such check",
    ),
)

WATER: tuple[Field, ...] = (
    Entry(
        "vessel_l",
        "The vessel gives between two starts",
        "Run a tap into buckets from when the pump stops until it starts.",
        LITRES,
    ),
    Entry("pump_l_per_min", "The pump lifts", "Time it filling a bucket, or see its plate.", LITRES_A_MINUTE),
    Entry("taps_l_per_day", "Taps use", "100 to 150 l for each person is usual.", LITRES_A_DAY),
    Entry("taps_between.0", "Taps run from", "When the first one gets up.", FACE),
    Entry("taps_between.1", "to", "When the last one goes to bed.", FACE),
)

GENERATOR: tuple[Field, ...] = (
    Entry(
        "rated_w",
        "Rated power",
        "On its plate: the continuous figure, not the maximum.",
        PLAIN_WATTS,
        caution="Never two sources on one board without a changeover switch. Its exhaust kills indoors.",
    ),
    Entry("charger_w", "Its charger takes", "On the charger's plate.", PLAIN_WATTS),
    Entry("start_below", "It starts below", "Charge of the battery at which you start it.", PER_CENT),
    Entry("stop_above", "It stops above", "Charge at which you stop it.", PER_CENT),
)

RULES: tuple[Field, ...] = (
    Entry("drop_running", "Voltage lost on the way, running", "5 % is common; the local code says.", PER_CENT),
    Entry("drop_starting", "and at a start", "10 % is common; motors dislike more.", PER_CENT),
    Entry(
        "trip_multiple.B", "A B breaker may trip at once from", "Times its number: 3 by IEC 60898-1.", FACTOR, rare=True
    ),
    Entry("trip_multiple.C", "a C breaker from", "Times its number: 5 by IEC 60898-1.", FACTOR, rare=True),
    Entry("trip_multiple.D", "a D breaker from", "Times its number: 10 by IEC 60898-1.", FACTOR, rare=True),
)

# What is said beside a field in place of the file's own words, where those speak of the file; by the supply's fields.
# What is wrong with another part by a figure of this one is said beside that figure: per part, path and field.
SEEN_FROM = {"battery": {"supply.generator.start_below": "reserve"}}

# Which figures may break one that stands beside them: per part, by the path of what is refused then.
BROKEN_BY: dict[str, dict[str, tuple[str, ...]]] = {
    "inverter": {"restart_v": ("cut_off_v",), "overload": ("rated_va",)},
    "battery": {"peak_discharge_a": ("continuous_discharge_a",)},
    "water": {
        "taps_between.0": ("taps_between.1", "taps_l_per_day"),
        "taps_l_per_day": ("vessel_l", "pump_l_per_min", "taps_between.0", "taps_between.1"),
    },
    "generator": {"start_below": ("stop_above",)},
}

WORDS: dict[str, dict[str, str]] = {
    "inverter": {
        "overload": "The first line has to lie above the rated power; a lower one would not be an overload.",
        "continuous_w": "Give at least one line: a temperature, and what it carries for hours then.",
        "restart_v": "The restart voltage lies below the cut-off; it has to be at least that.",
    },
    "battery": {
        "peak_discharge_a": "The peak lies below what one gives for hours; it has to be at least that.",
    },
    "water": {
        "taps_between": "Say from when to when the taps run, within one day, such as 06:30 to 22:30.",
        "taps_l_per_day": "The taps would draw more than the pump can lift in that time; lower them.",
    },
    "generator": {
        "start_below": "It has to start at a lower charge than it stops at, and not below the battery's reserve.",
    },
    "arrays": {
        "controller_a": "Panels with an inverter of their own on the mains have no charge controller; leave it empty.",
    },
}
