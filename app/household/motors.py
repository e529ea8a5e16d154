"""From what a motor's label says to its running draw and its start, each with its spread and its source.

Tables: NFPA 70 (NEC) 430.248, running current; 430.7(B), code letters; 430.251(A), locked-rotor current. What no
table gives is a range by the kind of machine, as the library of typical machines has it: common practice.
"""

from bisect import bisect_left
from dataclasses import dataclass
from functools import cache
from typing import Literal

from app.household.errors import Fault, HouseholdFaults
from app.household.figures import COMMON_PRACTICE, OWN_ESTIMATE
from app.household.library import sources

HORSEPOWER_W = 746.0  # as the tables count it

Rests = Literal["published", "common practice", "nameplate", "own"]
Machine = Literal["brushes", "drum", "fan", "fridge", "compressor", "pump", "belt", "unknown"]


@dataclass(frozen=True, slots=True)
class Derived:
    """A figure worked out from what is known.

    value: in W or VA, as its maker says. spread: plus or minus, as a fraction of the value.
    kind, source: what it rests on, as an appliance's source has it. how: how it follows, a sentence.
    """

    value: float
    spread: float
    kind: Rests
    source: str
    how: str

    @property
    def between(self) -> tuple[float, float]:
        """The least and the most it may be."""
        return self.value * (1 - self.spread), self.value * (1 + self.spread)


@dataclass(frozen=True, slots=True)
class Running:
    """What a motor draws while it runs: W, VA and the power factor between them."""

    watts: Derived
    va: Derived
    power_factor: float


@dataclass(frozen=True, slots=True)
class Starting:
    """What a motor draws at switch-on, and for how long.

    va: the start, in VA. power_factor: meanwhile, lagging.
    """

    va: Derived
    power_factor: float
    duration_s: float


@dataclass(frozen=True, slots=True)
class Habit:
    """How a kind of machine starts: as many times the running VA as `factor`, give or take `spread`.

    many: such machines, in words. power_factor: while it runs. at_start: the start's, and its seconds.
    """

    many: str
    factor: float
    spread: float
    power_factor: float
    at_start: tuple[float, float]


# Common practice, no source; utilities' sheets for the same machine range from 1.5 to 7 times the running draw.
MACHINES: dict[Machine, Habit] = {
    "brushes": Habit("hand tools, vacuum cleaners and mixers", 2.0, 0.5, 0.95, (0.8, 0.3)),
    "drum": Habit("washing machines and dryers", 2.5, 0.5, 0.65, (0.6, 0.4)),
    "fan": Habit("fans and blowers", 2.2, 0.5, 0.75, (0.6, 0.5)),
    "fridge": Habit("fridges and freezers", 4.5, 0.5, 0.65, (0.5, 0.4)),
    "compressor": Habit("air compressors and air conditioners", 4.0, 0.5, 0.8, (0.6, 1.0)),
    "pump": Habit("water pumps", 4.0, 0.5, 0.78, (0.6, 0.6)),
    "belt": Habit("standing saws, planers, lathes and extractors", 4.0, 0.5, 0.75, (0.6, 0.8)),
    "unknown": Habit("other motors", 5.0, 0.6, 0.7, (0.6, 0.8)),
}
_SOFT_FACTOR, _SOFT_SPREAD, _SOFT_START = 1.5, 0.4, (0.8, 2.0)

# Horsepower: amperes at 230 V; at 115 V twice as many, so the volt-amperes are the same. NEC Table 430.248.
_RUNNING_A = {
    1 / 6: 2.2, 1 / 4: 2.9, 1 / 3: 3.6, 1 / 2: 4.9, 3 / 4: 6.9, 1.0: 8.0, 1.5: 10.0, 2.0: 12.0, 3.0: 17.0, 5.0: 28.0,
    7.5: 40.0, 10.0: 50.0,
}  # fmt: skip
_TABLE_V = 230
# The same for a locked rotor, NEC Table 430.251(A): a ceiling for choosing switches, not a usual start. Every row is
# six times that of the table above.
_LOCKED_A = {1 / 2: 29.4, 3 / 4: 41.4, 1.0: 48.0, 1.5: 60.0, 2.0: 72.0, 3.0: 102.0, 5.0: 168.0, 7.5: 240.0, 10.0: 300.0}
_LOCKED_SOURCE = "NFPA 70 (NEC), Table 430.251(A), locked-rotor currents of single-phase motors"

# kVA a horsepower at which each letter's band begins; it ends where the next begins. NEC Table 430.7(B).
_BANDS = {
    "A": 0.0, "B": 3.15, "C": 3.55, "D": 4.0, "E": 4.5, "F": 5.0, "G": 5.6, "H": 6.3, "J": 7.1, "K": 8.0, "L": 9.0,
    "M": 10.0, "N": 11.2, "P": 12.5, "R": 14.0, "S": 16.0, "T": 18.0, "U": 20.0, "V": 22.4,
}  # fmt: skip
LETTERS = "".join(_BANDS)

# A motor may start a fifth above its plate (IEC 60034-1's tolerance on locked-rotor current, from memory), and rarely
# runs at just its full load.
_LOCKED_SPREAD, _TABLE_SPREAD, _BEYOND_SPREAD = 0.2, 0.25, 0.5


def running_of_shaft(shaft_w: float, machine: Machine = "unknown") -> Running:
    """The full-load draw of a motor of so much power at its shaft: its horsepower, or the kilowatts on its plate.

    Inside NEC Table 430.248 (1/6 to 10 hp) between its rows; beyond it in proportion, which is said.
    """
    horsepower = shaft_w / HORSEPOWER_W
    current_a, inside = _between_rows(_RUNNING_A, shaft_w)
    va = current_a * _TABLE_V
    how, table = f"A motor of {horsepower:.3g} hp draws {va:.0f} VA at full load", _title("nec-430-248")
    if inside:
        return _running(Derived(va, _TABLE_SPREAD, "published", table, f"{how}, by the table."), machine)
    how += "; the table ends at 1/6 and at 10 hp, so this is its last row in proportion."
    return _running(Derived(va, _BEYOND_SPREAD, "own", f"{OWN_ESTIMATE}, from {table}", how), machine)


def start_of_locked_rotor(locked_a: float, mains_v: float, machine: Machine = "unknown") -> Starting:
    """The start of a motor whose label gives its locked-rotor amperes (LRA) at a voltage."""
    va = locked_a * mains_v
    how = f"{locked_a:g} A with a locked rotor, at {mains_v:g} V, is {va:.0f} VA."
    return _starting(Derived(va, _LOCKED_SPREAD, "nameplate", "the label's locked-rotor amperes", how), machine)


def start_of_code_letter(letter: str, shaft_w: float, machine: Machine = "unknown") -> Starting:
    """The start of a motor with a code letter: the middle of its band, kVA a horsepower, times its horsepower.

    Raises HouseholdFaults at `code_letter` for a letter that is none.
    """
    low, high = code_letter_band(letter)
    horsepower = shaft_w / HORSEPOWER_W
    letter = letter.strip().upper()
    if high is None:
        per_hp, spread, band = low, 0.2, f"at least {low:g} kVA a horsepower, and taken as just that"
    elif low == 0:
        per_hp, spread, band = high, 0.2, f"less than {high:g} kVA a horsepower, and taken as that"
    else:
        per_hp, spread, band = (low + high) / 2, (high - low) / (high + low), f"{low:g} to {high:g} kVA a horsepower"
    va = per_hp * horsepower * 1000
    how = f"Code letter {letter} is {band}; for {horsepower:.3g} hp that is {va:.0f} VA."
    return _starting(Derived(va, spread, "published", _title("nec-430-7-b"), how), machine)


def code_letter_band(letter: str) -> tuple[float, float | None]:
    """The kVA a horsepower of a code letter, from and to below; V has no upper end.

    Raises HouseholdFaults at `code_letter` for a letter that is none.

    >>> code_letter_band("k"), code_letter_band("V")
    ((8.0, 9.0), (22.4, None))
    """
    found = letter.strip().upper()
    if found not in _BANDS:
        why = f"{found!r} is no code letter; it is one of {LETTERS}, on the motor's plate as CODE or KVA CODE"
        raise HouseholdFaults([Fault("code_letter", why)])
    begins = [*_BANDS.values(), None]
    place = LETTERS.index(found)
    return _BANDS[found], begins[place + 1]


def start_without_label(running_va: float, machine: Machine = "unknown", shaft_w: float | None = None) -> Starting:
    """The start of a motor of which nothing is known but its kind: a multiple of its running draw, far from sure.

    shaft_w: its power at the shaft, so that the ceiling of NEC Table 430.251(A) can be named.
    """
    habit = MACHINES[machine]
    va = habit.factor * running_va
    low, high = habit.factor * (1 - habit.spread), habit.factor * (1 + habit.spread)
    how = (
        f"{habit.many.capitalize()} start at {low:.2g} to {high:.2g} times what they run at;"
        f" {habit.factor:g} times {running_va:.0f} VA is {va:.0f} VA."
    )
    ceiling = None if shaft_w is None else start_ceiling(shaft_w)
    if ceiling is not None:
        how += f" For choosing a switch {ceiling.value:.0f} VA would be reckoned with."
    return _starting(Derived(va, habit.spread, "common practice", COMMON_PRACTICE, how), machine)


def start_held_down(running_va: float) -> Starting:
    """The start of a motor with a soft start or an electronic drive."""
    va = _SOFT_FACTOR * running_va
    how = f"A soft start or a drive holds the start to about {_SOFT_FACTOR:g} times {running_va:.0f} VA, {va:.0f} VA."
    return Starting(Derived(va, _SOFT_SPREAD, "common practice", COMMON_PRACTICE, how), *_SOFT_START)


def start_ceiling(shaft_w: float) -> Derived | None:
    """The most a single-phase motor's start is reckoned with, VA; None outside NEC Table 430.251(A), 1/2 to 10 hp."""
    current_a, inside = _between_rows(_LOCKED_A, shaft_w)
    if not inside:
        return None
    va = current_a * _TABLE_V
    how = f"{shaft_w / HORSEPOWER_W:.3g} hp with a locked rotor: {va:.0f} VA at most."
    return Derived(va, 0.0, "published", _LOCKED_SOURCE, how)


def _running(va: Derived, machine: Machine) -> Running:
    habit = MACHINES[machine]
    watts = va.value * habit.power_factor
    how = f"{va.how} At a power factor of {habit.power_factor:g}, usual for such a motor, that is {watts:.0f} W."
    return Running(Derived(watts, va.spread, va.kind, va.source, how), va, habit.power_factor)


def _starting(va: Derived, machine: Machine) -> Starting:
    return Starting(va, *MACHINES[machine].at_start)


def _between_rows(rows: dict[float, float], shaft_w: float) -> tuple[float, bool]:
    """Amperes of a table, linear between two rows; beyond it the last row in proportion, and False."""
    horsepower, sizes = shaft_w / HORSEPOWER_W, list(rows)
    if not sizes[0] * (1 - 1e-3) <= horsepower <= sizes[-1] * (1 + 1e-3):
        nearest = sizes[0] if horsepower < sizes[0] else sizes[-1]
        return rows[nearest] * horsepower / nearest, False
    above = min(max(bisect_left(sizes, horsepower), 1), len(sizes) - 1)
    low, high = sizes[above - 1], sizes[above]
    part = min(max((horsepower - low) / (high - low), 0.0), 1.0)
    return rows[low] + (rows[high] - rows[low]) * part, True


@cache
def _title(key: str) -> str:
    """A published source's title, as the library lists it."""
    return next(one.title for one in sources() if one.key == key)
