"""What a rule limits, made of draws: watts and volt-amperes, or whatever else a rule is told in."""

from collections.abc import Callable

import numpy as np

from app.engine.draw import Draws
from app.engine.kinds import Floats

OneQuantity = Callable[[Draws], Floats]


def use_w(draws: Draws) -> Floats:
    """Watts for limits, as `Draws.use_w`; quicker where all are sure."""
    return draws.use_w if draws.spread_w2.any() else draws.p_w


def use_va(draws: Draws) -> Floats:
    """Volt-amperes for limits, as `Draws.use_va`; quicker where all are sure."""
    if draws.spread_w2.any():
        return draws.use_va
    square = draws.p_w * draws.p_w
    square += draws.q_var * draws.q_var
    if draws.d_va.any():
        square += draws.d_va * draws.d_va
    return np.asarray(np.sqrt(square, out=square))


OF_INVERTER: tuple[OneQuantity, ...] = (use_w, use_va)  # as `app.engine.inverter.quantities`
