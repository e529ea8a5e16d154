"""Words that all results share: the verdict ladder, and arrays by their kind."""

from typing import Literal

import numpy as np
from numpy.typing import NDArray

Verdict = Literal["fits", "tight", "short_time", "chance", "over"]
LADDER: tuple[Verdict, ...] = ("fits", "tight", "short_time", "chance", "over")

Floats = NDArray[np.float64]
Instants = NDArray[np.int64]
Flags = NDArray[np.bool_]


def worst_of(*verdicts: Verdict) -> Verdict:
    """The worst of some verdicts; `fits` of none."""
    return max(verdicts, key=LADDER.index, default="fits")
