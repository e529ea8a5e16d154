"""What is on, and what is off by its answer: a row for each appliance."""

from collections.abc import Iterator
from dataclasses import dataclass

from app.engine.answers import MaySwitch, OnNow, Switching
from app.household.beside_plan import Tap
from app.household.fields import wall_clock_s
from app.household.gaps import run_length_s
from app.web.figures import clock
from app.web.now import Now
from app.web.tapped import AsTapped, tapped_at
from app.web.words import sentence_case
from app.web.words import switch_on as said

REST_MS = 300_000  # what a compressor needs between two starts
GROUPS = (("go", "May go on"), ("ask", "Ask first"), ("not_now", "Not now"))


@dataclass(frozen=True, slots=True)
class OnRow:
    """Something that is on."""

    id: str  # for the page: its place in the library
    appliance: str  # its id
    name: str  # its name
    line: str  # until when, and who said so
    switched: bool  # a hand switches it
    back: bool  # the plan says otherwise
    faults: tuple[str, ...]  # why a tap on it was refused


@dataclass(frozen=True, slots=True)
class MayRow:
    """Something that is off."""

    id: str  # for the page: its place in the library
    appliance: str  # its id
    name: str  # its name
    answer: str  # go, ask or not_now
    word: str  # the same in words
    line: str  # until when, and why
    note: str  # who said that it is off, and what the plan says; may be empty
    rest: str  # what to wait for before it is started again; may be empty
    back: bool  # the plan says otherwise
    faults: tuple[str, ...]  # why a tap on it was refused


@dataclass(frozen=True, slots=True)
class Group:
    """Appliances with one answer."""

    answer: str  # go, ask or not_now
    title: str  # its heading
    help: str  # what its answers mean; may be empty
    rows: tuple[MayRow, ...]  # in the order of the library


@dataclass(frozen=True, slots=True)
class Wrong:
    """Why something was refused. appliance: the row it is said in; empty, or one that is not shown: over all."""

    appliance: str = ""
    faults: tuple[str, ...] = ()


NOT_WRONG = Wrong()


class Rows:
    """Rows for one instant of a plan with its taps."""

    def __init__(self, today: AsTapped, switching: Switching, now: Now, wrong: Wrong) -> None:
        self._today, self._switching, self._wrong = today, switching, wrong
        self._at_ms = switching.at_ms
        self._resolved, self._zone = today.beside.resolved, today.plan.frame.zone
        self._places = {one.id: place for place, one in enumerate(self._resolved.household.appliances)}
        self._names = said.short_names(self._resolved)
        self._always = {one.id for one in today.plan.household.appliances if one.always_on}
        self._dropping = {run.appliance for run in today.beside.dropped if wall_clock_s(run.start) > now.clock_s}

    def groups(self) -> tuple[Group, ...]:
        """What is off, by its answer; none without a row."""
        found = (self._group(answer, title) for answer, title in GROUPS)
        return tuple(group for group in found if group.rows)

    def _group(self, answer: str, title: str) -> Group:
        there = [one for one in self._switching.may if one.answer == answer]
        could = answer == "ask" and any(one.verdict == "chance" for one in there)
        return Group(answer, title, said.COULD if could else "", tuple(map(self._may, there)))

    def is_base(self, one: OnNow) -> bool:
        """It is always on, or comes by itself."""
        return one.by_itself or one.appliance in self._always

    def on(self, one: OnNow) -> OnRow:
        """What is on."""
        tap = self._today.beside.begun.get(one.run or "")
        since = self._since(tap) if tap is not None else ""
        # What is always on was laid as a run where it was tapped; it is told as what it is.
        always = one._replace(always_on=True) if tap is None and one.appliance in self._always else one
        return OnRow(
            id=f"a{self._places[one.appliance]}",
            appliance=one.appliance,
            name=self._names[one.appliance],
            line=said.on_line(self._resolved, always, since),
            switched=not one.by_itself,
            back=tap is not None and not one.by_itself,  # what another sets off was not tapped itself
            faults=self._faults(one.appliance),
        )

    def _may(self, one: MaySwitch) -> MayRow:
        tap = self._stopped(one.appliance)
        until_ms = self._today.beside.planned_until.get(one.appliance, 0)
        return MayRow(
            id=f"a{self._places[one.appliance]}",
            appliance=one.appliance,
            name=self._names[one.appliance],
            answer=one.answer,
            word=said.ANSWERS[one.answer],
            line=said.may_line(self._resolved, one, self._switching),
            note=self._note(one.appliance, tap, until_ms),
            rest=self._rest(one.appliance, tap),
            back=(tap is not None and until_ms > self._at_ms) or one.appliance in self._dropping,
            faults=self._faults(one.appliance),
        )

    def _note(self, appliance: str, tap: Tap | None, until_ms: int) -> str:
        if tap is None:
            return said.OFF_TODAY if appliance in self._today.plan.day.off else ""
        if until_ms <= self._at_ms:
            return f"{sentence_case(self._since(tap))}."
        at = clock(self._resolved.frame, until_ms)
        plan = said.PLANNED_ON if appliance in self._always else said.PLANNED_UNTIL.format(at=at)
        return f"{sentence_case(self._since(tap))}. {plan}"

    def _since(self, tap: Tap) -> str:
        kept = tapped_at(self._today.taps, tap, self._zone)
        return said.since_words(kept.at_utc.astimezone(self._zone), kept.who, is_on=kept.is_on)

    def _stopped(self, appliance: str) -> Tap | None:
        """The tap since which it is off; none where it ran again after it."""
        tap = self._today.beside.stopped.get(appliance)
        if tap is None:
            return None
        tap_ms = self._resolved.frame.at_ms(tap.clock_s)
        ran_again = any(tap_ms < begin_ms <= self._at_ms for begin_ms, _ in self._spans(appliance))
        return None if ran_again or tap_ms > self._at_ms else tap

    def _spans(self, appliance_id: str) -> Iterator[tuple[int, int]]:
        """When its runs begin and end, in milliseconds since midnight."""
        appliance = self._resolved.appliance(appliance_id)
        assert appliance is not None  # it has a row
        for run in self._resolved.day.runs:
            if run.on and run.appliance == appliance_id:
                begin_ms = self._resolved.frame.at_ms(wall_clock_s(run.start))
                yield begin_ms, begin_ms + round(run_length_s(appliance, run) * 1000)

    def _rest(self, appliance_id: str, tap: Tap | None) -> str:
        """What a motor waits for that went off just now, by its run's end or by a tap; empty for others."""
        appliance = self._resolved.appliance(appliance_id)
        if appliance is None or all(stage.start is None for stage in appliance.stages):
            return ""
        frame = self._resolved.frame
        ended_ms = [end_ms for _, end_ms in self._spans(appliance_id)]
        ended_ms += [] if tap is None else [frame.at_ms(tap.clock_s)]
        last_ms = max((ms for ms in ended_ms if ms <= self._at_ms), default=-REST_MS)
        return "" if self._at_ms - last_ms >= REST_MS else said.RESTS.format(at=clock(frame, last_ms + REST_MS))

    def _faults(self, appliance: str) -> tuple[str, ...]:
        return self._wrong.faults if appliance == self._wrong.appliance else ()
