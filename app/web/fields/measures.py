"""The measures that the fields use, by name."""

from app.web.fields.customary import Conductor, Warmth
from app.web.fields.measure import Loss, Measure, Share, Words
from app.web.fields.panels import Breaker, Compass, Panels
from app.web.fields.power import Power
from app.web.fields.times import Face, Length

WATTS = Power("W", "2000, 2 kW or 8.7 A", others={"kW": 1000.0, "watts": 1.0, "watt": 1.0})
PLAIN_WATTS = Measure("W", "2000 or 2 kW", others={"kW": 1000.0, "watts": 1.0, "watt": 1.0})
VOLT_AMPERES = Power("VA", "5000, 5 kVA or 21 A", others={"kVA": 1000.0, "W": 1.0, "kW": 1000.0}, apparent=True)
KILOWATT_HOURS = Measure("kWh", "0.9, or 900 Wh", per_unit=1000, others={"Wh": 1.0})
MAINS_VOLTS = Measure("V", "230 or 120", others={"volts": 1.0})
VOLTS = Measure("V", "46 or 51.2", others={"volts": 1.0})
AMPERES = Measure("A", "50 or 16", others={"amps": 1.0, "mA": 0.001})
AMPERE_HOURS = Measure("Ah", "100")
MILLIOHMS = Measure(
    "m\u03a9", "20", per_unit=0.001, others={"\u03a9": 1.0, "ohm": 1.0, "mohm": 0.001, "milliohm": 0.001}
)
PER_CENT = Share("%", "25 or 92.5", per_unit=0.01, others={"per cent": 0.01, "percent": 0.01})
PER_CENT_PER_KELVIN = Loss("% per \u00b0C", "0.35", per_unit=0.01, others={"%/K": 0.01, "%/\u00b0C": 0.01, "%": 0.01})
FACTOR = Measure("", "0.85 or 1")
COUNT = Measure("", "a whole number, such as 4", whole=True)
BREAKER = Breaker("A", "16 or 20", others={"amps": 1.0})
FACING = Compass("\u00b0", "180 or south", others={"deg": 1.0})
PANELS = Panels("W", "1200, 1.2 kW or 4 x 300", others={"kW": 1000.0, "watts": 1.0, "watt": 1.0, "Wp": 1.0})
DEGREES = Measure("\u00b0", "35", others={"deg": 1.0})
WARMTH = Warmth("\u00b0C", "25 or \u22125")
WARMER = Warmth("\u00b0C", "5 or \u22123", difference=True)
METRES = Measure("m", "45", others={"km": 1000.0, "ft": 0.3048, "feet": 0.3048})
CONDUCTOR = Conductor("mm\u00b2", "2.5, or 12 AWG")
LITRES = Measure("l", "24", others={"L": 1.0, "litres": 1.0, "gal": 3.785411784})
LITRES_A_MINUTE = Measure("l/min", "30", others={"l/h": 1 / 60, "gpm": 3.785411784, "l/s": 60.0})
LITRES_A_DAY = Measure("l a day", "200", others={"l": 1.0, "L": 1.0})
MINUTES = Length("min", "20 min, 1 h 30 or 48 s", per_unit=60)
LASTS = Length("", "30 min, 1 min or 5 s", per_unit=1, named=True)
SECONDS = Length("s", "0.4 s, 5 s or 1 min", per_unit=1)
TEXT = Words("", "a name")
FACE = Face("", "06:30 or 6:30 pm")
