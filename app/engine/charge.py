"""What is found about sun and bank over a day: frozen results, codes and numbers only."""

from dataclasses import dataclass
from typing import NamedTuple

from app.engine.kinds import Floats


class Spell(NamedTuple):
    """A stretch of time, and the energy that goes with it."""

    from_ms: int
    to_ms: int
    wh: float


@dataclass(frozen=True, slots=True)
class Totals:
    """Energies of the local day, 00:00 to 24:00, in Wh; from the instant at which the charge is known.

    sun_used_wh + generator_wh = served_wh + dc_served_wh + losses_wh + stored_wh. spare_sun_wh: what the panels
    could have given and nobody could use. unserved_wh: what the house wanted while it was dark.
    into_bank_wh, out_of_bank_wh: at its terminals; stored_wh: what its store gained.
    """

    sun_used_wh: float
    spare_sun_wh: float
    into_bank_wh: float
    out_of_bank_wh: float
    served_wh: float
    dc_served_wh: float
    unserved_wh: float
    losses_wh: float
    stored_wh: float
    generator_wh: float


@dataclass(frozen=True, slots=True)
class Lowest:
    """The least charge over the horizon, and what it leads to.

    below_ms: when the reserve is passed. dark_ms: when the house goes dark. None for never within the horizon.
    """

    state_of_charge: float
    at_ms: int
    below_ms: int | None
    dark_ms: int | None


@dataclass(frozen=True, slots=True)
class Dark:
    """What comes when two days without any sun follow this one, all else as on this day.

    reserve_ms: when the reserve is passed. generator_ms: when the generator would start, None too if it runs already.
    dark_ms: when the house goes dark. None for not in two days.
    """

    reserve_ms: int | None
    generator_ms: int | None
    dark_ms: int | None = None


@dataclass(frozen=True, slots=True, eq=False)
class BankDay:
    """Sun and bank over the day and into the next morning, on the whole, not at worst.

    edges_ms: shape (n + 1,), from the instant at which its charge is known to the horizon. state_of_charge: shape
    (n + 1,), at the edges.
    Means over the steps, shape (n,): sun_w, what the controllers could give; spare_w, of that what nobody can use;
    into_w, out_w, at the bank's terminals; generator_w.
    reserve: as the household set it. expected, pessimistic: the lowest charge as the plan has it, and with every
    draw at its upper end and two oktas more.
    spare: when there is sun to spare. generator: when it runs, with what it gives.
    cold_from_ms, cold_until_ms: when it is too cold to charge though the sun shines; None if it never is.
    yield_wh: what the panels would give on the local day, all of it. clear_wh: the same under a clear sky, where the
    day's yield is told or measured; else None.
    oktas: the cloud as dim as this day; None where no sun comes. unreached_wh: a yield that was told and cannot be.
    """

    edges_ms: Floats
    state_of_charge: Floats
    sun_w: Floats
    spare_w: Floats
    into_w: Floats
    out_w: Floats
    generator_w: Floats
    reserve: float
    end_state_of_charge: float
    totals: Totals
    expected: Lowest
    pessimistic: Lowest
    then_dark: Dark
    spare: tuple[Spell, ...]
    generator: tuple[Spell, ...]
    generator_starts: int
    cold_from_ms: int | None
    cold_until_ms: int | None
    yield_wh: float
    clear_wh: float | None
    oktas: float | None
    unreached_wh: float | None

    def charge_at(self, at_ms: float) -> float:
        """State of charge at an instant: linear between the edges."""
        import numpy as np

        return float(np.interp(at_ms, self.edges_ms, self.state_of_charge))
