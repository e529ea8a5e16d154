"""The band in which the running draw lies nearly always."""

import numpy as np

from app.engine.kinds import Floats
from app.engine.likely import Band
from app.engine.odds.loads import Loads
from app.engine.odds.tables import table_of

OUTSIDE = 0.025  # at either side


def band_of(loads: Loads) -> Band:
    """Between which watts the draw of a scope lies 95 % of the time, in each stretch."""
    scope = loads.scope
    low_w, high_w = scope.certain.p_w.copy(), scope.certain.p_w.copy()
    if len(loads.on_ms):
        for group in loads.groups(np.arange(len(scope.begin_ms))):
            table = table_of(loads, int(group[0]))
            low, high = _between(table.draws.p_w, table.weight)
            low_w[group] += low
            high_w[group] += high
    return Band(scope.t_ms, low_w, high_w)


def _between(watts: Floats, weight: Floats) -> tuple[float, float]:
    """The least and the most of watts, without what lies outside at either side."""
    order = np.argsort(watts, kind="stable")
    reached = np.cumsum(weight[order])
    places = np.searchsorted(reached, [OUTSIDE, 1 - OUTSIDE - 1e-12])
    low, high = watts[order][np.minimum(places, len(watts) - 1)]
    return float(low), float(high)
