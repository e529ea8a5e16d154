"""Stores of time above a level with a guest in the house, from one beginning after another."""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from app.engine.beside import VOLT_AMPERES, WATTS, Beside
from app.engine.columns import Columns
from app.engine.everything import everything_on
from app.engine.heat import exceeds, store_s
from app.engine.inverter import VOLT_AMPERES as VA_OF_RULE
from app.engine.levels import Levels, levels_of
from app.engine.pressing import in_watts
from app.engine.readings import View
from app.engine.results import Flags, Floats
from app.engine.sums import Sums, plain
from app.engine.told import Limits, amperes


class Held(NamedTuple):
    """A store that comes to hold too much because of a guest.

    told: the number of the limit. at_ms: when it holds too much. use, most: the draw then and what it exceeds, watts
    or volt-amperes.
    """

    told: int
    at_ms: float
    use: float
    most: float


class Holding:
    """Asked for one guest and one beginning at a time; few are worth asking for."""

    def __init__(self, beside: Beside, limits: Limits) -> None:
        self.beside, self.limits = beside, limits
        self._levels = list(levels_of(beside.day))
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
        for levels in self._levels:
            scope = levels.view.scope
            own = beside.drawn(levels.view, certain=certain).rows(phases)
            if not own.p_w.any():
                continue
            base = self._base(levels.view, certain=certain)
            if not self._comes_near(levels, base, own):
                continue
            edges_ms = begin_ms + guest.edge_ms
            t_ms = np.union1d(scope.t_ms, edges_ms[edges_ms < scope.t_ms[-1]])
            middle_ms = (t_ms[:-1] + t_ms[1:]) / 2
            stretch = scope.stretch_at(middle_ms)
            base = base.take(stretch)
            columns = Columns(t_ms[:-1], t_ms[1:], stretch, np.zeros(len(stretch)), stretch, base)
            gone = beside.moved(levels.view, columns, phases[:1], certain=certain, started=False)
            phase = edges_ms.searchsorted(middle_ms, side="right") - 1
            inside = (phase >= 0) & (phase < len(phases))
            before = base if gone is None else base - gone.row(0).where(inside)
            with_it = before + own.take(np.where(inside, phase, 0)).where(inside)
            yield from self._judged(levels, t_ms, before, with_it)

    def _base(self, view: View, *, certain: bool) -> Sums:
        if (view, certain) not in self._bases:
            scope = view.scope
            if certain:
                base = plain(scope.certain)
            else:
                base = plain(scope.worst) if scope.interlocked else everything_on(scope)
            self._bases[view, certain] = base
        return self._bases[view, certain]

    def _comes_near(self, levels: Levels, base: Sums, own: Sums) -> bool:
        """The most of both together comes up to some level."""
        more = 1 + self.beside.uncertainty
        most_w, most_va = base.use_w.max() + own.use_w.max(), (base.va.max() + own.va.max()) * more
        if levels.bank:
            return bool(most_w > self._lowest_w)
        checks = [check for check in levels.rule.checks if check.store is not None]
        return any(check.line.lowest < (most_va if check.quantity == VA_OF_RULE else most_w) for check in checks)

    def _judged(
        self, levels: Levels, t_ms: Floats, before: Sums, with_it: Sums
    ) -> Iterator[Held]:  # fmt: skip
        seconds, rule = np.diff(t_ms)[None, :] / 1000, levels.rule
        uses = [(one.use_w, one.use_va) for one in (before, with_it)]
        for store, (allowed_s, cooling_s) in enumerate(zip(rule.allowed_s, rule.cooling_s, strict=True)):
            checks = rule.of_store(store)
            above: list[list[Flags]] = [[], []]
            lows, quantities = [], []
            for check in checks:
                line = self._lines[check] if levels.bank else check.line
                limit = line.at(t_ms)
                low = np.minimum(limit[:-1], limit[1:])
                quantity = VOLT_AMPERES if not levels.bank and check.quantity == VA_OF_RULE else WATTS
                lows.append(low)
                quantities.append(quantity)
                for kept, use in zip(above, uses, strict=True):
                    kept.append(exceeds(use[quantity], low))
            if not np.any(above[1]):
                continue
            was_s, held_s = (store_s(seconds, np.any(one, axis=0)[None, :], allowed_s, cooling_s)[0] for one in above)
            too_much = exceeds(held_s, allowed_s) & (held_s > was_s + 1e-6 * allowed_s)
            if not too_much.any():
                continue
            place = int(too_much.argmax())
            over = [bool(flags[place]) for flags in above[1]]
            chosen = over.index(True) if True in over else 0
            limit_id = levels.steady[quantities[chosen]] if store == 0 else levels.top
            at_ms = max(float(t_ms[place + 1] - max(held_s[place] - allowed_s, 0) * 1000), float(t_ms[place]))
            use = uses[1][quantities[chosen]][place]
            told = self._number(levels, limit_id, quantities[chosen])
            yield Held(told, at_ms, float(use), float(lows[chosen][place]))

    def _number(self, levels: Levels, limit: str, quantity: int) -> int:
        unit = "A" if levels.bank else ("W", "VA")[quantity]
        if (limit, unit) not in self._told:
            if levels.bank:
                self._told[limit, unit] = self.limits.add(limit, "A", amperes(self.beside.day.bank))
            else:
                weight = levels.view.scope.weight
                self._told[limit, unit] = self.limits.add(limit, "VA" if quantity else "W", weight=weight)
        return self._told[limit, unit]
