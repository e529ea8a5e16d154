"""Days of sun and bank made by hand, in hours and watts."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from app.engine.charge import BankDay, Dark, Lowest, Spell, Totals

HOUR_MS = 3_600_000
HORIZON_H = 36


def spell(from_h: float, to_h: float, wh: float) -> Spell:
    """A stretch of hours with its energy."""
    return Spell(round(from_h * HOUR_MS), round(to_h * HOUR_MS), wh)


def lowest(charge: float, at_h: float, below_h: float | None = None, dark_h: float | None = None) -> Lowest:
    """The least charge, when, and when reserve and light go."""
    below_ms, dark_ms = (None if hour is None else round(hour * HOUR_MS) for hour in (below_h, dark_h))
    return Lowest(charge, round(at_h * HOUR_MS), below_ms, dark_ms)


def bank_day(
    charge: Sequence[float], sun_w: Sequence[float] = (), spare_w: Sequence[float] = (), **more: Any
) -> BankDay:
    """A day in steps of equal length to noon of the next.

    charge: at the edges. sun_w, spare_w: one less each; none means no sun. more: fields of its own.
    """
    steps = len(charge) - 1
    nothing = np.zeros(steps)
    given = BankDay(
        edges_ms=np.linspace(0, HORIZON_H * HOUR_MS, steps + 1),
        state_of_charge=np.array(charge, dtype=float),
        sun_w=np.array(sun_w or nothing, dtype=float),
        spare_w=np.array(spare_w or nothing, dtype=float),
        into_w=nothing,
        out_w=nothing,
        generator_w=nothing,
        reserve=0.25,
        end_state_of_charge=0.8,
        totals=Totals(9100, 5200, 0, 0, 0, 0, 0, 0, 0, 0),
        expected=lowest(min(charge), int(np.argmin(charge)) * HORIZON_H / steps),
        pessimistic=lowest(0.36, 31),
        then_dark=Dark(None, None),
        spare=(),
        generator=(),
        generator_starts=0,
        cold_from_ms=None,
        cold_until_ms=None,
        yield_wh=float(sum(sun_w)) * HORIZON_H / steps,
        clear_wh=None,
        oktas=3.0,
        unreached_wh=None,
    )
    return replace(given, **more)
