"""The fields of the workshop's page: what is known better of a machine, when it is used, and its circuit."""

from dataclasses import replace

from app.household.names import LONGEST_NAME
from app.web.fields.appliance import AFTER_CUT, CURRENT, CYCLE, DOES, NAME, START, TRUST
from app.web.fields.entry import Entry, Field
from app.web.fields.measures import FACE, MINUTES, SECONDS
from app.web.fields.supply import CIRCUIT

# Of its only stage, of the appliance itself, of its run, and of what it sets off.
RHYTHM: tuple[Entry, ...] = tuple(replace(one, help="") for one in CYCLE if isinstance(one, Entry))
DRAWS: tuple[Entry, ...] = tuple(
    one for one in (*DOES, *CURRENT, *START) if isinstance(one, Entry) and one.path in {
        "watts", "power_factor", "start.va", "start.power_factor", "start.duration_s",
    }
)  # fmt: skip
ABOUT: tuple[Entry, ...] = (
    NAME,
    *(one for one in TRUST if isinstance(one, Entry) and one.path == "uncertainty"),
    *(one for one in AFTER_CUT if isinstance(one, Entry)),
)
SINCE = Entry("start", "From", "", FACE)
LASTS = Entry("duration_s", "For", "", MINUTES)
AFTER = Entry("after_s", "which starts after", "", SECONDS, blank="1 s")

RESTS = (
    ("nameplate", "from its label"),
    ("measured", "from a meter"),
    ("own", "an estimate of mine"),
)

_HELP = {
    "name": "As it will stand on the board.",
    "cable_a": "Not known here: it stands in the table of your local wiring rules, by how the cable is laid. Ask a"
    " licensed person.",
    "cable_m": "One way, from the board to the machines.",
}
WIRES: tuple[Entry, ...] = tuple(
    replace(one, help=_HELP.get(one.path, one.help)) for one in CIRCUIT if isinstance(one, Entry) and not one.choices
)
CURVE = Entry(
    "curve",
    "Its letter",
    "Before the number. B trips first, D last.",
    choices=(("B", "B"), ("C", "C"), ("D", "D")),
)

TYPED_AT_MOST = LONGEST_NAME

FIELDS: tuple[Field, ...] = (*RHYTHM, *DRAWS, *ABOUT, SINCE, LASTS, AFTER)
