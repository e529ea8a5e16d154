"""Making ready before anybody waits: what takes long to load is loaded beside the first pages."""

import numpy as np

from app.engine.odds.by_state import follow_all
from app.engine.odds.entries import instants
from app.household import library


def get_ready() -> None:
    """Load what works out the sun, then the odds' loops, which are compiled where they are not kept yet: two seconds.

    One after the other, for while it compiles the compiler has the filters of warnings to itself, and a library that is
    loaded meanwhile loses what it asked of them. (Python's documentation of `warnings.catch_warnings`.)
    """
    from pvlib import clearsky, pvsystem  # noqa: F401  # with all that is asked of it elsewhere

    library.entries()  # asked whether somebody's health hangs on what draws
    # Nothing is drawn and nothing is followed, but in arrays of the kinds that come later.
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
