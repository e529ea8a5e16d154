"""Whether the generator would run when it must not, because a guest has it start sooner.

Guests are followed half hour by half hour, and to some four minutes where the answer turns.
"""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from app.engine.bankday import plant_of, steps_of
from app.engine.beside import Beside
from app.engine.draw import HAIR
from app.engine.everything import everything_on
from app.engine.flows import State, flows
from app.engine.guest import Guest
from app.engine.results import Assessment, Floats
from app.engine.shortfall import STEP_MS, Lacking, lacking
from app.engine.sums import Sums
from app.engine.sun import Sun, known_suns
from app.engine.typical import Profile, typical_draw
from app.household.fields import wall_clock_s

MOST_FOLLOWED = 40  # days followed for one answer, each half a millisecond; more only for what is asked about now
AT_ONCE = 2  # half hours for which each guest is followed all the same
FOLLOWED_MORE = 12  # to see when answers turn
SECOND_MS, MINUTE_MS = 1000, 60_000
TURNS_WITHIN_MS = 4 * MINUTE_MS


class Started(NamedTuple):
    """A guest for which the generator runs while too much is on.

    after_ms, before_ms: beginning between them it does, or nobody followed whether it does. at_ms, to_ms: when too
    much is on. use_w: of the house. is_known: somebody was followed, or it is taken for so.
    """

    which: int
    after_ms: float
    before_ms: float
    at_ms: float
    to_ms: float
    use_w: float
    is_known: bool = True


def started_sooner(beside: Beside, assessment: Assessment, kept_apart: list[bool]) -> Iterator[Started]:
    """Guests that have the generator start into what is too much for it, by when they begin on this day.

    Each is followed until the answer is another one than at first; when it turns is looked for to some minutes.
    What comes after that is taken for too much, as is what is not followed for there is no time.
    kept_apart: per guest, whether what interlocks keep off is off for it.
    """
    generator = beside.day.resolved.household.supply.generator
    if generator is None or assessment.battery is None:
        return
    found = lacking(beside.day, assessment, beside.guests.guests, beside.from_ms, generator.start_below + HAIR)
    if not len(found.asked):
        return
    follow = _Followed(beside, assessment, float(generator.rated_w - generator.charger_w), kept_apart)
    left = {number: _Answers(which) for number, which in enumerate(found.asked.tolist())}
    until_ms = assessment.day_ms + STEP_MS  # for what turns in the last minutes of the day, too
    for place, begin_ms in enumerate(found.begins_ms[found.begins_ms < until_ms].tolist()):
        for number, answers in list(left.items()):
            one = None
            if follow.may_be(found, number, place):
                if follow.days >= MOST_FOLLOWED and place >= AT_ONCE:
                    del left[number]
                    yield from answers.last_of_all()
                    yield follow.unknown(answers.which, begin_ms - STEP_MS)
                    continue
                one = follow.too_much(answers.which, begin_ms)
                if one is None:
                    yield from follow.before_it_starts(answers.which, begin_ms)
            yield from answers.then(follow, begin_ms, one)
            if answers.have_turned:
                del left[number]
                yield from answers.last_of_all()
                yield follow.unknown(answers.which, begin_ms + STEP_MS - MINUTE_MS)
    for answers in left.values():
        yield from answers.last_of_all()


class _Answers:
    """What was found for one guest, beginning after beginning: how far a bad one reaches is known with the next."""

    def __init__(self, which: int) -> None:
        self.which, self.have_turned = which, False
        self._last: tuple[float, Started | None] | None = None

    def then(self, follow: "_Followed", begin_ms: float, one: Started | None) -> Iterator[Started]:
        """The answer of the next beginning."""
        before, self._last = self._last, (begin_ms, one)
        if before is None:
            return
        before_ms, was = before
        if (was is None) == (one is None):
            yield from () if was is None else (was._replace(before_ms=begin_ms + 1.0),)
            return
        self.have_turned = True
        last_ms, first_ms = follow.turning(self.which, before_ms, begin_ms, is_bad=one is not None)
        if was is not None:
            yield was._replace(before_ms=first_ms)
        elif one is not None:
            self._last = begin_ms, one._replace(after_ms=last_ms)

    def last_of_all(self) -> Iterator[Started]:
        """The last bad beginning, after which none is followed."""
        if self._last is not None and self._last[1] is not None:
            yield self._last[1]
            self._last = None


class _Followed:
    """The plan's energy with a guest in it, exactly as an assessment follows it."""

    def __init__(self, beside: Beside, assessment: Assessment, most_w: float, kept_apart: list[bool]) -> None:
        self._beside, self._assessment, self._most_w = beside, assessment, most_w
        self._apart, self.days = kept_apart, 0
        day = beside.day
        self._scope = day.house.scope
        self._plant, self._suns = plant_of(day.resolved), known_suns(day.resolved)
        self._draw = typical_draw(day.laid)
        self._bases = {apart: everything_on(self._scope, kept_apart=apart) for apart in (True, False)}
        guests = beside.guests
        self._own = beside.drawn(day.house)
        self._phases = [
            np.array([row for row in np.flatnonzero((guests.which == which) & (guests.starting < 0)).tolist()
                      if not guests.standing[row]], dtype=np.int64)
            for which in range(len(guests.guests))
        ]  # fmt: skip

    def may_be(self, found: Lacking, number: int, place: int) -> bool:
        """The generator may start, and something from then on is too much beside its charger."""
        which = int(found.asked[number])
        generator = self._plant.generator
        assert generator is not None  # of the caller
        starts = np.flatnonzero(found.charge - found.points[number, place] <= generator.start_below + HAIR)
        starts = starts[starts >= place]
        if not len(starts):
            return False
        from_ms, begin_ms = float(found.begins_ms[starts[0]]), float(found.begins_ms[place])
        use_w = self._bases[self._apart[which]].use_w
        first = int(self._scope.stretch_at(from_ms))
        if use_w[first:].max() > self._most_w:
            return True
        ends_ms = begin_ms + float(self._beside.guests.guests[which].edge_ms[-1])
        if ends_ms <= from_ms:
            return False
        last = int(self._scope.stretch_at(ends_ms))
        own_w = self._own.use_w[self._phases[which]].max(initial=0.0)
        return bool(use_w[first : last + 1].max() + own_w > self._most_w)

    def too_much(self, which: int, begin_ms: float) -> Started | None:
        """The first time at which the generator runs while too much is on: with the guest there, or not without it."""
        battery, guest = self._assessment.battery, self._beside.guests.guests[which]
        assert battery is not None  # of the caller
        spells = self._spells(guest, begin_ms)
        if spells is None:
            return self.unknown(which, begin_ms)
        bounds_ms = np.array([(one.from_ms, one.to_ms) for one in battery.generator]).reshape(-1, 2)
        t_ms = np.unique(np.concatenate([
            self._scope.t_ms, begin_ms + guest.edge_ms, np.ravel(spells), bounds_ms.ravel(), bounds_ms[:, 0] - STEP_MS,
            bounds_ms[:, 1] + STEP_MS,
        ]))  # fmt: skip
        t_ms = t_ms[(t_ms >= begin_ms) & (t_ms <= self._scope.t_ms[-1])]
        middle_ms = (t_ms[:-1] + t_ms[1:]) / 2
        runs, ran = np.zeros(len(middle_ms), dtype=bool), np.zeros(len(middle_ms), dtype=bool)
        for from_ms, to_ms in spells:
            runs |= (middle_ms > from_ms) & (middle_ms < to_ms)
        for spell in battery.generator:
            ran |= (middle_ms > spell.from_ms) & (middle_ms < spell.to_ms)
        use_w = self._with_guest(which, begin_ms, middle_ms).use_w
        # What the plan has on while it runs is too much without the guest; the guest itself never is.
        ran &= middle_ms > begin_ms + guest.edge_ms[-1]
        over = np.flatnonzero(runs & ~ran & (use_w > self._most_anyway_w(which, begin_ms, middle_ms) * (1 + HAIR)))
        if not len(over):
            return None
        one = int(over[0])
        around = begin_ms - STEP_MS, begin_ms + STEP_MS
        return Started(which, *around, float(t_ms[one]), float(t_ms[one + 1]), float(use_w[one]))

    def _most_anyway_w(self, which: int, begin_ms: float, at_ms: Floats) -> Floats:
        """What it carries, or what the plan has on while it runs anyway, at instants or about then; shape of these.

        Where it is too much whenever it runs later, what is always on; shortly before and after it runs in the plan,
        what is on there as it starts, and as it stops.
        """
        battery, scope, use_w = self._assessment.battery, self._scope, self._bases[self._apart[which]].use_w
        assert battery is not None  # of the caller
        found = np.full(len(at_ms), self._most_w)
        for one in battery.generator:
            if one.to_ms <= begin_ms:
                continue
            found = np.maximum(found, use_w[int(scope.stretch_at(begin_ms)) :].min())
            first, last = (int(scope.stretch_at(edge_ms)) for edge_ms in (one.from_ms, one.to_ms - 1))
            before = (at_ms < one.from_ms) & (at_ms > one.from_ms - STEP_MS)
            after = (at_ms > one.to_ms) & (at_ms < one.to_ms + STEP_MS)
            found = np.where(before, np.maximum(found, use_w[first]), found)
            found = np.where(after, np.maximum(found, use_w[last]), found)
        return found

    def turning(self, which: int, last_ms: float, first_ms: float, *, is_bad: bool) -> tuple[float, float]:
        """The last beginning of the one answer and the first of the other, between two; is_bad: the later one is."""
        while first_ms - last_ms > TURNS_WITHIN_MS and self.days < MOST_FOLLOWED + FOLLOWED_MORE:
            middle_ms = (last_ms + first_ms) / 2 // SECOND_MS * SECOND_MS
            if (self.too_much(which, middle_ms) is not None) == is_bad:
                first_ms = middle_ms
            else:
                last_ms = middle_ms
        return last_ms, first_ms

    def before_it_starts(self, which: int, begin_ms: float) -> Iterator[Started]:
        """Where it starts in the plan within half an hour of a good beginning, one just before that may be bad."""
        battery = self._assessment.battery
        assert battery is not None  # of the caller
        for spell in battery.generator:
            just_ms = float(spell.from_ms - SECOND_MS)
            if begin_ms < just_ms < begin_ms + STEP_MS:
                one = self.too_much(which, just_ms)
                if one is not None:
                    last_ms, _ = self.turning(which, begin_ms, just_ms, is_bad=True)
                    yield one._replace(after_ms=last_ms, before_ms=spell.from_ms + 1.0)

    def unknown(self, which: int, begin_ms: float) -> Started:
        """From a beginning on nobody knows."""
        day_ms = float(self._assessment.day_ms)
        return Started(which, begin_ms, day_ms + STEP_MS, begin_ms, day_ms, self._most_w, is_known=False)

    def _with_guest(self, which: int, begin_ms: float, at_ms: Floats) -> Sums:
        """All that is on with it at instants, at worst."""
        guest, phases = self._beside.guests.guests[which], self._phases[which]
        base = self._bases[self._apart[which]].take(self._scope.stretch_at(at_ms))
        phase = (begin_ms + guest.edge_ms).searchsorted(at_ms, side="right") - 1
        inside = (phase >= 0) & (phase < len(phases))
        return base + self._own.rows(phases).take(np.where(inside, phase, 0)).where(inside)

    def _spells(self, guest: Guest, begin_ms: float) -> list[tuple[float, float]] | None:
        """When the generator runs with the guest in the plan; None while the sun is not known."""
        resolved, suns = self._beside.day.resolved, self._suns
        if suns is None:
            return None
        self.days += 1
        from_ms, state = self._before(begin_ms, suns.expected)
        steps = steps_of(resolved, suns.expected, self._draw_with(guest, begin_ms), from_ms)
        happens = flows(self._plant, steps, state)
        edge = np.diff(np.concatenate(([0], happens.generator_on.astype(int), [0])))
        first, last = np.flatnonzero(edge == 1), np.flatnonzero(edge == -1)
        return list(zip(happens.edges_ms[first].tolist(), happens.edges_ms[last].tolist(), strict=True))

    def _before(self, begin_ms: float, sun: Sun) -> tuple[float, State]:
        """The last step's edge before a beginning, and how things stand there: as without the guest."""
        resolved, battery = self._beside.day.resolved, self._assessment.battery
        assert battery is not None  # of the caller
        known_ms = float(resolved.frame.at_ms(wall_clock_s(resolved.day.state_of_charge_at)))
        edge_ms = float(sun.edges_ms[max(int(sun.edges_ms.searchsorted(begin_ms, side="right")) - 1, 0)])
        if edge_ms <= known_ms or battery.expected.dark_ms is not None:
            return known_ms, State(resolved.day.start_state_of_charge)
        runs = any(one.from_ms < edge_ms <= one.to_ms for one in battery.generator)
        return edge_ms, State(battery.charge_at(edge_ms), generator_on=runs)

    def _draw_with(self, guest: Guest, begin_ms: float) -> Profile:
        """What the plan draws on the whole, and the guest."""
        rows, pieces = self._beside.day.rows, guest.pieces
        watts = rows.running.p_w[pieces.row]
        watts = watts * np.where(pieces.cycling, pieces.on_ms / np.maximum(pieces.period_ms, 1), 1.0)
        draw, own_ms = self._draw, begin_ms + guest.edge_ms
        edges_ms = np.union1d(draw.edges_ms, own_ms[own_ms < draw.edges_ms[-1]])
        middle_ms = (edges_ms[:-1] + edges_ms[1:]) / 2
        since_ms = middle_ms - begin_ms
        on = (pieces.begin_ms[:, None] <= since_ms) & (pieces.end_ms[:, None] > since_ms)
        return Profile(edges_ms, draw.w[draw.edges_ms.searchsorted(middle_ms) - 1] + watts @ on)
