"""Making ready before anybody waits."""

import numpy as np

from app.engine.odds.by_state import follow_all
from app.engine.odds.entries import instants


def get_ready() -> None:
    """Load what is compiled, or compile it where it is not kept yet: a third of a second, or two.

    Nothing is drawn and nothing is followed, but in arrays of the kinds that come later.
    """
    figures, places, random = np.zeros(0), np.zeros(0, dtype=np.intp), np.random.default_rng(0)
    short = places.astype(np.int32)
    instants(places[:, None], places[:, None], figures, places, figures[None], figures[None], figures)
    follow_all(
        np.zeros((0, 0), dtype=bool),
        places,
        figures,
        places,
        figures,
        figures,
        figures,
        figures,
        figures,
        short,
        1,
        short[:, None],
        short[None, :, None],
        False,
        0.0,
        random,
    )
