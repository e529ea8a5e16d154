"""How often a plan's worst case is to be expected: the house, its legs and its bank, if habits are independent.

Loads that cycle are independent of one another, each at a random point of its period. What one excursion breaks in
several ways counts once. Excursions are taken one by one; what a store still holds of the last one counts where it
fills on the mean, or where loads come again before it is empty. Starts of two loads in one second are left out, as are
orders of more than a day.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from app.engine.at_most import may_break
from app.engine.day import PlannedDay
from app.engine.heat import Rule
from app.engine.inverter import VOLT_AMPERES, WATTS
from app.engine.levels import levels_of
from app.engine.likely import Above, Band, Lasting
from app.engine.odds.band import band_of
from app.engine.odds.filling import filled
from app.engine.odds.lasting import Lasted, lasting
from app.engine.odds.loads import Loads, loads_of
from app.engine.odds.passing import Passing
from app.engine.odds.quantities import OF_INVERTER, OneQuantity
from app.engine.odds.started import Starts
from app.engine.odds.starting import each_overloading_start, risky_stretches
from app.engine.odds.stores import by_any_store, by_stores
from app.engine.odds.trips import trips_per_day
from app.engine.odds.under import UnderRule
from app.engine.odds.watts import ruled_in_watts
from app.engine.readings import View
from app.engine.restart import too_much_again
from app.engine.results import LimitReading, Verdict
from app.household import library

ONCE_A_DAY = 1.0
NOW_AND_THEN = 1e-4  # a day: what is seldomer is no order that anybody will meet


@dataclass(frozen=True, eq=False)
class Ruled:
    """One view under one rule, and how often it is broken."""

    view: View
    under: UnderRule

    @property
    def rule(self) -> Rule:
        """The rule."""
        return self.under.rule

    @cached_property
    def _passings(self) -> list[Passing]:
        """Of the level of each store of the rule."""
        return [Passing(self.under, self.rule.of_store(store)) for store in range(len(self.rule.allowed_s))]

    @cached_property
    def carries_a_vital_load(self) -> bool:
        """Whether somebody's health or safety hangs on what draws at some time at which the rule may be broken."""
        vital, scope = _vital_pieces(self.view), self.view.scope
        if not len(vital):
            return False
        pieces, at_ms = self.view.laid.pieces, scope.begin_ms[risky_stretches(self.view, self.under)]
        begins, ends = (np.searchsorted(at_ms, edge[vital]) for edge in (pieces.begin_ms, pieces.end_ms))
        return bool((ends > begins).any())

    @cached_property
    def lasted(self) -> list[Lasted]:
        """Per store of the rule, by one passing that lasts too long."""
        return list(map(lasting, self._passings, self.rule.allowed_s))

    @cached_property
    def filled(self) -> list[Lasted]:
        """Per store of the rule, how much more often it holds too much: by passings that follow on one another."""
        return [self._filled(store, lasted) for store, lasted in enumerate(self.lasted)]

    def _filled(self, store: int, lasted: Lasted) -> Lasted:
        passing = self._passings[store]
        more = by_stores(passing, store, lasted) if lasted.per_day < ONCE_A_DAY else None
        if more is None:
            mean = filled(passing, store)
            own = {of: mean.own[of] - lasted.own[of] for of in mean.own}
            more = Lasted(mean.per_day - lasted.per_day, own)
        return Lasted(max(more.per_day, 0.0), {of: max(one, 0.0) for of, one in more.own.items()})

    @cached_property
    def held(self) -> list[Lasted]:
        """Per store of the rule, how often it holds too much, either way."""
        return [
            Lasted(one.per_day + more.per_day, {of: one.own[of] + more.own[of] for of in one.own})
            for one, more in zip(self.lasted, self.filled, strict=True)
        ]

    @cached_property
    def broken_per_day(self) -> float:
        """How often the rule is broken in any way; what breaks it in several at once counts once."""
        starts, top = Starts(self.view, self.under), Passing(self.under, self.rule.of_store(None))
        trips = trips_per_day(starts, top, self.lasted, self._passings[0])
        filled = {store: more.per_day for store, more in enumerate(self.filled) if more.per_day > 0}
        whole = sum(filled.values())
        together = by_any_store(self._passings, list(filled), trips) if len(filled) > 1 else None
        return trips + (whole if together is None else min(max(together, 0.0), whole))


def _vital_pieces(view: View) -> NDArray[np.intp]:
    """Places of the pieces of medical devices and alarms that a view sees."""
    seen, appliances = view.laid.pieces.appliance, view.laid.rows.appliances
    vital = np.array([library.is_vital(one.id, one.name) for one in appliances], dtype=bool)
    return np.flatnonzero(vital[seen] & (view.scope.weight[seen] > 0))


class Expected(dict[str, float]):
    """How often a day each limit is broken, worked out when it is first asked for."""

    def __init__(self, figures: Mapping[str, tuple[Ruled, Callable[[Ruled], float]]]) -> None:
        super().__init__()
        self._figures = figures

    def __missing__(self, limit: str) -> float:
        ruled, of = self._figures[limit]
        self[limit] = of(ruled)
        return self[limit]


@dataclass(frozen=True, eq=False)
class OddsOfDay:
    """How often what the worst case warns of is to be expected; each figure is worked out when it is first asked for.

    chances: ids of the limits that only the worst case breaks. passed: of those that it passes for a time. until_ms: up
    to when is counted; to local midnight where it is not given.
    """

    day: PlannedDay
    chances: frozenset[str]
    until_ms: float | None = None
    passed: frozenset[str] = frozenset()
    _of_house: list[Loads] = field(default_factory=list)  # inverter and bank see the same

    @cached_property
    def per_day(self) -> dict[str, float]:
        """Expected times a day at which a limit is broken, by its id; only where nobody's health hangs on it."""
        told = (limit for limit in self._figures if not self._figures[limit][0].carries_a_vital_load)
        return {limit: self._expected[limit] for limit in told if self.is_chance(limit)}

    def is_chance(self, limit: str) -> bool:
        """Whether only the worst case breaks it: some pattern does, or else it is to be expected now and then."""
        return limit in self.chances or (limit in self.doubtful and self._expected[limit] >= NOW_AND_THEN)

    @cached_property
    def doubtful(self) -> frozenset[str]:
        """Ids of limits that are passed for a time, and that some order of what comes and goes might break."""
        each = [levels for levels in levels_of(self.day) if self.passed & {*levels.steady, levels.top}]
        return self.passed & frozenset(
            limit for levels in each if may_break(self.day, levels) for limit in (*levels.steady, levels.top)
        )

    def comes_daily(self, limit: str) -> bool:
        """Whether a limit that only the worst case breaks is broken at least once a day; whatever hangs on it."""
        return self._expected[limit] >= ONCE_A_DAY

    @cached_property
    def _expected(self) -> "Expected":
        return Expected(self._figures)

    @cached_property
    def _figures(self) -> dict[str, tuple[Ruled, Callable[[Ruled], float]]]:
        """Per limit in question, its rule, and which of its figures says how often it is broken."""
        figures: dict[str, tuple[Ruled, Callable[[Ruled], float]]] = {
            "inverter_continuous": (self._house, lambda one: one.held[0].own[WATTS]),
            "inverter_apparent": (self._house, lambda one: one.held[0].own[VOLT_AMPERES]),
            "battery_continuous": (self._bank, lambda one: one.held[0].per_day),
        }
        figures |= {limit: (one, lambda one: one.broken_per_day) for limit, one in self.rules.items()}
        return {limit: figure for limit, figure in figures.items() if limit in self.chances | self.doubtful}

    @cached_property
    def rules(self) -> dict[str, Ruled]:
        """The rules with levels, by the limit that tells whether each is broken in any way."""
        legs = {f"leg:{leg}": one for leg, one in self._legs.items()}
        return {"inverter_overload": self._house, "battery_peak": self._bank, **legs}

    @property
    def carries_a_vital_load(self) -> bool:
        """Whether a medical device or an alarm draws at any time of the day."""
        return len(_vital_pieces(self.day.house)) > 0

    @property
    def once_in_days(self) -> float | None:
        """Days to the next time a limit is broken, as expected; None where none ever is."""
        most = max(self.per_day.values(), default=0.0)
        return 1 / most if most > 0 else None

    @cached_property
    def cut_share(self) -> float | None:
        """The part of the day in which all that starts again after a power cut is too much; None for voltage."""
        return too_much_again(self.day.house, self.day.rule, self.day.bank, self._to_ms)

    @cached_property
    def above(self) -> tuple[Above, ...]:
        """How long the running draw is above each limit that odds may talk down."""
        house, bank, steady = self._house, self._bank, self.day.rule.of_store(0)
        watts, volt_amperes = ([one for one in steady if one.quantity == of] for of in (WATTS, VOLT_AMPERES))
        of_house = house.under.seconds(watts, volt_amperes, house.rule.of_store(None))
        of_legs = [one.under.seconds(one.rule.of_store(0))[0] for one in self._legs.values()]
        of_bank = bank.under.seconds(bank.rule.of_store(0), bank.rule.of_store(None))
        names = ["inverter_continuous", "inverter_apparent", "inverter_overload"]
        names += [*(f"leg:{leg}" for leg in self._legs), "battery_continuous", "battery_peak"]
        return tuple(map(Above, names, [*of_house, *of_legs, *of_bank]))

    @cached_property
    def overloading_starts_per_day(self) -> float:
        """Starts of cycling loads that take the total above the inverter's top level."""
        return sum(each_overloading_start(self.day.house, self._house.under, top_alone=True).values())

    @cached_property
    def lasting(self) -> tuple[Lasting, ...]:
        """How often each level that may be passed for a time is passed for longer."""
        legs = ((f"leg:{leg}", one) for leg, one in self._legs.items())
        return tuple(
            Lasting(limit, ruled.rule.level[store], ruled.rule.allowed_s[store], lasted.per_day, filling.per_day)
            for limit, ruled in (("inverter_overload", self._house), *legs, ("battery_continuous", self._bank))
            for store, (lasted, filling) in enumerate(zip(ruled.lasted, ruled.filled, strict=True))
        )

    @cached_property
    def band(self) -> Band:
        """Between which watts the running draw lies nearly always."""
        return band_of(self._house.under.loads)

    @property
    def _to_ms(self) -> float:
        return float(self.day.resolved.frame.day_ms) if self.until_ms is None else self.until_ms

    @cached_property
    def _house(self) -> Ruled:
        return self._ruled(self.day.house, self.day.rule)

    @cached_property
    def _legs(self) -> dict[str, Ruled]:
        return {leg: self._ruled(view, self.day.leg_rule) for leg, view in self.day.legs.items()}

    @cached_property
    def _bank(self) -> Ruled:
        bank = self.day.bank
        in_watts = ruled_in_watts(bank.rule, bank.quantities)
        if in_watts is not None:
            return self._ruled(self.day.house, in_watts)
        return self._ruled(self.day.house, bank.rule, (lambda draws: bank.quantities(draws)[0],))

    def _ruled(self, view: View, rule: Rule, quantities: Sequence[OneQuantity] = OF_INVERTER) -> Ruled:
        return Ruled(view, UnderRule(self._loads(view), rule, quantities, self._to_ms))

    def _loads(self, view: View) -> Loads:
        if view is not self.day.house:
            return loads_of(view.scope)
        if not self._of_house:
            self._of_house.append(loads_of(view.scope))
        return self._of_house[0]


def odds_of(day: PlannedDay, readings: Sequence[LimitReading]) -> OddsOfDay:
    """The odds of a plan whose limits were judged so in the worst case."""
    chances, passed = (
        frozenset(one.id for one in readings if one.verdict == verdict) for verdict in ("chance", "short_time")
    )
    return OddsOfDay(day, chances, passed=passed)


def talked_down(reading: LimitReading, odds: OddsOfDay) -> LimitReading:
    """A limit that only the worst case breaks, with how often; one that breaks every day is over.

    Of none that somebody's health hangs on.
    """
    if not odds.is_chance(reading.id):
        return reading
    if reading.id == "cold_restart":
        if odds.carries_a_vital_load:
            return replace(reading, is_vital=True)
        return replace(reading, cut_share=odds.cut_share)
    per_day = odds.per_day.get(reading.id)
    verdict: Verdict = "over" if odds.comes_daily(reading.id) else "chance"
    return replace(reading, broken_per_day=per_day, is_vital=per_day is None, verdict=verdict)
