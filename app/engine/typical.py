"""What is drawn on the whole rather than at worst: for energy, not for limits."""

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from app.engine.expand import Laid, Pieces
from app.engine.results import Floats

CUT_FROM_W = 300.0  # a change of the draw by less is told well enough by its mean over some minutes


@dataclass(frozen=True, eq=False)
class Profile:
    """Watts in steps. edges_ms: shape (n + 1,), rising. w: shape (n,)."""

    edges_ms: Floats
    w: Floats

    def cut(self, edges_ms: Floats) -> Floats:
        """Those edges with more between the first and the last: wherever the draw changes by much.

        What a bank loses rises faster than what it gives: the mean of a kettle and of nothing is told too well.
        """
        noticed_ms = self.edges_ms[np.abs(np.diff(self.w, prepend=0.0, append=0.0)) >= CUT_FROM_W]
        within = (noticed_ms > edges_ms[0]) & (noticed_ms < edges_ms[-1])
        return np.union1d(edges_ms, noticed_ms[within])

    def mean_on(self, edges_ms: Floats) -> Floats:
        """Means over other stretches, shape (edges - 1,); nothing is drawn outside the profile."""
        drawn = np.interp(edges_ms, self.edges_ms, self._energy)
        return np.asarray((drawn[1:] - drawn[:-1]) / (edges_ms[1:] - edges_ms[:-1]))

    def mean_from(self, begin_ms: Floats, end_ms: Floats) -> Floats:
        """Means over stretches from one instant to another, wherever they lie, of their shape."""
        begin, end = (np.interp(at_ms, self.edges_ms, self._energy) for at_ms in (begin_ms, end_ms))
        return np.asarray((end - begin) / (end_ms - begin_ms))

    @cached_property
    def _energy(self) -> Floats:
        """What is drawn up to each edge, in watts times milliseconds."""
        return np.concatenate(([0.0], np.cumsum(self.w * np.diff(self.edges_ms))))


@lru_cache(maxsize=8)
def typical_draw(laid: Laid, *, upper: bool = False) -> Profile:
    """What is drawn over the horizon: what cycles at its share of the time.

    upper: every figure at its upper end.
    """
    pieces, rows = laid.pieces, laid.rows
    w = rows.running.p_w[pieces.row] * share_on(pieces)
    if upper:
        w = w * (1 + np.array([appliance.uncertainty for appliance in rows.appliances])[pieces.appliance])
    return _stepped(pieces.begin_ms, pieces.end_ms, w, laid.horizon_ms)


@lru_cache(maxsize=4)
def repeated_day(laid: Laid, day_ms: int) -> Profile:
    """The same day over and over: the local day, with what went on past its midnight at its beginning."""
    pieces, rows = laid.pieces, laid.rows
    w = rows.running.p_w[pieces.row] * share_on(pieces)
    # What began during the day and goes on past midnight; always-on loads stand there already.
    over = (pieces.begin_ms > 0) & (pieces.begin_ms < day_ms) & (pieces.end_ms > day_ms)
    begin_ms = np.concatenate((pieces.begin_ms, np.zeros(int(over.sum()), dtype=np.int64)))
    end_ms = np.concatenate((pieces.end_ms, pieces.end_ms[over] - day_ms))
    return _stepped(np.minimum(begin_ms, day_ms), np.minimum(end_ms, day_ms), np.concatenate((w, w[over])), day_ms)


def share_on(pieces: Pieces) -> Floats:
    """Per piece, the share of its time that it draws: 1 for what does not cycle."""
    return np.where(pieces.cycling, pieces.on_ms / np.maximum(pieces.period_ms, 1), 1.0)


def _stepped(begin_ms: np.ndarray, end_ms: np.ndarray, w: Floats, until_ms: int) -> Profile:
    edges_ms, place = np.unique(np.concatenate((begin_ms, end_ms, [0, until_ms])), return_inverse=True)
    change = np.bincount(place[: 2 * len(w)], np.concatenate((w, -w)), minlength=len(edges_ms))
    return Profile(edges_ms.astype(float), np.maximum(np.cumsum(change)[:-1], 0.0))
