"""A rule about the bank's current, told in watts: the current rises with them, so a line in amperes is one in watts."""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from app.engine.curve import Line
from app.engine.draw import HAIR, Draws
from app.engine.heat import Rule
from app.engine.inverter import WATTS
from app.engine.kinds import Floats

MOST_W = 1e9  # more than any household draws; a line that is not passed there never is
PARTS = 64  # into which what is left is divided again and again
ROUNDING_W = 1e-10


def ruled_in_watts(rule: Rule, quantities: Callable[[Draws], Sequence[Floats]]) -> Rule | None:
    """The same rule, with watts in place of its one quantity; None where its lines move.

    quantities: what it makes of draws, which must depend on their watts alone and rise with them.
    """
    if not all(check.line.is_flat for check in rule.checks):
        return None
    limit = np.array([check.line.value[0] for check in rule.checks]) * (1 + HAIR)
    low, width = np.zeros(len(limit)), MOST_W
    parts, nothing = np.arange(1, PARTS)[:, None] / PARTS, np.zeros((PARTS - 1, len(limit)))
    while width > ROUNDING_W:
        tried = low + width * parts
        passed = quantities(Draws(tried, nothing, nothing, nothing))[0] > limit
        width /= PARTS
        low = low + width * (~passed).sum(axis=0)
    lines = [
        Line(check.line.t_ms, np.full_like(check.line.value, watts))
        for check, watts in zip(rule.checks, low / (1 + HAIR), strict=True)
    ]
    checks = [replace(check, quantity=WATTS, line=line) for check, line in zip(rule.checks, lines, strict=True)]
    return replace(rule, checks=tuple(checks), units=("W",))
