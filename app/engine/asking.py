"""Asking for many guests at once, whenever they come: may they, until when, and who makes the difference."""

from collections.abc import Iterator, Sequence
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from app.engine.alone import Alone
from app.engine.beside import NOBODY, Beside, Passing, together
from app.engine.curve import Line
from app.engine.dipping import Dipping
from app.engine.draw import HAIR
from app.engine.everything import everything_on
from app.engine.guest import Guest
from app.engine.guests import guests_of
from app.engine.holding import Holding
from app.engine.inverter import VOLT_AMPERES, WATTS, steady_line
from app.engine.levels import above_hours, levels_of, sure_breaks
from app.engine.moment import Inspection
from app.engine.objections import below_the_reserve, into_the_generator, kept_apart, members_of
from app.engine.pressing import pressing
from app.engine.results import Assessment, Flags, Floats, Instants, Verdict
from app.engine.sums import Sums
from app.engine.told import CAREFUL, FITS, NEVER, UNSURE, Limits
from app.engine.traces import Unit

A_SECOND_MS, MINUTE_MS = 1000, 60_000
GO_HOLDS_MS = MINUTE_MS  # what fits for less is answered as it is after: nobody reads an answer and plugs in sooner
LONGEST_SEARCH = 11  # halvings: some hours to some seconds
MOST_ENDS = 100  # that are asked about in search of a better time
INTERLOCKED = "interlocked_at_once"
CERTAIN_FIRST = 1e9


class Decisive(NamedTuple):
    """What decides: the limit, with its figures where it presses most; or a caution alone."""

    verdict: Verdict
    limit: str | None = None
    at_ms: int | None = None
    use: float | None = None
    most: float | None = None
    unit: Unit | None = None
    caution: str | None = None
    above_s: float | None = None
    allowed_s: float | None = None
    weight: Floats | None = None


class Change(NamedTuple):
    """When the answer changes, and to what. edge_ms: when what makes it begins or ends; None where it is not known."""

    at_ms: int
    level: int
    edge_ms: float | None
    begins: bool


class Asking:
    """Some guests at one instant of a plan and after it.

    at_ms: a whole second. Levels are those of `told`.
    """

    def __init__(self, inspection: Inspection, guests: Sequence[Guest], at_ms: int) -> None:
        self.day, self.at_ms = inspection.day, float(at_ms)
        self._guests = tuple(guests)
        self._beside = Beside(self.day, guests_of(self.day, guests), self.at_ms)
        broken = {limit: flags for limit, (_, flags) in sure_breaks(self.day, inspection.assessment.limits).items()}
        self._limits = limits = Limits(inspection.assessment, broken)
        self._day_ms = inspection.assessment.day_ms
        members, everyone = members_of(self._beside), np.arange(len(guests))
        parts = [NOBODY, *pressing(self._beside, limits, everyone[~members], everything=False)]
        if members.any():
            parts += pressing(self._beside, limits, everyone[members], everything=True)
        self._interlocked = limits.add("", "W")
        parts += kept_apart(self._beside, self._interlocked)
        self._reserve = limits.add("reserve", "%")
        parts += below_the_reserve(self._beside, inspection.assessment, self._reserve)
        parts += self._of_the_generator(inspection.assessment, members)
        found = together(parts)
        found = found.where(found.before_ms > self.at_ms)
        found = found.take(np.lexsort((found.after_ms, found.which)))
        self._volts = limits.number("battery_voltage")
        by_time, dips = found.level == FITS, found.told == self._volts
        self._hot = _by_guest(found.where(by_time & ~dips), len(guests))
        self._dips = _by_guest(found.where(by_time & dips), len(guests))
        self._of = _by_guest(found.where(found.level > FITS), len(guests))
        self._after_a_cut = [number for number, one in enumerate(limits.told) if one.limit == "cold_restart"]
        self._holding, self._alone = Holding(self._beside, limits), Alone(self._beside)
        self._dipping = Dipping(self._beside)

    def _of_the_generator(self, assessment: Assessment, members: Flags) -> Iterator[Passing]:
        """Where a guest has it start into what is too much."""
        generator = self.day.resolved.household.supply.generator
        if generator is None:
            return
        rated_w, charger_w = float(generator.rated_w), float(generator.charger_w)
        told = self._limits.add("generator", "W", lambda use_w: use_w + charger_w, rated_w)
        yield from into_the_generator(self._beside, assessment, members, told)

    def lasts_ms(self, which: int) -> int:
        """How long its run lasts, with all it sets off."""
        return int(self._guests[which].edge_ms[-1])

    def level(self, which: int, begin_ms: float) -> int:
        """What beginning then means; whether it could cut out after a time is left open, between CAREFUL and UNSURE."""
        passing = self._of[which]
        there = (passing.after_ms < begin_ms) & (begin_ms < passing.before_ms)
        level = int(passing.level[there].max(initial=FITS))
        if level < NEVER and _covers(self._hot[which], begin_ms):
            level = NEVER if self._holding.too_long(which, begin_ms, certain=True) else level
        return NEVER if level < NEVER and self._dips_refuse(which, begin_ms) else level

    def _dips_refuse(self, which: int, begin_ms: float) -> bool:
        """Its dips, or those of others with it, last too long between them."""
        return _covers(self._dips[which], begin_ms) and self._dipping.too_long(which, begin_ms) is not None

    def worst_between(self, which: int, from_ms: float, until_ms: float) -> tuple[int, float]:
        """The worst that beginning at some instant from one to another means, and such an instant."""
        passing = self._of[which]
        there = np.flatnonzero((passing.after_ms < until_ms) & (passing.before_ms > from_ms))
        instants = [from_ms]
        if len(there):
            worst = there[int(passing.level[there].argmax())]
            inside = max(float(passing.after_ms[worst]), from_ms), min(float(passing.before_ms[worst]), until_ms)
            instants.append((inside[0] + inside[1]) / 2)
            if passing.level[worst] == NEVER:
                return NEVER, instants[-1]
        return max(((self.level(which, at_ms), at_ms) for at_ms in instants), key=lambda pair: pair[0])

    def decisive(self, which: int, begin_ms: float, level: int) -> Decisive | None:
        """What decides; None where all fits."""
        if level == FITS:
            return None
        passing = self._of[which]
        there = (passing.after_ms < begin_ms) & (begin_ms < passing.before_ms)
        if level == NEVER and passing.level[there].max(initial=FITS) < NEVER:
            held = self._holding.too_long(which, begin_ms, certain=True)
            if held:
                return self._told(held[0].told, "over", held[0].at_ms, held[0].use, held[0].most)
            dip = self._dipping.too_long(which, begin_ms)
            assert dip is not None  # one of the two says so
            return self._told(self._volts, "over", dip.at_ms, dip.use_w, dip.most_w)
        # What is about later, or needs a power cut first, is told where nothing else decides.
        apart = np.isin(passing.told, (self._interlocked, self._reserve, *self._after_a_cut))
        if (there & ~apart).any():
            there &= ~apart
            level = int(passing.level[there].max())
            there &= passing.level == level
        elif np.isin(passing.told[there], self._after_a_cut).any():
            there &= np.isin(passing.told, self._after_a_cut)
        elif (there & (passing.told == self._reserve)).any():
            there &= passing.told == self._reserve
        places = np.flatnonzero(there)
        with np.errstate(divide="ignore", invalid="ignore"):
            place = int(places[int(np.argmax(passing.use[places] / np.maximum(passing.most[places], 1e-9)))])
        told = int(passing.told[place])
        if level == NEVER:
            place = self._first_of(which, begin_ms, places[passing.told[places] == told])
        if told == self._interlocked:
            return Decisive("fits", caution=INTERLOCKED)
        caution = INTERLOCKED if self._is_kept_apart(which, begin_ms) else None
        guests = self._beside.guests
        at_ms = max(float(passing.from_ms[place]), begin_ms + float(guests.from_ms[int(passing.row[place])]))
        if told == self._reserve:
            return self._at_the_reserve()._replace(caution=caution)
        verdict: Verdict = ("fits", "short_time", "chance", "over")[level]
        if level == CAREFUL and self._holding.too_long(which, begin_ms, certain=False):
            verdict = "chance"
        found = self._told(told, verdict, at_ms, float(passing.use[place]), float(passing.most[place]))
        if verdict == "short_time" and found.limit in self._allowed_s:
            own = places[passing.told[places] == told]
            since_ms, until_ms = self._above(which, begin_ms, own, at_ms, found.limit)
            above_s, allowed_s = (until_ms - since_ms) / 1000, self._allowed_s[found.limit]
            if above_s > allowed_s:  # it is too long without it too
                found = found._replace(verdict="chance")
            else:
                found = found._replace(at_ms=int(np.ceil(since_ms)), above_s=above_s, allowed_s=allowed_s)
        return found._replace(caution=caution)

    @cached_property
    def _allowed_s(self) -> dict[str, float]:
        """For how long the first level of each limit may be passed."""
        return {limit: levels.rule.allowed_s[0] for levels in levels_of(self.day) for limit in levels.steady}

    def _above(
        self, which: int, begin_ms: float, places: Instants, at_ms: float, limit: str
    ) -> tuple[float, float]:  # fmt: skip
        """From when to when it is above a limit for hours around an instant, with a guest that begins then.

        places: of the guest's passings. What the plan is above it by itself, before or after, counts.
        """
        passing, guests = self._of[which], self._beside.guests
        row = passing.row[places]
        from_ms = np.maximum(passing.from_ms[places], begin_ms + guests.from_ms[row])
        to_ms = np.minimum(passing.to_ms[places], begin_ms + guests.until_ms[row])
        levels = next(one for one in levels_of(self.day) if limit in one.steady)
        anyway, t_ms = np.flatnonzero(above_hours(levels, limit)), levels.view.scope.t_ms
        from_ms, to_ms = np.append(from_ms, t_ms[anyway]), np.append(to_ms, t_ms[anyway + 1])
        spans: list[tuple[float, float]] = []
        for begins_ms, ends_ms in sorted(zip(from_ms.tolist(), to_ms.tolist(), strict=True)):
            if spans and begins_ms <= spans[-1][1]:
                spans[-1] = spans[-1][0], max(spans[-1][1], ends_ms)
            else:
                spans.append((begins_ms, ends_ms))
        return next((span for span in spans if span[0] <= at_ms <= span[1]), (at_ms, at_ms))

    def _first_of(self, which: int, begin_ms: float, places: Instants) -> int:
        """Which of some passings comes first, once it has begun."""
        passing = self._of[which]
        at_ms = np.maximum(passing.from_ms[places], begin_ms + self._beside.guests.from_ms[passing.row[places]])
        return int(places[int(at_ms.argmin())])

    def _told(self, told: int, verdict: Verdict, at_ms: float, use: float, most: float) -> Decisive:
        limit = self._limits.told[told]
        limit_most = limit.figure(most) if limit.most is None else limit.most
        return Decisive(
            verdict, limit.limit, int(np.ceil(at_ms)), limit.figure(use), limit_most, limit.unit, weight=limit.weight
        )

    def next_worse(self, which: int) -> Change | None:
        """When one that fits no longer does; None for the rest of the day."""
        passing = self._of[which]
        first_ms = float(passing.after_ms.min(initial=self._day_ms))
        dips_ms = self._dips_change(which, self.at_ms, first_ms, to_long=True)
        if dips_ms is not None:
            return Change(int(np.floor(dips_ms)), NEVER, None, True)
        if first_ms >= self._day_ms:
            return None
        return Change(int(np.floor(first_ms)), self.level(which, first_ms + 1), float(passing.from_ms[0]), True)

    def _dips_change(self, which: int, from_ms: float, until_ms: float, *, to_long: bool) -> float | None:
        """The first beginning after one instant, and before another, from which dips last too long, or no longer do."""
        if not len(self._dips[which].which):
            return None
        changes_ms = self._dipping.changes_ms(which)
        for at_ms in changes_ms[(changes_ms >= from_ms) & (changes_ms < until_ms)].tolist():
            if (self._dipping.too_long(which, at_ms + 1) is not None) == to_long:
                return float(at_ms)
        return None

    def first_better(self, which: int, level: int, from_ms: float) -> Change | None:
        """When one that is asked about, or refused, from an instant on is better; None for not on this day."""
        if level == NEVER and self._dips_refuse(which, from_ms):
            over_ms = self._dips_change(which, from_ms, self._day_ms, to_long=False)
            if over_ms is None:
                return None
            found = self.level(which, over_ms + 1)
            return (
                self._change((over_ms, None), found) if found < NEVER else self.first_better(which, found, over_ms + 1)
            )
        passing = self._of[which]
        passing = passing.where(passing.before_ms > from_ms)
        fits = _first_gap(passing, np.ones(len(passing.which), dtype=bool), from_ms)
        if level < NEVER:
            return self._change(fits, FITS)
        hard = passing.level == NEVER
        at_ms, edge_ms = _first_gap(passing, hard, from_ms) if hard.any() else (from_ms, None)
        if at_ms < min(fits[0], self._day_ms) and at_ms > from_ms:
            found = self.level(which, at_ms)
            if found < NEVER:
                return self._change((at_ms, edge_ms), found)
        return self._held_until(which, max(at_ms, from_ms), fits)

    def _held_until(self, which: int, from_ms: float, fits: tuple[float, float | None]) -> Change | None:
        """When stores that would hold too much no longer would: between an instant and one at which all fits."""
        level = FITS
        if fits[0] >= self._day_ms:
            fits, level = self._no_longer_sure(which, from_ms)
        bad_ms, good_ms = from_ms, fits[0]
        if good_ms >= self._day_ms or good_ms <= bad_ms:
            return self._change(fits, level)
        for _ in range(LONGEST_SEARCH):
            if good_ms - bad_ms <= A_SECOND_MS:
                break
            middle_ms = float(int((bad_ms + good_ms) / 2))
            found = self.level(which, middle_ms)
            if found < NEVER:
                good_ms, level = middle_ms, found
            else:
                bad_ms = middle_ms
        # Times are in whole seconds, mostly: what is well to the second is not told as a part of one after it.
        whole_ms = good_ms // A_SECOND_MS * A_SECOND_MS
        if bad_ms < whole_ms < good_ms and (found := self.level(which, whole_ms)) < NEVER:
            good_ms, level = whole_ms, found
        return self._change((good_ms, fits[1]), level)

    def _no_longer_sure(self, which: int, from_ms: float) -> tuple[tuple[float, float | None], int]:
        """When it is no longer broken for sure, though all never fits, and what beginning then means.

        Asked where something ends that certain draws pass with it, and once stores have cooled after that; the end of
        the day where none of these is better.
        """
        hot, hard = self._hot[which], self._of[which]
        ends_ms = np.concatenate([[from_ms], hot.before_ms, hard.before_ms[hard.level == NEVER]])
        ends_ms = np.unique(np.concatenate([ends_ms, ends_ms + 1000 * max(self.day.rule.cooling_s)]))
        for at_ms in ends_ms[(ends_ms > from_ms) & (ends_ms < self._day_ms)][:MOST_ENDS].tolist():
            level = self.level(which, at_ms)
            if level < NEVER:
                return (at_ms, None), level
        return (float(self._day_ms), None), NEVER

    def _change(self, at: tuple[float, float | None], level: int) -> Change | None:
        at_ms, edge_ms = at
        return None if at_ms >= self._day_ms else Change(int(np.ceil(at_ms)), level, edge_ms, False)

    def because(self, which: int, decisive: Decisive | None, change: Change | None) -> tuple[str | None, str | None]:
        """Who makes the difference, and which stage of it."""
        weight = None if decisive is None else decisive.weight
        if change is not None and change.edge_ms is not None:
            pieces = self.day.laid.pieces
            edges = pieces.begin_ms if change.begins else pieces.end_ms
            named = self._largest(which, np.abs(edges - change.edge_ms) <= 1, weight)
            if named[0] is not None:
                return named
        if decisive is None or decisive.at_ms is None:
            return None, None
        pieces = self.day.laid.pieces
        return self._largest(which, (pieces.begin_ms <= decisive.at_ms) & (pieces.end_ms > decisive.at_ms), weight)

    def _largest(self, which: int, chosen: Flags, weight: Floats | None) -> tuple[str | None, str | None]:
        """The largest draw among some pieces that are not its own, what is certain first."""
        pieces, rows = self.day.laid.pieces, self.day.rows
        there = np.flatnonzero(chosen & (pieces.appliance != self._guests[which].place))
        watts = rows.running.p_w[pieces.row[there]]
        if weight is not None:
            watts = watts * weight[pieces.appliance[there]]
        there, watts = there[watts > 0], watts[watts > 0]
        if not len(there):
            return None, None
        piece = there[int(np.argmax(watts + np.where(pieces.cycling[there], 0.0, CERTAIN_FIRST)))]
        return rows.names[int(pieces.row[piece])]

    def alone_too_much(self, which: int, level: int) -> bool:
        """It breaks a limit with nothing else on at all."""
        return level >= UNSURE and self._alone.too_much(which)

    def tight(self, which: int) -> bool:
        """One that fits leaves less of the inverter's hours than wanted."""
        day, scope, guest = self.day, self.day.house.scope, self._guests[which]
        if not self._may_be_tight[which]:
            return False
        share, lines = self._wanted
        drawn = self._beside.drawn(day.house).rows(np.flatnonzero(self._phases & (self._beside.guests.which == which)))
        edges_ms = self.at_ms + guest.edge_ms
        inside = (scope.t_ms > edges_ms[0]) & (scope.t_ms < edges_ms[-1])
        t_ms = np.union1d(edges_ms, scope.t_ms[inside])
        t_ms = t_ms[t_ms <= scope.t_ms[-1]]
        phase = edges_ms.searchsorted(t_ms[:-1], side="right") - 1
        own = drawn.take(phase)
        total = own + self._most.take(scope.stretch_at(t_ms[:-1]))
        for line, use in zip(lines, (total.use_w, total.use_va), strict=True):
            limit = line.at(t_ms)
            if (own.p_w > 0)[use > np.minimum(limit[:-1], limit[1:]) * share * (1 + HAIR)].any():
                return True
        return False

    @cached_property
    def _most(self) -> Sums:
        """Everything the plan may have on; a guest that leads may make the other side of zero count."""
        return everything_on(self.day.house.scope, kept_apart=True)

    @cached_property
    def _phases(self) -> Flags:
        """Which rows of the guests are their phases, with everything they set off coming on with them."""
        guests = self._beside.guests
        alone = np.array([not standing for standing in guests.standing], dtype=bool)
        return np.asarray(alone & (guests.starting < 0))

    @cached_property
    def _wanted(self) -> tuple[float, list[Line]]:
        """What of the inverter's hours may be drawn if enough is to be left; the hours in watts and volt-amperes."""
        rule = self.day.rule
        return 1 - self.day.resolved.day.wanted_margin, [steady_line(rule, one) for one in (WATTS, VOLT_AMPERES)]

    @cached_property
    def _may_be_tight(self) -> Flags:
        """Guests of whom some phase, with the most that is on during it, comes near what is wanted; shape (guests,)."""
        scope, guests, phases = self.day.house.scope, self._beside.guests, np.flatnonzero(self._phases)
        own, (share, lines) = self._beside.drawn(self.day.house).take(phases), self._wanted
        first, last = (scope.stretch_at(self.at_ms + at_ms[phases]) for at_ms in (guests.from_ms, guests.until_ms))
        during = np.stack((first, last + 1), axis=1).ravel()
        most_w, most_va = (
            np.maximum.reduceat(np.append(most, 0.0), during)[::2] for most in (scope.worst.use_w, scope.worst.va)
        )
        near = own.use_w + most_w > share * lines[0].lowest
        near |= (own.va + most_va) * (1 + self._beside.uncertainty) > share * lines[1].lowest
        return np.bincount(guests.which[phases[near]], minlength=len(self._guests)) > 0

    def _is_kept_apart(self, which: int, begin_ms: float) -> bool:
        passing = self._of[which]
        there = (passing.after_ms < begin_ms) & (begin_ms < passing.before_ms)
        return bool((passing.told[there] == self._interlocked).any())

    def _at_the_reserve(self) -> Decisive:
        reading = self._limits.reading("reserve")
        most = None if reading is None else reading.limit
        return Decisive("over", "reserve", None if reading is None else reading.at_ms, None, most, "%")


def _covers(passing: Passing, begin_ms: float) -> bool:
    """Some of them come of beginning then."""
    return bool(((passing.after_ms < begin_ms) & (begin_ms < passing.before_ms)).any())


def _by_guest(found: Passing, guests: int) -> list[Passing]:
    """Those of each guest, which stand together."""
    bounds = found.which.searchsorted(np.arange(guests + 1)).tolist()
    return [found.take(slice(a, b)) if a < b else NOBODY for a, b in pairwise(bounds)]


def _first_gap(passing: Passing, chosen: Flags, from_ms: float) -> tuple[float, float | None]:
    """The first instant from one on that none of some cover for long enough, and when what covers it last ends.

    Long enough for it to go: from the minute on that is told.
    """
    after_ms, before_ms, to_ms = passing.after_ms[chosen], passing.before_ms[chosen], passing.to_ms[chosen]
    if not len(after_ms) or after_ms[0] >= from_ms:
        return from_ms, None
    reach_ms = np.maximum.accumulate(before_ms)
    told_ms = np.ceil(reach_ms[:-1] / MINUTE_MS) * MINUTE_MS
    gaps = np.flatnonzero(after_ms[1:] >= told_ms + GO_HOLDS_MS)
    last = int(gaps[0]) if len(gaps) else len(reach_ms) - 1
    place = int(np.argmax(before_ms[: last + 1]))
    return float(reach_ms[last]), float(to_ms[place])
