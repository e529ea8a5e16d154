"""How long a level stays passed: moments at which it comes to be are followed until it has stayed too long.

How often it comes to be passed is exact; only for how long is drawn at random. (Palm's view of a stationary process:
see any text on point processes.) How many are followed is settled by how far off the figure may be.
"""

import math
from dataclasses import dataclass
from functools import partial

import numpy as np

from app.engine.draw import HAIR
from app.engine.odds.broken import Broken, Lasting, thinned, together
from app.engine.odds.by_state import ByState, by_state
from app.engine.odds.entries import Entries, Moments
from app.engine.odds.followed import Followed
from app.engine.odds.passing import SEED, Passing

LEAST, AT_ONCE = 512, 8192  # moments that are drawn together
AT_HAND = 4096  # that are followed together: as many as a processor holds at hand
PER_PASSING_A_DAY = 300  # of what comes more often the count leaves less open, and more are followed from the first
FIRST_IN_A_CROWD = 2048  # which are drawn with weights that few would not tell
# How far off a figure may be at most, in parts of itself: as far as this, and less where that takes few moments.
SURE, FINE = 0.08, 0.02
AS_DAYS, OFF = 20_000, 1.7  # fine is also: in parts of what the count in so many days would leave open
NO_MATTER, ROUGH = 0.004, 0.3  # times a day that do not matter; what is about as rare may be rougher
MOST_SURE, MOST_FINE, MOST_IN_A_CROWD = 65_536, 10_240, 16_384
NONE_AMONG = 2048  # of at least so many not one lasted: then none is expected to
KEPT = 2048  # moments at which it has lasted too long, for those who ask what came first
RARE = 1e-6  # passings a day of which it does not matter how long they last


@dataclass(frozen=True, slots=True)
class Lasted:
    """How often a level stays passed for longer than is allowed, per day; own: with each quantity still passing it.

    moments: some at which it has, as they were drawn; None where none were.
    """

    per_day: float
    own: dict[int, float]
    moments: Broken | None = None


def lasting(passing: Passing, allowed_s: float) -> Lasted:
    """How often some line is passed for longer than allowed."""
    quantities = sorted({check.quantity for check in passing.checks})
    if passing.longest_s <= allowed_s or passing.per_day <= 0:
        return Lasted(0.0, dict.fromkeys(quantities, 0.0))
    if passing.all_day:
        own = {
            one: Passing(passing.under, [check for check in passing.checks if check.quantity == one])
            for one in quantities
        }
        return Lasted(passing.per_day, {one: alone.all_day for one, alone in own.items()})
    if passing.per_day < RARE:
        return Lasted(passing.per_day, dict.fromkeys(quantities, passing.per_day))  # the safe side
    allowed_ms = allowed_s * 1000 * (1 + HAIR)
    random, moments = np.random.default_rng(SEED), Moments(passing, allowed_ms)
    count = min(max(math.ceil(PER_PASSING_A_DAY * passing.per_day), LEAST), AT_ONCE)
    most_sure, most_fine = MOST_SURE, MOST_FINE
    if moments.crowded:
        count, most_sure, most_fine = FIRST_IN_A_CROWD, MOST_IN_A_CROWD, 0
    follow = ByState(passing).follow if by_state(passing.under) else partial(_side_by_side, passing)
    followed, long = 0, list[Broken]()
    sums, squares = np.zeros(1 + len(quantities)), np.zeros(1 + len(quantities))
    while count > 0:
        entries = moments.drawn(count, random)
        if entries is None:
            return Lasted(passing.per_day, dict.fromkeys(quantities, passing.per_day))  # the safe side
        lasting = follow(entries, allowed_ms, random)
        more = lasting.sums()
        sums, squares = sums + more[0], squares + more[1]
        long.append(lasting.broken.of(np.flatnonzero(lasting.broken.weight)))
        followed += len(entries.cell)
        wanted = [_wanted(passing.per_day, followed, *pair) for pair in zip(sums, squares, strict=True)]
        enough = max(max(min(sure, most_sure), min(fine, most_fine)) for sure, fine in wanted)
        count = min(enough - followed, AT_ONCE)
    figures = (passing.per_day / followed * sums).tolist()
    return Lasted(figures[0], dict(zip(quantities, figures[1:], strict=True)), thinned(together(long), KEPT, random))


def _side_by_side(passing: Passing, entries: Entries, allowed_ms: float, random: np.random.Generator) -> Lasting:
    parts = list[Lasting]()
    for part in entries.parts(AT_HAND):
        followed = Followed(passing, part, allowed_ms, random)
        followed.run()
        parts.append(followed.lasting)
    return Lasting(np.concatenate([one.own for one in parts], axis=1), together([one.broken for one in parts]))


def _wanted(per_day: float, followed: int, weight: float, spread: float) -> tuple[int, int]:
    """How many are to be followed, as far as those that were tell, to be sure of a figure, and to tell it finely.

    weight, spread: of those that lasted too long, their weights and the squares of these, summed up.
    """
    if not weight:
        return max(NONE_AMONG, math.ceil(per_day / NO_MATTER)), 0
    long = max(weight, 1.0) / followed
    variance = max(spread / followed - long**2, 0.0) if weight >= 1 else long
    sure = min(max(NO_MATTER / (long * per_day), SURE), ROUGH) * long
    fine = min(FINE * long, OFF * math.sqrt(long / (AS_DAYS * per_day)))
    return math.ceil(variance / sure**2), math.ceil(variance / fine**2)
