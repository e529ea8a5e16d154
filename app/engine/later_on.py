"""What a run leads to through the bank: the charge sinks below its reserve, the generator runs at another time.

Bounds (`shortfall`) say of most runs, whenever they begin, that they do not. For the others the whole day is followed
with the run in it: every two hours, and between two such beginnings where what becomes of it is not the same, or may
not be in between. What is found is told by when the run begins.
"""

from collections import Counter
from collections.abc import Iterator
from itertools import pairwise
from typing import Literal, NamedTuple

import numpy as np

from app.engine.beside import Beside
from app.engine.charge import BankDay
from app.engine.draw import HAIR
from app.engine.overloading import Overload, Overloading, Spells
from app.engine.shortfall import STEP_MS, keeps_itself, lacking, least_charge
from app.engine.sun import known_suns
from app.engine.with_guest import WithGuest

MOST_FOLLOWED = 160  # days followed for one answer, each a tenth of a millisecond; more only for what begins now
FOR_EACH = 9  # of these at least, to see when its answer turns, for what is not refused; of few runs each has more
EVERY = 4  # half hours between two that are followed first; for the first two hours each guest is all the same
SECOND_MS, MINUTE_MS = 1000, 60_000
TURNS_WITHIN_MS = 15_000
ALIKE_MS = 4 * MINUTE_MS  # between two that are alike no other is looked for
FITS_FOR_MS = 5 * MINUTE_MS  # what fits for less between two times that are too much is not looked for
NOTICED = 1e-4  # of the charge; less comes of where steps of time are cut

NO_SPELLS: Spells = []

Kind = Literal["reserve", "generator", "later", "reserve?", "generator?"]


class Found(NamedTuple):
    """A guest that leads to something, beginning between two instants, neither included.

    kind: the charge sinks below the reserve; the generator runs while too much is on, the guest among it; so it does,
    at another time than it would, when the guest is off again; nobody knows whether the charge sinks so low, or the
    generator runs so. at_ms, to_ms: when. use_w: of the house.
    """

    which: int
    kind: Kind
    after_ms: float
    before_ms: float
    at_ms: float
    to_ms: float
    use_w: float


class Outcome(NamedTuple):
    """What becomes of the day with a guest that begins at an instant.

    below: the charge sinks below the reserve, and lower than without it. least: of the charge. spells_ms: when the
    generator runs. is_after_a_gap: there was no time to see what comes of beginning a little sooner.
    """

    begin_ms: float
    below: bool
    least: float
    spells_ms: Spells
    overload: Overload | None
    is_after_a_gap: bool = False

    @property
    def kinds(self) -> tuple[bool, bool | None]:
        """What two beginnings are alike in."""
        return self.below, None if self.overload is None else self.overload.is_on


def later_on(beside: Beside, battery: BankDay | None, kept_apart: list[bool]) -> Iterator[Found]:
    """What guests lead to, by when they begin on this day.

    Each is followed until what becomes of it is another than at first. What may come after that, or for what there is
    no time, is told as not known; of a day on which the house goes dark all the same, by the bound.
    kept_apart: per guest, whether what interlocks keep off is off for it.
    """
    suns = known_suns(beside.day.resolved)
    if battery is None or suns is None:
        return
    generator = beside.day.resolved.household.supply.generator
    overloading = None
    if generator is not None:
        overloading = Overloading(beside, battery, float(generator.rated_w - generator.charger_w), kept_apart)
    may = _May(beside, battery, overloading)
    if not len(may.asked):
        return
    each = max(FOR_EACH, MOST_FOLLOWED // max(len(may.asked), 1))
    following = _Following(WithGuest(beside, battery, suns.expected), battery, may.floor, overloading, each)
    open_, first, before = set(range(len(may.asked))), dict[int, Outcome](), dict[int, Outcome]()
    known = [-1] * len(may.asked)
    for place, begin_ms in enumerate(may.begins_ms.tolist()):
        for number in sorted(open_):
            if not may.is_near[number, place]:
                before.pop(number, None)
                known[number] = place
                continue
            if not may.is_asked[number, place]:
                continue
            if following.is_over and place > EVERY:
                open_.remove(number)
                yield from may.after(number, known[number])
                continue
            known[number] = place
            which = int(may.asked[number])
            row = [following.outcome(which, begin_ms)]
            if number in before:
                row = [before[number], *following.between(which, before[number], row[0])]
            before[number] = row[-1]
            yield from _told(which, row)
            if any(one.kinds != first.setdefault(number, row[0]).kinds for one in row):
                open_.remove(number)
                yield from may.after(number, place)
    if may.is_dark:
        for number in range(len(may.asked)):
            yield from may.below_after(number, -1)


def _told(which: int, row: list[Outcome]) -> Iterator[Found]:
    """What outcomes of beginnings that follow on one another say; between two it is as bad as the worse."""
    for one in row:
        yield from _between(which, [one], one.begin_ms - 1.0, one.begin_ms + 1.0)
    for one, then in pairwise(row):
        if then.is_after_a_gap:
            kind: Kind = "reserve?" if then.spells_ms is NO_SPELLS else "generator?"
            yield Found(which, kind, one.begin_ms, then.begin_ms, one.begin_ms, then.begin_ms, 1.0)
        else:
            yield from _between(which, [one, then], one.begin_ms, then.begin_ms)


def _between(which: int, row: list[Outcome], after_ms: float, before_ms: float) -> Iterator[Found]:
    if any(one.below for one in row):
        yield Found(which, "reserve", after_ms, before_ms, after_ms, before_ms, 1.0)
    overloads = [one.overload for one in row if one.overload is not None]
    if overloads:
        worst = max(overloads, key=lambda one: one.is_on)
        kind: Kind = "generator" if worst.is_on else "later"
        yield Found(which, kind, after_ms, before_ms, worst.from_ms, worst.to_ms, worst.use_w)


class _May:
    """Which guests may lead to something, half hour by half hour, by bounds on what they take of the charge.

    asked: those that may at all. is_near: shape (asked, n): beginning then may, or half an hour sooner or later.
    is_asked: where of that it is followed first.
    """

    def __init__(self, beside: Beside, battery: BankDay, overloading: Overloading | None) -> None:
        day = beside.day
        generator, ran = day.resolved.household.supply.generator, battery.generator
        self.is_dark = battery.expected.dark_ms is not None
        # Before the reserve the generator starts, and then the guest takes nothing from the bank.
        asks = self.is_dark or not (generator is not None and keeps_itself(day, generator))
        self.floor = least_charge(battery) if asks and not self.is_dark else None
        lowest = max(least_charge(battery) if asks else 0.0, generator.start_below + HAIR if generator else 0.0)
        every = self.is_dark or any(one.to_ms > beside.from_ms for one in ran)
        found = lacking(day, battery, beside.guests.guests, beside.from_ms, lowest, all_of_them=every)
        self._day_ms = float(day.resolved.frame.day_ms)
        days = int((found.begins_ms < self._day_ms + STEP_MS).sum())  # what turns in the last minutes of the day, too
        self.asked, self.begins_ms = found.asked, found.begins_ms[:days]
        short = (found.charge - found.points < least_charge(battery) - HAIR) | self.is_dark
        # On a day on which the house goes dark all the same, the charge is short whatever there is of it.
        self._below = np.any((found.points > HAIR) & short & asks, axis=2)[:, :days]
        self._overloads = np.zeros_like(self._below)
        if overloading is not None and generator is not None and len(self.asked):
            begins_ms = found.begins_ms
            runs = [(begins_ms < one.to_ms) & (begins_ms + STEP_MS > one.from_ms) for one in ran]
            starts = found.charge - found.points <= generator.start_below + HAIR
            starts = (starts | np.any(runs or [begins_ms < 0], axis=0)) & np.tri(len(begins_ms), dtype=bool).T
            for number, which in enumerate(self.asked.tolist()):
                self._overloads[number] = overloading.may_come(which, starts[number], begins_ms, STEP_MS)[:days]
        flagged = self._overloads | (self._below & (not self.is_dark))
        wide = np.pad(flagged, ((0, 0), (1, 1)))
        self.is_near = wide[:, :-2] | flagged | wide[:, 2:]
        wide = np.pad(self.is_near, ((0, 0), (1, 1)))
        self.is_asked = self.is_near & ((np.arange(days) % EVERY == 0) | ~(wide[:, :-2] & wide[:, 2:]))

    def after(self, number: int, place: int) -> Iterator[Found]:
        """What is not known of a guest that begins after one of the half hours."""
        yield from self.below_after(number, place)
        near = np.flatnonzero(self.is_near[number, place + 1 :])
        if len(near) and self._overloads[number, place:].any():
            from_ms = max(float(self.begins_ms[place + 1 + near[0]]) - STEP_MS, float(self.begins_ms[place]))
            until_ms = self._day_ms + STEP_MS
            yield Found(int(self.asked[number]), "generator?", from_ms, until_ms, from_ms, until_ms, 1.0)

    def below_after(self, number: int, place: int) -> Iterator[Found]:
        """What the bound says of the reserve, for what begins after one of the half hours, -1 for all of them."""
        kind: Kind = "reserve" if self.is_dark else "reserve?"
        for one in np.flatnonzero(self._below[number, place + 1 :]) + place + 1:
            # Between two half hours it is as bad as at the worse of them.
            after_ms, before_ms = float(self.begins_ms[one]) - STEP_MS, float(self.begins_ms[one]) + STEP_MS
            after_ms = after_ms if place < 0 else max(after_ms, float(self.begins_ms[place]))
            yield Found(int(self.asked[number]), kind, after_ms, before_ms, after_ms, before_ms, 1.0)


class _Following:
    """Follows days with a guest in them."""

    def __init__(
        self, days: WithGuest, battery: BankDay, floor: float | None, overloading: Overloading | None, each: int
    ) -> None:
        """floor: what the charge must not sink below because of the guest; None where nothing of it is asked.

        each: days that may be followed for one guest all the same.
        """
        self._days, self._battery, self._floor, self._overloading = days, battery, floor, overloading
        self._each = each
        self._turning = Counter[int]()  # days followed for each, to see when its answer turns

    @property
    def is_over(self) -> bool:
        """As many days were followed as there is time for."""
        return self._days.count >= MOST_FOLLOWED

    def outcome(self, which: int, begin_ms: float) -> Outcome:
        """What becomes of the day with the guest."""
        happens = self._days.follow(which, begin_ms)
        least, below = float(happens.charge.min()), False
        if self._floor is not None and least < self._floor - HAIR:
            was = np.interp(happens.edges_ms, self._battery.edges_ms, self._battery.state_of_charge)
            below = bool(((happens.charge < self._floor - HAIR) & (happens.charge < was - NOTICED)).any())
        if self._overloading is None:
            return Outcome(begin_ms, below, least, NO_SPELLS, None)
        spells_ms = happens.generator_ms()
        overload = self._overloading.first(which, begin_ms, spells_ms)
        return Outcome(begin_ms, below, least, spells_ms, overload)

    def between(self, which: int, one: Outcome, then: Outcome) -> list[Outcome]:
        """Outcomes from one beginning to another, the first not among them: closely where they are not alike."""
        middle_ms = self._looked_at(which, one, then)
        if middle_ms is None:
            return [then]
        is_on = one.overload is not None and one.overload.is_on
        is_needed = not is_on and self._turning[which] < self._each
        if self.is_over and not is_needed:
            # What is asked about at both goes on to be; else nobody knows.
            return [then._replace(is_after_a_gap=is_on or one.kinds != then.kinds or one.overload is None)]
        self._turning[which] += 1
        middle = self.outcome(which, middle_ms)
        return [*self.between(which, one, middle), *self.between(which, middle, then)]

    def _looked_at(self, which: int, one: Outcome, then: Outcome) -> float | None:
        """A beginning between two at which it may be otherwise; None where none may, or they are near enough."""
        lasts_ms = then.begin_ms - one.begin_ms
        middle_ms = (one.begin_ms + then.begin_ms) / 2 // SECOND_MS * SECOND_MS
        if lasts_ms > (ALIKE_MS if one.kinds == then.kinds else TURNS_WITHIN_MS) and self._differ(which, one, then):
            return middle_ms
        if self._overloading is None or one.overload is None or then.overload is None:
            return None
        # Both are too much, perhaps for two reasons, and in between it fits.
        if lasts_ms > STEP_MS:
            return middle_ms
        # Nearer to one another the generator runs about as with either of them.
        for begin_ms in np.arange(one.begin_ms + FITS_FOR_MS, then.begin_ms - FITS_FOR_MS / 2, FITS_FOR_MS).tolist():
            for spells_ms in (one.spells_ms, then.spells_ms):
                if self._overloading.first(which, begin_ms, spells_ms) is None:
                    return float(begin_ms)
        return None

    def _differ(self, which: int, one: Outcome, then: Outcome) -> bool:
        """They are not alike, or something may come of a beginning between them that comes of neither."""
        if one.kinds != then.kinds or self._days.moves_others(which, one.begin_ms, then.begin_ms):
            return True
        if self._floor is not None and not one.below:
            least = min(one.least, then.least)
            if abs(one.least - then.least) > least - self._floor:
                return True
        if self._overloading is None or one.overload is not None:
            return False
        return self._overloading.may_be_between(which, (one.begin_ms, then.begin_ms), (one.spells_ms, then.spells_ms))
