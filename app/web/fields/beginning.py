"""The fields of the first page of a new household."""

from app.web.fields.entry import Entry
from app.web.fields.measures import AMPERE_HOURS, AMPERES, COUNT, VOLT_AMPERES, VOLTS, WATTS

NEEDED = "needed"

BEGINNING: tuple[Entry, ...] = (
    Entry(
        "mains",
        "Your mains",
        "What the inverter's sockets give.",
        choices=(("230", "230 V"), ("120/240", "120/240 V, two legs"), ("120", "120 V")),
    ),
    Entry("rated_va", "The inverter's rated power", "On its nameplate: VA or kVA.", VOLT_AMPERES, blank=NEEDED),
    Entry(
        "carries_w",
        "It carries for hours",
        "In its manual: continuous watts at 25 \u00b0C. Empty stands for nine tenths of its power.",
        WATTS,
        blank="as usual",
    ),
    Entry(
        "surge_va",
        "It gives for a start",
        "In its manual: surge or peak, for 5 seconds.",
        VOLT_AMPERES,
        blank="twice that",
    ),
    Entry(
        "chemistry",
        "Your battery",
        "On its label.",
        choices=(("lfp", "lithium iron phosphate"), ("lead_acid", "lead acid")),
    ),
    Entry("modules", "How many side by side", "A string in series counts as one.", COUNT, blank=NEEDED),
    Entry("module_ah", "Capacity of one", "On its label: Ah.", AMPERE_HOURS, blank=NEEDED),
    Entry("module_v", "Voltage of one", "On its label; of a string in series, added up.", VOLTS, blank=NEEDED),
    Entry(
        "gives_a",
        "One gives for hours",
        "On its label: continuous discharge current. Empty stands for half its Ah, of lead a fifth.",
        AMPERES,
        blank="as usual",
    ),
)
WORDS = {
    "surge_va": "What it gives for a start has to lie above its rated power.",
    "carries_w": "What it carries for hours is more than it can be; look at its rated power too.",
}
