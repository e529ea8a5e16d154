"""How a household writes its figures: which degrees, which wire sizes; and what its mains make of amperes."""

import math
from dataclasses import dataclass
from typing import Literal

# American wire gauge by definition (ASTM B258): 36 is 0.127 mm, 0000 is 11.684 mm, with 39 equal steps between.
GAUGES = {"4/0": -3, "3/0": -2, "2/0": -1, "1/0": 0} | {str(number): number for number in range(1, 41)}


@dataclass(frozen=True, slots=True)
class Customs:
    """What a form needs to know of the household to read what is typed.

    temperature, conductor: how these are shown. volts: at which amperes are taken. other_volts: the mains' other
    voltage, as long as nobody has said at which of the two it is; amperes alone then mean nothing yet.
    power_factor: of what is being entered, so that amperes make watts.
    """

    temperature: Literal["C", "F"] = "C"
    conductor: Literal["mm2", "awg"] = "mm2"
    volts: float = 230.0
    other_volts: float | None = None
    power_factor: float = 1.0


def gauge_mm2(number: int) -> float:
    """Cross-section of a solid wire of an American gauge, mm2; 0 stands for 1/0, -3 for 4/0.

    Source: ASTM B258, the definition of the gauge.

    >>> round(gauge_mm2(12), 2), round(gauge_mm2(-3), 1)
    (3.31, 107.2)
    """
    diameter_mm = 0.127 * 92 ** ((36 - number) / 39)
    return float(0.25 * math.pi * diameter_mm**2)


def gauge_of(mm2: float) -> str | None:
    """The gauge of a cross-section, if it is one, within half a per cent."""
    return next((name for name, number in GAUGES.items() if abs(mm2 / gauge_mm2(number) - 1) < 0.005), None)
