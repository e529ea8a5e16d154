"""A scope under a rule with levels and times: the inverter, its legs and the bank share this one shape."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from app.engine.contributors import contributors_at
from app.engine.curve import Line
from app.engine.expand import Laid
from app.engine.heat import Check, Filling, Rule, Stores
from app.engine.margins import Tightest, tightest
from app.engine.patterns import Quantities, stores_of, worst_stores
from app.engine.results import Contributor, Flags, Floats, HeatReading, Verdict
from app.engine.scope import Scope
from app.engine.starts import Scheduled, Unscheduled, scheduled_starts, unscheduled_starts
from app.household.resolve import Resolved

START_MARGIN, SURE_MARGIN = 0.25, 0.10  # what must be left of a start limit, unless every start is measured


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """One scope of a plan, with its starts."""

    resolved: Resolved
    laid: Laid
    scope: Scope
    scheduled: Scheduled
    unscheduled: tuple[Unscheduled, ...]
    _named: dict[tuple[int, tuple[int, ...], bool], tuple[Contributor, ...]] = field(
        default_factory=dict
    )  # asked before

    def contributors(
        self, at_ms: int, start: Unscheduled | None = None, *, starts: bool = False
    ) -> tuple[Contributor, ...]:
        """Who draws in this scope's worst case at an instant; with starts in progress, or one that just begins."""
        starters = () if start is None else start.together
        starts = starts and bool(self._in_progress(at_ms).any())
        asked = (at_ms, starters, starts)
        if asked not in self._named:  # several limits are tightest at the same instant
            total = None if start is None else start.total_at(int(self.scope.stretch_at(at_ms)))
            self._named[asked] = contributors_at(
                self.resolved, self.laid, self.scope, at_ms, starts=starts, starters=starters, total=total
            )
        return self._named[asked]

    def starts_measured(self, at_ms: int, start: Unscheduled | None) -> bool:
        """Every start in progress at an instant, or the unscheduled one, is of a measured appliance."""
        rows = self.laid.rows
        pieces = self.scheduled.piece[self._in_progress(at_ms)] if start is None else start.together
        places = [int(self.laid.pieces.appliance[piece]) for piece in pieces]
        return all(rows.appliances[place].basis == "measured" for place in places)

    def _in_progress(self, at_ms: int) -> Flags:
        """Which scheduled starts are in progress at an instant."""
        return (self.scheduled.begin_ms <= at_ms) & (at_ms < self.scheduled.end_ms)


def view_of(resolved: Resolved, laid: Laid, scope: Scope) -> View:
    """A scope with its starts found."""
    return View(resolved, laid, scope, scheduled_starts(laid, scope), tuple(unscheduled_starts(scope)))


@dataclass(frozen=True, slots=True)
class Peak:
    """The smallest margin with starts: where it is, and the start that makes it.

    start: the unscheduled start, if it is one. is_start: it is a start at all, not a running draw.
    """

    at: Tightest
    start: Unscheduled | None
    is_start: bool


@dataclass(frozen=True, slots=True, eq=False)
class Ruled:
    """What the stores and the starts of a view did under a rule, with certain draws and in the worst case.

    certain_use, worst_use: per quantity, running draws. certain_total, worst_total: with scheduled starts.
    unscheduled_use: per unscheduled start, its total per quantity on its stretches.
    """

    view: View
    rule: Rule
    certain: Stores
    worst: Stores
    certain_use: list[Floats]
    worst_use: list[Floats]
    certain_total: list[Floats]
    worst_total: list[Floats]
    unscheduled_use: list[list[Floats]]
    certain_starts_broken: Flags
    worst_starts_broken: Flags
    unscheduled_broken_ms: tuple[float, ...]

    @property
    def certain_breaks(self) -> bool:
        """Certain draws alone break the rule, running or starting."""
        return bool(np.isfinite(self.certain.broken_ms) or self.certain_starts_broken.any())

    @property
    def worst_breaks(self) -> bool:
        """The worst case breaks the rule, running or starting."""
        starts = self.worst_starts_broken.any() or any(map(np.isfinite, self.unscheduled_broken_ms))
        return bool(np.isfinite(self.worst.broken_ms) or starts)

    def running(self, quantity: int, line: Line, *, certain: bool = False) -> Tightest:
        """The smallest margin of the running draw."""
        use = self.certain_use if certain else self.worst_use
        return tightest(self.view.scope.t_ms, use[quantity], line)

    def peak(self, quantity: int, line: Line, *, certain: bool = False) -> Peak:
        """The smallest margin with starts."""
        scope = self.view.scope
        total = (self.certain_total if certain else self.worst_total)[quantity]
        running = (self.certain_use if certain else self.worst_use)[quantity]
        at = tightest(scope.t_ms, total, line)
        best = Peak(at, None, bool(abs(total[at.stretch] - running[at.stretch]) > 1e-9 * abs(at.use)))
        for start, use in zip(self.view.unscheduled, self.unscheduled_use, strict=True):
            if certain or not len(start.stretch):
                continue
            at = _tightest_start(scope, start, use[quantity], line)
            if (at.margin, at.at_ms) < (best.at.margin, best.at.at_ms):
                best = Peak(at, start, True)
        return best

    def start_verdict(self, peak: Peak) -> Verdict:
        """Tight or fits, for a limit that starts press on."""
        sure = not peak.is_start or self.view.starts_measured(peak.at.at_ms, peak.start)
        return "tight" if peak.at.less_than(SURE_MARGIN if sure else START_MARGIN) else "fits"

    def heat(self) -> HeatReading | None:
        """The fullest store of the worst case, if any has anything in it."""
        if not any(self.worst.fullest_s):
            return None
        store = self.worst.fullest(self.rule)
        return self._heat(store, self.worst.filling[store], self.rule.of_store(store))

    def heat_of(self, quantity: int) -> HeatReading | None:
        """The first store of the worst case while a quantity exceeds what it stands on, None if it never does."""
        checks = [check for check in self.rule.of_store(0) if check.quantity == quantity]
        return self._heat(0, self.worst.own[quantity], checks) if self.worst.own[quantity].held_s else None

    def _heat(self, store: int, filling: Filling, checks: Sequence[Check]) -> HeatReading:
        since_ms, until_ms = int(filling.since_ms), int(np.ceil(filling.until_ms))
        # What comes on after it has cut out is no part of why.
        at, check = self._pressing(filling.since_ms, min(filling.until_ms, filling.trip_ms), checks)
        if not at.exceeded and np.isfinite(filling.trip_ms):
            # Another quantity filled the store, and this one breaks it in the instant in which it first exceeds.
            at, check = self._pressing(filling.trip_ms, filling.trip_ms + 1, checks)
        at_ms = min(max(at.at_ms, since_ms), until_ms - 1)
        return HeatReading(
            level=self.rule.level[store],
            lasts_s=self.worst.fullest_s[store],
            allowed_s=self.rule.allowed_s[store],
            since_ms=since_ms,
            until_ms=until_ms,
            held_s=filling.held_s,
            trips_at_ms=int(filling.trip_ms) if np.isfinite(filling.trip_ms) else None,
            at_ms=at_ms,
            use=at.use,
            limit=at.limit,
            unit=self.rule.units[check.quantity],
            contributors=self.view.contributors(at_ms),
        )

    def _pressing(self, begin_ms: float, end_ms: float, checks: Sequence[Check]) -> tuple[Tightest, Check]:
        """Where running draws press most between two instants, and on which line.

        Of watts and volt-amperes the one that exceeds is told, volt-amperes where both do.
        """
        scope = self.view.scope
        first, last = (int(scope.stretch_at(one)) for one in (begin_ms, end_ms - 1))
        edges_ms = np.clip(scope.t_ms[first : last + 2], begin_ms, end_ms)
        pressing = [
            (tightest(edges_ms, self.worst_use[one.quantity][first : last + 1], one.line), one) for one in checks
        ]
        return max(pressing, key=lambda one: (one[0].exceeded, one[1].quantity))


def put_under(view: View, rule: Rule, quantities: Quantities) -> Ruled:
    """Judge a view by a rule."""
    scope = view.scope
    certain_total = list(quantities(scope.certain_started))
    worst_total = list(quantities(scope.worst_started))
    certain_use, worst_use = list(quantities(scope.certain)), list(quantities(scope.worst))
    certain = stores_of(scope, rule, certain_use)
    unscheduled_use = [list(quantities(start.total)) for start in view.unscheduled]
    return Ruled(
        view=view,
        rule=rule,
        certain=certain,
        worst=worst_stores(scope, rule, quantities, certain, worst_use),
        certain_use=certain_use,
        worst_use=worst_use,
        certain_total=certain_total,
        worst_total=worst_total,
        unscheduled_use=unscheduled_use,
        certain_starts_broken=view.scheduled.broken(scope, certain_total, rule),
        worst_starts_broken=view.scheduled.broken(scope, worst_total, rule),
        unscheduled_broken_ms=tuple(
            start.broken_ms(scope, use, rule) for start, use in zip(view.unscheduled, unscheduled_use, strict=True)
        ),
    )


def _tightest_start(scope: Scope, start: Unscheduled, use: Floats, line: Line) -> Tightest:
    """Where an unscheduled start leaves least: its first worst instant."""
    limit = line.at(scope.t_ms)
    begin, end = limit[start.stretch] - use, limit[start.stretch + 1] - use
    index = int(np.minimum(begin, end).argmin())
    at_end = end[index] < begin[index]
    margin = float(end[index] if at_end else begin[index])
    stretch = int(start.stretch[index])
    at_ms = scope.t_ms[stretch + 1] - 1 if at_end else scope.t_ms[stretch]
    return Tightest(int(np.ceil(at_ms)), stretch, margin + float(use[index]), float(use[index]), margin)
