"""The limits that follow the energy: the reserve the bank should keep, and what the generator carries."""

from collections.abc import Iterator

import numpy as np

from app.engine.charge import BankDay
from app.engine.draw import HAIR, Draws
from app.engine.readings import View
from app.engine.results import ChargeReading, Flags, Floats, LimitReading, Verdict
from app.engine.traces import Trace

TIGHT_POINTS = 10.0


def energy_limits(house: View, bank: BankDay) -> Iterator[LimitReading]:
    """The readings `reserve` and, on a day on which it runs, `generator`."""
    yield _reserve(bank)
    generator = house.resolved.household.supply.generator
    if generator is not None and bank.generator:
        yield _generator(house, bank, generator.rated_w, generator.charger_w)


def energy_traces(house: View, bank: BankDay) -> Iterator[Trace]:
    """The same limits over the day, as `traces_of` gives the others."""
    charge = 100 * np.minimum(bank.state_of_charge[:-1], bank.state_of_charge[1:])
    reserve = np.full((2, len(charge)), 100 * bank.reserve)
    yield Trace("reserve", "floor", "%", bank.edges_ms, charge, reserve)
    generator = house.resolved.household.supply.generator
    if generator is not None and bank.generator:
        t_ms = with_generator_edges(bank, house.scope.t_ms)
        use_w = house.scope.worst.use_w[house.scope.stretch_at(t_ms[:-1])] + generator.charger_w
        use_w = np.where(generator_runs(bank, t_ms), use_w, 0.0)
        yield Trace("generator", "ceiling", "W", t_ms, use_w, np.full((2, len(use_w)), float(generator.rated_w)))


def generator_carries_w(house: View) -> float:
    """What a generator, while it runs, carries beside its charger; infinitely much where there is none."""
    generator = house.resolved.household.supply.generator
    return np.inf if generator is None else float(generator.rated_w - generator.charger_w)


def with_generator_edges(bank: BankDay, t_ms: Floats) -> Floats:
    """Edges of stretches, and those between them at which the generator starts and stops."""
    bounds_ms = [bound for spell in bank.generator for bound in (spell.from_ms, spell.to_ms)]
    return np.union1d(t_ms, np.clip(np.array(bounds_ms, dtype=float), t_ms[0], t_ms[-1]))


def generator_runs(bank: BankDay, t_ms: Floats) -> Flags:
    """In which stretches between edges the generator runs at some instant."""
    runs = np.zeros(len(t_ms) - 1, dtype=bool)
    for spell in bank.generator:
        runs |= (t_ms[:-1] < spell.to_ms) & (t_ms[1:] > spell.from_ms)
    return runs


def _reserve(bank: BankDay) -> LimitReading:
    """Typical draw decides: over is below the reserve, or dark whatever that is; a darker day's makes it tight."""
    lowest, limit = 100 * bank.expected.state_of_charge, 100 * bank.reserve
    margin = lowest - limit
    verdict: Verdict = "fits"
    if margin < TIGHT_POINTS * (1 - HAIR) or bank.pessimistic.below_ms is not None:
        verdict = "tight"
    if bank.pessimistic.dark_ms is not None:
        verdict = "tight"
    if bank.expected.below_ms is not None or bank.expected.dark_ms is not None:
        verdict = "over"
    passed = [at_ms for at_ms in (bank.expected.below_ms, bank.expected.dark_ms) if at_ms is not None]
    return LimitReading(
        id="reserve", direction="floor", limit=limit, unit="%", use=lowest, margin=margin,
        at_ms=bank.expected.at_ms, verdict=verdict, verdict_certain=verdict, use_certain=lowest,
        broken_at_ms=min(passed) if passed else None,
        charge=ChargeReading(
            bank.expected.below_ms, bank.expected.dark_ms, 100 * bank.pessimistic.state_of_charge,
            bank.pessimistic.below_ms, bank.pessimistic.dark_ms,
        ),
    )  # fmt: skip


def _generator(house: View, bank: BankDay, rated_w: float, charger_w: float) -> LimitReading:
    """The worst draw of the house and the charger on top of it, while the generator runs."""
    scope = house.scope
    runs = generator_runs(bank, scope.t_ms)

    def most(draws: Draws) -> tuple[float, int]:
        use_w: Floats = np.where(runs, draws.use_w + charger_w, -np.inf)
        return float(use_w.max()), int(np.argmax(use_w))

    use_w, stretch = most(scope.worst)
    certain_w, _ = most(scope.certain)
    begins_ms = [spell.from_ms for spell in bank.generator if spell.to_ms > scope.t_ms[stretch]]
    at_ms = int(np.ceil(max(scope.t_ms[stretch], min(begins_ms))))
    wanted = house.resolved.day.wanted_margin

    def verdict(use: float) -> Verdict:
        if use > rated_w * (1 + HAIR):
            return "over"
        return "tight" if rated_w - use < wanted * rated_w * (1 - HAIR) else "fits"

    return LimitReading(
        id="generator", direction="ceiling", limit=rated_w, unit="W", use=use_w, margin=rated_w - use_w,
        at_ms=at_ms, verdict=verdict(use_w), verdict_certain=verdict(certain_w), use_certain=certain_w,
        contributors=house.contributors(at_ms), broken_at_ms=at_ms if verdict(use_w) == "over" else None,
    )  # fmt: skip
