"""Asking for many guests at once, whenever they come: may they, and until when."""

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from app.engine.alone import Alone
from app.engine.beside import NOBODY, Beside, Passing, together
from app.engine.dipping import Dip, Dipping
from app.engine.guest import Guest
from app.engine.guests import guests_of
from app.engine.holding import Holding
from app.engine.later_on import Kind
from app.engine.may_hold import MayHold
from app.engine.moment import Inspection
from app.engine.objections import kept_apart, members_of, through_the_bank
from app.engine.pressing import locked_pressing, pressing
from app.engine.results import Flags, Floats
from app.engine.told import FITS, NEVER, UNSURE, Limits

A_SECOND_MS, MINUTE_MS = 1000, 60_000
GO_HOLDS_MS = MINUTE_MS  # what fits for less is answered as it is after: nobody reads an answer and plugs in sooner
AT_ONCE = 128  # beginnings that are looked at together


class Change(NamedTuple):
    """When the answer changes, and to what. edge_ms: when what makes it begins or ends; None where it is not known."""

    at_ms: int
    level: int
    edge_ms: float | None
    begins: bool


class Asking:
    """Some guests at one instant of a plan and after it.

    at_ms: a whole second. Levels are those of `told`. What of them is told: `app.engine.deciding`.
    """

    def __init__(self, inspection: Inspection, guests: Sequence[Guest], at_ms: int) -> None:
        self.day, self.at_ms, self.guests = inspection.day, float(at_ms), tuple(guests)
        self.beside = Beside(self.day, guests_of(self.day, guests), self.at_ms)
        self.limits = limits = Limits({limit: flags for limit, (_, flags) in inspection.sure.items()})
        self.battery = inspection.battery
        self.day_ms = self.day.resolved.frame.day_ms
        members, everyone = members_of(self.beside), np.arange(len(guests))
        parts = [NOBODY, *pressing(self.beside, limits, everyone[~members], everything=False)]
        alone = members.copy()  # of whom nothing is kept off
        for one in self.beside.locked if members.any() else ():
            alone[list(one.which)] = False
            parts += locked_pressing(self.beside, limits, one)
        if alone.any():
            parts += pressing(self.beside, limits, everyone[alone], everything=True)
        self.interlocked = limits.add("", "W")
        parts += kept_apart(self.beside, self.interlocked)
        self.reserve = limits.add("reserve", "%")
        beside, self.later = self._of_the_generator(), self._of_the_generator()
        # What is not known of later.
        self.unknown = limits.add("reserve", "%", lesser=True), limits.add("generator", "W", lesser=True)
        told: dict[Kind, int] = {
            "reserve": self.reserve, "generator": beside, "later": self.later,
            "reserve?": self.unknown[0], "generator?": self.unknown[1],
        }  # fmt: skip
        parts += through_the_bank(self.beside, self.battery, members, told)
        found = together(parts)
        found = found.where(found.before_ms > self.at_ms)
        found = found.take(np.lexsort((found.after_ms, found.which)))
        self.volts = limits.number("battery_voltage")
        by_time, dips = found.level == FITS, found.told == self.volts
        # Per guest: what is a matter of time above a level, of time below the cut-off, and what passes a limit.
        self._hot = _by_guest(found.where(by_time & ~dips), len(guests))
        self._dips = _by_guest(found.where(by_time & dips), len(guests))
        self.passing = _by_guest(found.where(found.level > FITS), len(guests))
        self._turns_ms: dict[int, Floats] = {}
        self.holding, self._dipping = Holding(self.beside, limits), Dipping(self.beside)
        self.may_hold = MayHold(self.beside)
        self._alone = Alone(self.beside)

    def _of_the_generator(self) -> int:
        """The number under which it is told that more is on than the generator carries beside its charger."""
        generator = self.day.resolved.household.supply.generator
        if generator is None:
            return -1
        rated_w, charger_w = float(generator.rated_w), float(generator.charger_w)
        return self.limits.add("generator", "W", lambda use_w: use_w + charger_w, rated_w)

    def lasts_ms(self, which: int) -> int:
        """How long its run lasts, with all it sets off."""
        return int(self.guests[which].edge_ms[-1])

    def level(self, which: int, begin_ms: float) -> int:
        """What beginning then means; whether it could cut out after a time is left open, between CAREFUL and UNSURE."""
        passing, level = self.passing[which], FITS
        if len(passing.which):
            level = int(passing.level[covers(passing, begin_ms)].max(initial=FITS))
        refused = level < NEVER and self._times_refuse(which, np.array([begin_ms]))[0]
        return NEVER if refused else level

    def is_hot(self, which: int, begin_ms: float) -> bool:
        """Beginning then fills some store of time above a level."""
        return bool(covers(self._hot[which], begin_ms).any())

    def dips_too_long(self, which: int, begin_ms: float) -> Dip | None:
        """The first of its dips, or of others with it, that last too long between them."""
        return self._dipping.too_long(which, begin_ms) if covers(self._dips[which], begin_ms).any() else None

    def _times_refuse(self, which: int, begin_ms: Floats) -> Flags:
        """Whether, from each of some beginnings, a store holds too much for sure or dips last too long."""
        found = np.zeros(len(begin_ms), dtype=bool)
        if not len(self._hot[which].which) and not len(self._dips[which].which):
            return found
        hot = _any_of(self._hot[which], begin_ms, begin_ms).nonzero()[0]
        if len(hot):
            found[hot] = self.holding.sure(which, begin_ms[hot])
        dips = (_any_of(self._dips[which], begin_ms, begin_ms) & ~found).nonzero()[0]
        if len(dips) == 1:
            found[dips] = self._dipping.too_long(which, float(begin_ms[dips[0]])) is not None
        elif len(dips):
            _, some, of_dip = np.unique(
                self._turns(which).searchsorted(begin_ms[dips], side="right"), return_index=True, return_inverse=True
            )
            refused = [self._dipping.too_long(which, at_ms) is not None for at_ms in begin_ms[dips[some]].tolist()]
            found[dips] = np.array(refused)[of_dip]
        return found

    def _turns(self, which: int) -> Floats:
        """Beginnings at which what its dips come to may change."""
        if which not in self._turns_ms:
            self._turns_ms[which] = self._dipping.changes_ms(which)
        return self._turns_ms[which]

    def worst_between(self, which: int, from_ms: float, until_ms: float) -> tuple[int, float]:
        """The worst that beginning at some instant from one to another means, and such an instant."""
        passing = self.passing[which]
        there = np.flatnonzero((passing.after_ms < until_ms) & (passing.before_ms > from_ms))
        instants = [from_ms]
        if len(there):
            worst = there[int(passing.level[there].argmax())]
            inside = max(float(passing.after_ms[worst]), from_ms), min(float(passing.before_ms[worst]), until_ms)
            instants.append((inside[0] + inside[1]) / 2)
            if passing.level[worst] == NEVER:
                return NEVER, instants[-1]
        return max(((self.level(which, at_ms), at_ms) for at_ms in instants), key=lambda pair: pair[0])

    def next_worse(self, which: int) -> Change | None:
        """When one that fits no longer does; None for the rest of the day."""
        passing = self.passing[which]
        first_ms = float(passing.after_ms.min(initial=self.day_ms))
        dips_ms = self._first_dips(which, first_ms)
        if dips_ms is not None:
            return Change(int(np.floor(dips_ms)), NEVER, None, True)
        if first_ms >= self.day_ms:
            return None
        return Change(int(np.floor(first_ms)), self.level(which, first_ms + 1), float(passing.from_ms[0]), True)

    def _first_dips(self, which: int, until_ms: float) -> float | None:
        """The first beginning from now, and before an instant, from which dips last too long."""
        if not len(self._dips[which].which):
            return None
        turns_ms = self._turns(which)
        turns_ms = turns_ms[(turns_ms >= self.at_ms) & (turns_ms < until_ms)]
        bad = self._times_refuse(which, turns_ms + 1).nonzero()[0]
        return float(turns_ms[bad[0]]) if len(bad) else None

    def first_better(self, which: int, level: int, from_ms: float) -> Change | None:
        """When one that is asked about, or refused, from an instant on is better; None for not on this day.

        A refused one may still be asked about then. Better for long enough for it to go: for the whole minute that is
        told, the first there is.
        """
        passing = self.passing[which]
        worse = passing.where(passing.level == NEVER) if level == NEVER else passing
        minute_ms = self._free_minute(which, worse, from_ms)
        if minute_ms is None:
            return None
        # It may be better already in the seconds before that minute.
        ends_ms = worse.before_ms[(worse.before_ms > minute_ms - MINUTE_MS) & (worse.before_ms <= minute_ms)]
        seconds_ms = np.arange(max(minute_ms - MINUTE_MS + A_SECOND_MS, from_ms), minute_ms + 1, A_SECOND_MS)
        instants = np.unique(np.concatenate([seconds_ms, ends_ms[ends_ms > from_ms], [minute_ms]]))
        sooner = instants[:-1]
        bad = (_any_of(worse, sooner, sooner) | self._times_refuse(which, sooner)).nonzero()[0]
        at_ms = float(instants[bad[-1] + 1 if len(bad) else 0])
        last = np.flatnonzero((worse.before_ms > at_ms - A_SECOND_MS) & (worse.before_ms <= at_ms))
        edge_ms = float(worse.to_ms[last[int(worse.before_ms[last].argmax())]]) if len(last) else None
        then = self.worst_between(which, minute_ms, minute_ms + GO_HOLDS_MS)[0]
        return Change(int(np.ceil(at_ms)), then, edge_ms, False)

    def next_refused(self, which: int, from_ms: float, until_ms: float) -> Change | None:
        """When one that is asked about from an instant on is refused, before another instant; None for not."""
        passing = self.passing[which]
        hard = passing.where((passing.level == NEVER) & (passing.after_ms >= from_ms))
        first_ms = float(hard.after_ms.min(initial=until_ms))
        minutes_ms = np.arange(from_ms // MINUTE_MS + 1, np.ceil(first_ms / MINUTE_MS), dtype=float) * MINUTE_MS
        for first in range(0, len(minutes_ms), AT_ONCE):
            refused = self._times_refuse(which, minutes_ms[first : first + AT_ONCE]).nonzero()[0]
            if len(refused):
                minute_ms = float(minutes_ms[first + refused[0]])
                seconds_ms = np.arange(max(minute_ms - MINUTE_MS, from_ms), minute_ms + 1, A_SECOND_MS)
                at_ms = seconds_ms[int(self._times_refuse(which, seconds_ms).argmax())]
                return Change(int(at_ms), NEVER, None, True)
        return None if first_ms >= until_ms else Change(int(np.floor(first_ms)), NEVER, float(hard.from_ms[0]), True)

    def _free_minute(self, which: int, worse: Passing, from_ms: float) -> float | None:
        """The first whole minute from an instant on in which nothing speaks against beginning; None for none today."""
        minutes_ms = np.arange(np.ceil(from_ms / MINUTE_MS), self.day_ms // MINUTE_MS, dtype=float) * MINUTE_MS
        minutes_ms = minutes_ms[~_any_of(worse, minutes_ms, minutes_ms + GO_HOLDS_MS)]
        for first in range(0, len(minutes_ms), AT_ONCE):
            some = minutes_ms[first : first + AT_ONCE]
            refused = self._times_refuse(which, some) | self._times_refuse(which, some + (GO_HOLDS_MS - A_SECOND_MS))
            if not refused.all():
                return float(some[int(refused.argmin())])
        return None

    def is_unknown_later(self, which: int, level: int, from_ms: float, until_ms: float = np.inf) -> bool:
        """Of some beginning between two instants nobody knows whether it would be better than a level."""
        passing = self.passing[which]
        passing = passing.where(
            (passing.level >= level) & (passing.before_ms > from_ms) & (passing.after_ms < until_ms)
        )
        is_unknown = np.isin(passing.told, self.unknown)
        if not is_unknown.any():
            return False
        known, unknown = passing.where(~is_unknown), passing.where(is_unknown)
        edges_ms = np.clip(np.concatenate([passing.after_ms, passing.before_ms]), from_ms, min(until_ms, self.day_ms))
        edges_ms = np.unique(edges_ms)
        middle_ms = (edges_ms[:-1] + edges_ms[1:]) / 2
        return bool((_any_of(unknown, middle_ms, middle_ms) & ~_any_of(known, middle_ms, middle_ms)).any())

    def is_unknown_from(self, which: int, begin_ms: float) -> bool:
        """That nobody knows what would become of it is all that speaks against beginning then."""
        told = self.passing[which].told[covers(self.passing[which], begin_ms)]
        return len(told) > 0 and bool(np.isin(told, self.unknown).all())

    def alone_too_much(self, which: int, level: int) -> bool:
        """It breaks a limit with nothing else on at all."""
        return level >= UNSURE and self._alone.too_much(which)


def covers(passing: Passing, begin_ms: float) -> Flags:
    """Which come of beginning then."""
    return np.asarray((passing.after_ms < begin_ms) & (begin_ms < passing.before_ms))


def _any_of(passing: Passing, from_ms: Floats, until_ms: Floats) -> Flags:
    """Whether any come of beginning at some instant from one to another, for many such pairs."""
    begun = np.sort(passing.after_ms).searchsorted(until_ms, side="left")
    return np.asarray(begun > np.sort(passing.before_ms).searchsorted(from_ms, side="right"))


def _by_guest(found: Passing, guests: int) -> list[Passing]:
    """Those of each guest, which stand together."""
    bounds = found.which.searchsorted(np.arange(guests + 1)).tolist()
    return [found.take(slice(a, b)) if a < b else NOBODY for a, b in pairwise(bounds)]
