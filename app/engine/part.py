"""A part of a day, as if nothing were on before it and after it: what limits are for as long as something runs."""

from dataclasses import replace

import numpy as np

from app.engine.circuits import Conductor, Wired
from app.engine.day import PlannedDay
from app.engine.readings import View
from app.engine.results import Floats, Instants
from app.engine.scope import Scope
from app.engine.starts import Scheduled


def part_of(day: PlannedDay, from_ms: float, to_ms: float) -> PlannedDay:
    """The day from one instant to another, within the horizon; stores of time are empty as it begins.

    What comes and goes does so as it did before. A start or a dip that one of the two cuts counts with the part of it
    that is inside.
    """
    views: dict[View, View] = {}

    def view(one: View) -> View:
        if one not in views:
            views[one] = _view(one, from_ms, to_ms)
        return views[one]

    def conductor(one: Conductor) -> Conductor:
        back = None if one.back is None else _scope(one.back, from_ms, to_ms)[0]
        return replace(one, view=view(one.view), back=back)

    def wired(one: Wired) -> Wired:
        same = one.losing is one.conductors
        conductors = tuple(map(conductor, one.conductors))
        return replace(one, conductors=conductors, losing=conductors if same else tuple(map(conductor, one.losing)))

    return replace(
        day,
        house=view(day.house),
        legs={leg: view(one) for leg, one in day.legs.items()},
        wired={name: wired(one) for name, one in day.wired.items()},
    )


def _view(whole: View, from_ms: float, to_ms: float) -> View:
    scope, stretch = _scope(whole.scope, from_ms, to_ms)
    unscheduled = []
    for start in whole.unscheduled:
        there, place = start.place_in(stretch) if len(start.stretch) else (np.zeros(len(stretch), dtype=bool), stretch)
        if there.any():
            kept, place = np.flatnonzero(there), place[there]
            unscheduled.append(
                replace(start, stretch=kept, before=start.before.take(place), total=start.total.take(place))
            )
    scheduled = _scheduled(whole.scheduled, scope.t_ms)
    return View(whole.resolved, whole.laid, scope, scheduled, tuple(unscheduled))


def _scope(whole: Scope, from_ms: float, to_ms: float) -> tuple[Scope, Instants]:
    """The part, and of which stretch of the whole each of its stretches is."""
    t_ms = whole.t_ms
    inside = t_ms[(t_ms > from_ms) & (t_ms < to_ms)]
    t_ms = np.concatenate([[from_ms], inside, [to_ms]])
    stretch = np.asarray(whole.stretch_at(t_ms[:-1]))
    found = replace(
        whole,
        t_ms=t_ms,
        certain=whole.certain.take(stretch),
        worst=whole.worst.take(stretch),
        certain_started=whole.certain_started.take(stretch),
        worst_started=whole.worst_started.take(stretch),
        cold=whole.cold.take(stretch),
    )
    return found, stretch


def _scheduled(whole: Scheduled, t_ms: Floats) -> Scheduled:
    there = (whole.begin_ms < t_ms[-1]) & (whole.end_ms > t_ms[0])
    begin_ms, end_ms = whole.begin_ms[there], whole.end_ms[there]
    first, last = (t_ms.searchsorted(np.clip(one, t_ms[0], t_ms[-1])) for one in (begin_ms, end_ms))
    return Scheduled(whole.piece[there], begin_ms, end_ms, first, last, whole.before.take(there))
