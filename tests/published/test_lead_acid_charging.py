"""What lead acid keeps of what it is charged with: Stevens and Corey, Sandia, near top-of-charge efficiency study.

Read: above 95 % at low charge, and falling near full. From memory: about 91 % overall from empty to 84 %, about 55 %
of what comes in between 79 and 84 %, below 50 % above 90 %; so those are checked loosely.
"""

import numpy as np

from app.engine.cells import TABLE, cells_of
from app.engine.results import Floats
from app.household.supply import Battery
from tests.published.plain import BATTERY


def keeps(efficiency: float = 1.0) -> Floats:
    """By the state of charge, in thousandths."""
    battery = Battery.model_validate(
        BATTERY | {"chemistry": "lead_acid", "module_v": 48, "charge_efficiency": efficiency}
    )
    return np.array(cells_of(battery).keeps[:TABLE])


def overall(begin: int, end: int, efficiency: float = 1.0) -> float:
    """Of a charge between two states, in thousandths."""
    return float((end - begin) / (1 / keeps(efficiency)[begin:end]).sum())


def test_it_keeps_nearly_all_when_low_and_never_more_later() -> None:
    """Above 95 %, then falling."""
    assert keeps()[:700].min() > 0.95
    assert (np.diff(keeps()) <= 0).all()
    assert keeps()[950] < keeps()[500]


def test_near_full_as_remembered() -> None:
    """About 55 % between 79 and 84 %, half or less above 90 %, about 91 % from empty to 84 %."""
    assert 0.45 < overall(790, 840) < 0.70
    assert keeps()[901:].max() <= 0.5
    assert 0.88 < overall(0, 840, 0.97) < 0.95


def test_lithium_keeps_the_same_at_any_charge() -> None:
    """The bank's own efficiency."""
    battery = Battery.model_validate(BATTERY | {"charge_efficiency": 0.97})
    assert set(cells_of(battery).keeps) == {0.97}
