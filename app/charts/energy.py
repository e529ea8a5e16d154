"""Sun and bank over the day: charge and sun on the day's own axis, whoever draws it."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from app.engine.results import BankDay, Floats

BAR_MS = 30 * 60_000
POINTS = 36 * 6 + 1  # of the charge: about every ten minutes
LEAST_W = 1.0  # less sun than this makes no bar


class Extreme(NamedTuple):
    """A point of the charge that is worth a label. at_ms: when. charge: 0 to 1."""

    at_ms: int
    charge: float


class Bar(NamedTuple):
    """Half an hour of sun.

    from_share, to_share: of the day's axis. used_w, spare_w: means over it, what is used and what nobody can use.
    """

    from_share: float
    to_share: float
    used_w: float
    spare_w: float


class Stretch(NamedTuple):
    """Some part of the day's axis, in shares of it."""

    from_share: float
    to_share: float


@dataclass(frozen=True, slots=True, eq=False)
class EnergyChart:
    """What sun and bank do on the day's axis, all of it on the whole, not at worst.

    at: shape (n,), shares of the axis, rising to 1 from where the charge is known. charge: shape (n,), state of
    charge there, 0 to 1. reserve: 0 to 1. lowest, highest: the extremes of the charge, each the first of its kind.
    bars: where there is sun. generator: when it runs. spare: the longest stretch with sun to spare; None for none.
    """

    at: Floats
    charge: Floats
    reserve: float
    lowest: Extreme
    highest: Extreme
    bars: tuple[Bar, ...]
    generator: tuple[Stretch, ...]
    spare: Stretch | None
    day_ms: int
    horizon_ms: int

    def share(self, at_ms: float) -> float:
        """Where an instant lies on the axis, 0 to 1."""
        return min(max(at_ms / self.horizon_ms, 0.0), 1.0)

    @property
    def most_w(self) -> float:
        """The tallest bar; 0 without sun."""
        return max((bar.used_w + bar.spare_w for bar in self.bars), default=0.0)


def energy_chart(bank: BankDay, day_ms: int, horizon_ms: int) -> EnergyChart:
    """Describe a day's sun and bank. day_ms: midnight. horizon_ms: the right end of the axis."""
    most = int(np.argmax(bank.state_of_charge))
    lowest = Extreme(bank.expected.at_ms, bank.expected.state_of_charge)
    highest = Extreme(round(float(bank.edges_ms[most])), float(bank.state_of_charge[most]))
    at_ms = np.union1d(np.linspace(bank.edges_ms[0], horizon_ms, POINTS), [lowest.at_ms, highest.at_ms])

    def stretch(from_ms: int, to_ms: int) -> Stretch:
        return Stretch(from_ms / horizon_ms, to_ms / horizon_ms)

    longest = max(bank.spare, key=lambda spell: spell.to_ms - spell.from_ms, default=None)
    return EnergyChart(
        at=at_ms / horizon_ms,
        charge=np.interp(at_ms, bank.edges_ms, bank.state_of_charge),
        reserve=bank.reserve,
        lowest=lowest,
        highest=highest,
        bars=_bars(bank, horizon_ms),
        generator=tuple(stretch(spell.from_ms, spell.to_ms) for spell in bank.generator),
        spare=stretch(longest.from_ms, longest.to_ms) if longest else None,
        day_ms=day_ms,
        horizon_ms=horizon_ms,
    )


def means_w(bank: BankDay, watts: Floats, edges_ms: Floats) -> Floats:
    """Means over other steps than the bank's own, the energy kept.

    watts: shape (steps of the bank,). edges_ms: shape (n + 1,), rising, within the day. Returns shape (n,).
    """
    so_far = np.concatenate(([0.0], np.cumsum(watts * np.diff(bank.edges_ms))))
    return np.asarray(np.diff(np.interp(edges_ms, bank.edges_ms, so_far)) / np.diff(edges_ms))


def _bars(bank: BankDay, horizon_ms: int) -> tuple[Bar, ...]:
    edges_ms = np.append(np.arange(0.0, horizon_ms, BAR_MS), float(horizon_ms))
    sun_w, spare_w = (means_w(bank, watts, edges_ms) for watts in (bank.sun_w, bank.spare_w))
    shares = (edges_ms / horizon_ms).tolist()
    return tuple(
        Bar(shares[place], shares[place + 1], sun - spare, spare)
        for place, (sun, spare) in enumerate(zip(sun_w.tolist(), spare_w.tolist(), strict=True))
        if sun >= LEAST_W
    )
