"""From which step of a stair on a line is passed, state by state: found by halving."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from app.engine.compiled import compiled
from app.engine.draw import Draws
from app.engine.kinds import Flags, Floats
from app.engine.odds.quantities import OF_INVERTER, OneQuantity, use_w
from app.engine.odds.stairs import Stairs, steps_passed

LEAST_W = 1e-9  # as the uncertainty of volt-amperes is told: `Draws.use_va`


def first_passed(
    states: Draws, certain: Draws, stairs: Stairs, quantity: OneQuantity, level: Sequence[Floats]
) -> NDArray[np.intp]:
    """Per line and state, the first step of each stair on which a quantity passes it; shape (lines, states, stairs).

    certain: of the items that stand on the stairs. level: what each line may not pass, per item. As many as there are
    steps where none is.
    """
    steps, none = certain.take(stairs.item.ravel()), np.zeros((1, 1, 1))
    lines = np.array([one[stairs.item.ravel()] for one in level])
    flat, which = bool((lines == lines[:, :1]).all()), np.arange(len(lines))[:, None, None]
    if flat and quantity in OF_INVERTER:
        in_watts = quantity is use_w
        return first_steps(states.figures, steps.figures, stairs.height, lines[:, 0], in_watts)
    beside = [a.any() or b.any() for a, b in zip(states.figures, steps.figures, strict=True)]

    def passed(mine: Draws, place: NDArray[np.intp]) -> Flags:
        total = Draws(
            mine.p_w + steps.p_w[place],
            mine.q_var + steps.q_var[place] if beside[1] else none,
            mine.d_va + steps.d_va[place] if beside[2] else none,
            mine.spread_w2 + steps.spread_w2[place] if beside[3] else none,
        )
        return np.asarray(quantity(total) > (lines[:, :1, None] if flat else lines[which, place]))

    # Most states pass no line at all.
    last = stairs.of_step(stairs.height)[None, None]
    some = np.flatnonzero(passed(states.take((slice(None), None)), last).any(axis=(0, 2)))
    mine = states.take((some, None))
    found = np.empty((len(lines), len(states.p_w), len(stairs.height)), dtype=np.intp)
    found[:] = stairs.height
    found[:, some] = steps_passed(stairs, lambda place: passed(mine, place), (len(lines), len(some)))
    return found


@compiled
def first_steps(
    states: Floats, steps: Floats, height: NDArray[np.intp], limits: Floats, in_watts: bool
) -> NDArray[np.intp]:
    """As `first_passed`, of watts or volt-amperes against lines that do not move.

    states: watts, var, distortion and spread of each, shape (4, states). steps: of each step of each stair, one stair
    after the other, shape (4, stairs times most steps). limits: shape (lines,).
    """
    count, stairs, most = states.shape[1], len(height), steps.shape[1] // len(height)
    found = np.empty((len(limits), count, stairs), dtype=np.intp)
    for line in range(len(limits)):
        for state in range(count):
            for stair in range(stairs):
                # The last step is tried first: most states pass no line at all.
                low, high = 0, height[stair]
                tried = high - 1
                while low < high:
                    step = stair * most + tried
                    p_w, limit = states[0, state] + steps[0, step], limits[line]
                    spread_w2 = states[3, state] + steps[3, step]
                    if in_watts:
                        passed = p_w + (np.sqrt(spread_w2) if spread_w2 > 0 else 0.0) > limit
                    else:
                        # Most are sure, and squares are compared without their roots.
                        if spread_w2 > 0:
                            limit /= 1 + np.sqrt(spread_w2) / max(p_w, LEAST_W)
                        q_var, d_va = states[1, state] + steps[1, step], states[2, state] + steps[2, step]
                        passed = p_w * p_w + q_var * q_var + d_va * d_va > limit * limit
                    if passed:
                        high = tried
                    else:
                        low = tried + 1
                    tried = (low + high) // 2
                found[line, state, stair] = low
    return found
