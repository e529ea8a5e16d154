"""What decides an answer, as it is told: which limit, where, by how much, and who makes the difference."""

from typing import NamedTuple

import numpy as np

from app.engine.asking import Asking, Change, covers
from app.engine.beside import Passing
from app.engine.results import Flags, Floats, Instants, Verdict
from app.engine.told import CAREFUL, FITS, NEVER
from app.engine.traces import Unit

INTERLOCKED = "interlocked_at_once"
CERTAIN_FIRST = 4.0  # times what comes and goes


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


class _Moments(NamedTuple):
    """Some of what a guest passes, shape (n,): its place there, from when on, and what is passed then at the least."""

    place: Instants
    from_ms: Floats
    most: Floats


class Deciding:
    """What is told of answers that `asking` gives."""

    def __init__(self, asking: Asking) -> None:
        self._asking, self._beside, self._limits, self._day = asking, asking.beside, asking.limits, asking.day
        told = self._limits.told
        self._after_a_cut = [number for number, one in enumerate(told) if one.limit == "cold_restart"]
        self._apart = (asking.interlocked, asking.reserve, asking.later, *self._after_a_cut)
        self._lesser = [number for number, one in enumerate(told) if one.lesser]

    def decisive(self, which: int, begin_ms: float, level: int) -> Decisive | None:
        """What decides; None where all fits. Of what refuses it, what comes first."""
        if level == FITS:
            return None
        by_time = self._by_time(which, begin_ms) if level == NEVER else None
        passing = self._asking.passing[which]
        there = covers(passing, begin_ms)
        if by_time is not None and passing.level[there].max(initial=FITS) < NEVER:
            return by_time
        by_draw = self._by_draw(which, begin_ms, there, level)
        first = by_time is not None and by_draw.at_ms is not None and (by_time.at_ms or 0) < by_draw.at_ms
        return by_time._replace(caution=by_draw.caution) if by_time is not None and first else by_draw

    def _by_time(self, which: int, begin_ms: float) -> Decisive | None:
        """A store that surely holds too much, or else a dip that lasts too long."""
        held = None
        if self._asking.is_hot(which, begin_ms):
            held = self._asking.holding.too_long(which, begin_ms)
        if held is not None:
            return self._told(held.told, "over", held.at_ms, held.use, held.most)
        dip = self._asking.dips_too_long(which, begin_ms)
        return None if dip is None else self._told(self._asking.volts, "over", dip.at_ms, dip.use_w, dip.most_w)

    def _by_draw(self, which: int, begin_ms: float, covered: Flags, level: int) -> Decisive:
        """What is drawn is too much. covered: of what the guest passes, what comes of beginning then."""
        asking, passing = self._asking, self._asking.passing[which]
        caution = INTERLOCKED if (covered & (passing.told == asking.interlocked)).any() else None
        there, level = self._that_decides(passing, covered, level)
        moments = self._moments(which, begin_ms, there)
        with np.errstate(divide="ignore", invalid="ignore"):
            largest = int(np.argmax(passing.use[moments.place] / np.maximum(moments.most, 1e-9)))
        told = int(passing.told[moments.place[largest]])
        if told == asking.interlocked:
            return Decisive("fits", caution=INTERLOCKED)
        if told == asking.reserve:
            return self._at_the_reserve()._replace(caution=caution)
        if told == asking.later or level == NEVER:
            # Of that limit, what comes first.
            first = int(np.where(passing.told[moments.place] == told, moments.from_ms, np.inf).argmin())
            return self._told_of(which, moments, first, "over")._replace(caution=caution)
        held = None if told in self._apart else asking.may_hold.too_long(which, begin_ms)
        if level == CAREFUL and held is None:
            found = self._for_a_while(which, begin_ms, self._told_of(which, moments, largest, "short_time"))
            if found is not None:
                return found._replace(caution=caution)
        first = int(moments.from_ms.argmin())
        # It could cut out where it is too much at once, or where it may have been too much for too long.
        if held is not None and (level == CAREFUL or held.at_ms < moments.from_ms[first]):
            told = self._limits.number(held.limit, held.unit)
            return self._told(told, "chance", held.at_ms, held.use, held.most)._replace(caution=caution)
        return self._told_of(which, moments, first, "chance")._replace(caution=caution)

    def _moments(self, which: int, begin_ms: float, there: Flags) -> "_Moments":
        """From when on some of what a guest passes that begins then is passed, and the limit at its lowest."""
        passing, guests = self._asking.passing[which], self._beside.guests
        place = np.flatnonzero(there)
        rows = passing.row[place]
        from_ms = np.maximum(passing.from_ms[place], begin_ms + guests.from_ms[rows])
        return _Moments(place, from_ms, passing.most_between(place, from_ms, begin_ms + guests.until_ms[rows]))

    def _told_of(self, which: int, moments: "_Moments", number: int, verdict: Verdict) -> Decisive:
        passing, place = self._asking.passing[which], moments.place[number]
        figures = float(moments.from_ms[number]), float(passing.use[place]), float(moments.most[number])
        return self._told(int(passing.told[place]), verdict, *figures)

    def _that_decides(self, passing: Passing, there: Flags, level: int) -> tuple[Flags, int]:
        """Which of what is passed is told, and how bad that is: what is about later where nothing else decides."""
        # What is about later, or needs a power cut first, is told where nothing else decides.
        apart = np.isin(passing.told, self._apart)
        if (there & ~apart).any():
            level = int(passing.level[there & ~apart].max())
            there = there & ~apart & (passing.level == level)
            lesser = np.isin(passing.told, self._lesser)
            return there & ~lesser if (there & ~lesser).any() else there, level
        for told in (self._after_a_cut, self._asking.later, self._asking.reserve):
            if (there & np.isin(passing.told, told)).any():
                return there & np.isin(passing.told, told), level
        return there, level

    def _for_a_while(self, which: int, begin_ms: float, found: Decisive) -> Decisive | None:
        """With how long it is above at most; None where it is too long without it too, or nobody knows for how long."""
        longest = self._asking.may_hold.longest(which, begin_ms, found.limit) if found.limit is not None else None
        if longest is None:
            return found
        if not 0 < longest.above_s <= longest.allowed_s:
            return None
        if (higher := longest.higher) is not None:
            told = self._limits.number(higher.limit, higher.unit)
            found = self._told(told, "short_time", higher.at_ms, higher.use, higher.most)
        return found._replace(at_ms=int(np.ceil(longest.from_ms)), above_s=longest.above_s, allowed_s=longest.allowed_s)

    def _told(self, told: int, verdict: Verdict, at_ms: float, use: float, most: float) -> Decisive:
        limit = self._limits.told[told]
        limit_most = limit.figure(most) if limit.most is None else limit.most
        return Decisive(
            verdict, limit.limit, int(np.ceil(at_ms)), limit.figure(use), limit_most, limit.unit, weight=limit.weight
        )

    def because(self, which: int, decisive: Decisive | None, change: Change | None) -> tuple[str | None, str | None]:
        """Who makes the difference, and which stage of it."""
        weight = None if decisive is None else decisive.weight
        if change is not None and change.edge_ms is not None:
            pieces = self._day.laid.pieces
            edges = pieces.begin_ms if change.begins else pieces.end_ms
            named = self._largest(which, np.abs(edges - change.edge_ms) <= 1, weight)
            if named[0] is not None:
                return named
        if decisive is None or decisive.at_ms is None:
            return None, None
        pieces = self._day.laid.pieces
        there = (pieces.begin_ms <= decisive.at_ms) & (pieces.end_ms > decisive.at_ms)
        is_over = decisive.at_ms >= self._asking.at_ms + self._asking.lasts_ms(which)
        return self._largest(which, there, weight, own_too=is_over)

    def _largest(
        self, which: int, chosen: Flags, weight: Floats | None, *, own_too: bool = False
    ) -> tuple[str | None, str | None]:
        """The largest draw among some pieces that are not its own; what is certain first, unless it is little beside.

        Not what draws evenly day and night: it makes no difference to one hour.
        """
        pieces, rows = self._day.laid.pieces, self._day.rows
        always = np.array([one.always_on for one in rows.appliances])[pieces.appliance] & ~pieces.cycling
        others = (pieces.appliance != self._asking.guests[which].place) | own_too
        there = np.flatnonzero(chosen & ~always & others)
        watts = rows.running.p_w[pieces.row[there]]
        if weight is not None:
            watts = watts * weight[pieces.appliance[there]]
        there, watts = there[watts > 0], watts[watts > 0]
        if not len(there):
            return None, None
        piece = there[int(np.argmax(watts * np.where(pieces.cycling[there], 1.0, CERTAIN_FIRST)))]
        return rows.names[int(pieces.row[piece])]

    def _at_the_reserve(self) -> Decisive:
        battery = self._asking.battery
        assert battery is not None  # what it is told by
        return Decisive("over", "reserve", battery.expected.at_ms, None, 100 * battery.reserve, "%")
