"""Stores of time above a level with a guest in the house, from one beginning after another."""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from app.engine.beside import VOLT_AMPERES, WATTS, Beside
from app.engine.columns import Columns
from app.engine.day import PlannedDay
from app.engine.draw import HAIR
from app.engine.everything import everything_on
from app.engine.heat import Rule, exceeds, store_s
from app.engine.inverter import VOLT_AMPERES as VA_OF_RULE
from app.engine.pressing import in_watts
from app.engine.readings import View
from app.engine.results import Flags, Floats, Verdict
from app.engine.sums import Sums, plain
from app.engine.told import CAREFUL, NEVER, UNSURE, Limits, amperes


class Held(NamedTuple):
    """A store that comes to hold too much because of a guest.

    level: as in `Passing`. verdict: of the limit. told: its number. at_ms: when it holds too much. use, most: the
    draw then and what it exceeds, watts or volt-amperes.
    """

    level: int
    verdict: Verdict
    told: int
    at_ms: float
    use: float
    most: float


class _Ruled(NamedTuple):
    view: View
    rule: Rule
    steady: tuple[str, ...]
    top: str
    bank: bool

    @property
    def lowest(self) -> tuple[float, float]:
        """The least watts and volt-amperes of the levels of time."""
        checks = [check for check in self.rule.checks if check.store is not None]
        watts, volt_amperes = (
            min((one.line.lowest for one in checks if one.quantity == quantity), default=np.inf)
            for quantity in (WATTS, VA_OF_RULE)
        )
        return watts, volt_amperes


class Holding:
    """Asked for one guest and one beginning at a time; few are worth asking for."""

    def __init__(self, beside: Beside, limits: Limits) -> None:
        self.beside, self.limits = beside, limits
        self._ruled = list(_ruled(beside.day))
        self._told: dict[tuple[str, str], int] = {}
        self._bases: dict[tuple[View, bool], Sums] = {}
        bank = beside.day.bank
        self._lines = {check: in_watts(bank, check.line) for check in bank.rule.checks}
        self._lowest_w = min(line.lowest for line in self._lines.values())
        self._asked: dict[tuple[int, float, bool], tuple[Held, ...]] = {}

    def too_long(self, which: int, begin_ms: float, *, certain: bool) -> tuple[Held, ...]:
        """Stores that hold too much because a guest begins then; with certain draws alone, or with everything on."""
        asked = (which, begin_ms, certain)
        if asked not in self._asked:
            self._asked[asked] = tuple(self._too_long(which, begin_ms, certain=certain))
        return self._asked[asked]

    def _too_long(self, which: int, begin_ms: float, *, certain: bool) -> Iterator[Held]:
        beside = self.beside
        guest = beside.guests.guests[which]
        phases = np.flatnonzero((beside.guests.which == which) & (beside.guests.starting < 0))
        # What it sets off counts though it may stand already: the safe side.
        phases = phases[[not beside.guests.standing[row] for row in phases.tolist()]]
        for ruled in self._ruled:
            scope = ruled.view.scope
            own = beside.drawn(ruled.view, certain=certain).rows(phases)
            if not own.p_w.any():
                continue
            base = self._base(ruled.view, certain=certain)
            if not self._comes_near(ruled, base, own):
                continue
            edges_ms = begin_ms + guest.edge_ms
            t_ms = np.union1d(scope.t_ms, edges_ms[edges_ms < scope.t_ms[-1]])
            middle_ms = (t_ms[:-1] + t_ms[1:]) / 2
            stretch = scope.stretch_at(middle_ms)
            base = base.take(stretch)
            columns = Columns(t_ms[:-1], t_ms[1:], stretch, np.zeros(len(stretch)), stretch, base)
            gone = beside.moved(ruled.view, columns, phases[:1], certain=certain, started=False)
            phase = edges_ms.searchsorted(middle_ms, side="right") - 1
            inside = (phase >= 0) & (phase < len(phases))
            before = base if gone is None else base - gone.row(0).where(inside)
            with_it = before + own.take(np.where(inside, phase, 0)).where(inside)
            yield from self._judged(ruled, t_ms, before, with_it, certain=certain)

    def _base(self, view: View, *, certain: bool) -> Sums:
        if (view, certain) not in self._bases:
            scope = view.scope
            if certain:
                base = plain(scope.certain)
            else:
                base = plain(scope.worst) if scope.interlocked else everything_on(scope)
            self._bases[view, certain] = base
        return self._bases[view, certain]

    def _comes_near(self, ruled: _Ruled, base: Sums, own: Sums) -> bool:
        """The most of both together comes up to some level."""
        more = 1 + self.beside.uncertainty
        most_w, most_va = base.use_w.max() + own.use_w.max(), (base.va.max() + own.va.max()) * more
        if ruled.bank:
            return bool(most_w > self._lowest_w)
        lowest = ruled.lowest
        return bool(most_w > lowest[0] or most_va > lowest[1])

    def _judged(
        self, ruled: _Ruled, t_ms: Floats, before: Sums, with_it: Sums, *, certain: bool
    ) -> Iterator[Held]:  # fmt: skip
        seconds, rule = np.diff(t_ms)[None, :] / 1000, ruled.rule
        uses = [(one.use_w, one.use_va) for one in (before, with_it)]
        for store, (allowed_s, cooling_s) in enumerate(zip(rule.allowed_s, rule.cooling_s, strict=True)):
            checks = rule.of_store(store)
            above: list[list[Flags]] = [[], []]
            lows, quantities = [], []
            for check in checks:
                line = self._lines[check] if ruled.bank else check.line
                limit = line.at(t_ms)
                low = np.minimum(limit[:-1], limit[1:])
                quantity = VOLT_AMPERES if not ruled.bank and check.quantity == VA_OF_RULE else WATTS
                lows.append(low)
                quantities.append(quantity)
                for kept, use in zip(above, uses, strict=True):
                    kept.append(exceeds(use[quantity], low))
            if not np.any(above[1]):
                continue
            was_s, held_s = (store_s(seconds, np.any(one, axis=0)[None, :], allowed_s, cooling_s)[0] for one in above)
            most_s = self._most_s(ruled)
            too_much = exceeds(held_s, allowed_s) & (held_s > was_s + 1e-6 * allowed_s)
            worse_elsewhere = held_s.max() > most_s * (1 + HAIR) and bool((held_s > was_s + 1e-6 * allowed_s).any())
            if not too_much.any() and not worse_elsewhere:
                continue
            place = int(too_much.argmax()) if too_much.any() else int(held_s.argmax())
            over = [bool(flags[place]) for flags in above[1]]
            chosen = over.index(True) if True in over else 0
            limit_id = ruled.steady[quantities[chosen]] if store == 0 else ruled.top
            at_ms = max(float(t_ms[place + 1] - max(held_s[place] - allowed_s, 0) * 1000), float(t_ms[place]))
            level = self.limits.level(limit_id, NEVER if certain else UNSURE if too_much.any() else CAREFUL)
            verdict: Verdict = "over" if level == NEVER else "chance" if too_much.any() else "short_time"
            if worse_elsewhere:
                level, verdict = NEVER, "over"
            use = uses[1][quantities[chosen]][place]
            yield Held(level, verdict, self._number(ruled, limit_id, quantities[chosen]), at_ms, float(use),
                       float(lows[chosen][place]))  # fmt: skip

    def _most_s(self, ruled: _Ruled) -> float:
        """What a store holds elsewhere, where certain draws break the limit there; infinite where they do not."""
        if self.limits.level(ruled.top, CAREFUL) != NEVER:
            return float(np.inf)
        reading = self.limits.reading(ruled.top)
        return 0.0 if reading is None or reading.heat is None else reading.heat.lasts_s

    def _number(self, ruled: _Ruled, limit: str, quantity: int) -> int:
        unit = "A" if ruled.bank else ("W", "VA")[quantity]
        if (limit, unit) not in self._told:
            if ruled.bank:
                self._told[limit, unit] = self.limits.add(limit, "A", amperes(self.beside.day.bank))
            else:
                weight = ruled.view.scope.weight
                self._told[limit, unit] = self.limits.add(limit, "VA" if quantity else "W", weight=weight)
        return self._told[limit, unit]


def _ruled(day: PlannedDay) -> Iterator[_Ruled]:
    yield _Ruled(day.house, day.rule, ("inverter_continuous", "inverter_apparent"), "inverter_overload", False)
    for leg, view in day.legs.items():
        yield _Ruled(view, day.leg_rule, (f"leg:{leg}",) * 2, f"leg:{leg}", False)
    yield _Ruled(day.house, day.bank.rule, ("battery_continuous",), "battery_peak", True)
