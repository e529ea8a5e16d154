"""More loads than can be written down, some of much reactive power: how often and how long, against simulated days.

The simulation is that of the benchmarks, which knows nothing of the engine but how a draw is split into watts and var.
"""

from typing import Any

import numpy as np
import pytest

from tests.benchmarks.odds import Levels, everything, household, laid, levels_of, simulated

DAYS = 4000
DRAWN = 0.1  # so far may what is drawn at random be off: SURE, and what the grid of watts leaves out
ROUGH = 0.004  # times a day that do not matter


def crowd(seed: int, reach: float, loads: int = 24) -> dict[str, Any]:
    """Some small, some large, some nearly always on; half of them draw nearly as many var as watts, and more.

    reach: where the limits lie, from the mean draw to the largest.
    """
    random = np.random.default_rng(seed)
    document = household(loads, seed)
    mean_w = most_w = 0.0
    for appliance in document["appliances"][:-1]:
        (stage,) = appliance["stages"]
        period_s, share = float(random.choice([600, 1200, 1800, 3600])), float(random.choice([0.1, 0.3, 0.6, 0.95]))
        stage["watts"] = float(random.choice([80, 200, 400, 1000, 1500]))
        stage["power_factor"] = float(random.choice([1.0, 0.9, 0.7, 0.6]))
        stage["cycle"] = {"on_s": round(period_s * share), "period_s": round(period_s)}
        stage.pop("start", None)
        mean_w, most_w = mean_w + stage["watts"] * share, most_w + stage["watts"]
    rated_va = round(mean_w + (most_w - mean_w) * reach)
    inverter = document["supply"]["inverter"]
    inverter |= {"rated_va": rated_va, "continuous_w": [[25, rated_va]]}
    inverter["overload"] = [[round(rated_va * 1.15), 300], [round(rated_va * 1.3), 60], [round(rated_va * 1.6), 5]]
    document["supply"]["battery"] |= {"modules": 20}
    return document


@pytest.mark.parametrize(("seed", "reach"), [(1, 0.4), (4, 0.5), (5, 0.2), (5, 0.4)])
def test_figures_are_those_of_simulated_days(seed: int, reach: float) -> None:
    document = crowd(seed, reach)
    day = laid(document)
    levels: Levels = levels_of(day, document)
    ours = everything(day)

    for name, (mean, error) in simulated(document, levels, DAYS).items():
        if "battery" in name:
            continue  # twenty modules: the bank is no matter here
        mine = next(value for key, value in ours.items() if key.startswith(name))
        assert abs(mine - mean) <= 4 * error + DRAWN * mean + ROUGH, (name, mine, mean, error)
