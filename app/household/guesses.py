"""What is taken for an appliance of which only its kind is known, with the reason."""

from dataclasses import dataclass
from typing import Literal

from app.household.figures import OWN_ESTIMATE
from app.household.motors import Rests

Kind = Literal["heats", "motor", "heats_and_motor", "electronics", "light", "comes_and_goes"]


@dataclass(frozen=True, slots=True)
class Guess:
    """The watts of a kind of appliance without a label.

    watts: what is taken, give or take `spread`. rests, source: on what. why: said beside it.
    """

    watts: float
    spread: float
    rests: Rests
    source: str
    why: str


@dataclass(frozen=True, slots=True)
class Rhythm:
    """How something comes and goes of which nobody said it. why: said beside it."""

    on_s: float
    period_s: float
    longest_on_s: float
    why: str


@dataclass(frozen=True, slots=True)
class MotorShare:
    """What the motor is of a machine that heats as well: a share of its watts, and the most of it."""

    share: float
    most_w: float
    why: str


_RICHARDSON = "Richardson, Thomson, Infield and Clifford 2010"
_DOE = "United States Department of Energy, typical wattages"

_GUESSES: dict[Kind, Guess] = {
    "heats": Guess(2000, 0.5, "own", OWN_ESTIMATE, "2000 W: what heats draws 1000 to 3000 W, and few draw more."),
    "motor": Guess(
        789, 0.6, "own", OWN_ESTIMATE,
        "789 W: a motor of half a horsepower, the middle of what has a plug. Between 300 and 1300 W is usual.",
    ),
    "heats_and_motor": Guess(
        2000, 0.5, "own", OWN_ESTIMATE, "2000 W: washing machines, dishwashers and dryers draw 1000 to 3000 W."
    ),
    "electronics": Guess(
        100, 0.8, "own", OWN_ESTIMATE, "100 W: a laptop draws 50 W, a television or a computer 120 to 140 W."
    ),
    "light": Guess(10, 0.6, "own", OWN_ESTIMATE, "10 W: an LED lamp as bright as a bulb of 60 to 100 W."),
    "comes_and_goes": Guess(
        1125, 0.35, "published", _DOE, "1125 W: a portable heater has 750 to 1500 W on its label."
    ),
}  # fmt: skip
_COLD = Guess(
    150, 0.3, "published", _RICHARDSON, "150 W: fridges and freezers draw 110 to 190 W while their motor is on."
)

# How far the watts of a label are off: it is for full load, and what runs idle or half filled draws less.
LABEL_SPREADS: dict[Kind, float] = {
    "heats": 0.1, "motor": 0.25, "heats_and_motor": 0.15, "electronics": 0.3, "light": 0.1, "comes_and_goes": 0.2,
}  # fmt: skip

# Power factor, its kind and the reason, by what it does; common practice, no source.
POWER_FACTORS: dict[Kind, tuple[float, str, str]] = {
    "heats": (1.0, "lagging", "heat alone has 1"),
    "motor": (0.7, "lagging", "usual for a motor"),
    "heats_and_motor": (0.98, "lagging", "mostly heat, with a motor beside it"),
    "electronics": (0.6, "distortion", "usual for small power supplies, which distort"),
    "light": (0.6, "distortion", "usual for LED lamps, which distort"),
    "comes_and_goes": (1.0, "lagging", "heat alone has 1"),
}

# With a motor, and without one.
COMES_AND_GOES: dict[bool, Rhythm] = {
    True: Rhythm(
        900, 2700, 7200,
        "On for 15 minutes of every 45, at the longest for 2 hours: a fridge runs a third of the time, says the United"
        " States Department of Energy.",
    ),
    False: Rhythm(
        600, 1200, 3600,
        "On for 10 minutes of every 20, at the longest for an hour: an own estimate for a thermostat.",
    ),
}  # fmt: skip

MOTOR_BESIDE_HEAT = MotorShare(0.15, 400, "The motor is taken for 15 % of the label, at most 400 W, an own estimate")


def guess_of(kind: Kind, *, moves: bool) -> Guess:
    """What is taken for a kind; what comes and goes with a motor is something cold."""
    return _COLD if kind == "comes_and_goes" and moves else _GUESSES[kind]
