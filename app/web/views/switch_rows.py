"""What is on, and what is off by its answer: a row for each appliance."""

from dataclasses import dataclass
from functools import cached_property

from app.engine.answers import MaySwitch, OnNow, Switching
from app.household.beside_plan import Tap
from app.household.fields import wall_clock_s
from app.web.figures import clock
from app.web.now import Now
from app.web.tapped import AsTapped
from app.web.views.resting import Resting, answer_line
from app.web.words import sentence_case
from app.web.words import switch_on as said

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
    chance: bool  # it could cut out; how often may be asked
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


def row_id(place: int) -> str:
    """What stands for an appliance in the ids of its row, by its place in the library."""
    return f"a{place}"


class Rows:
    """Rows for one instant of a plan with its taps."""

    def __init__(self, today: AsTapped, switching: Switching, now: Now, wrong: Wrong) -> None:
        self._today, self._switching, self._wrong = today, switching, wrong
        self._at_ms, self._rest = switching.at_ms, Resting(today, switching.at_ms)
        self._resolved, self._zone = today.worded, today.plan.frame.zone
        self._places = {one.id: place for place, one in enumerate(self._resolved.household.appliances)}
        self._names = said.short_names(self._resolved)
        self._always = {one.id for one in today.plan.household.appliances if one.always_on}
        self._dropping = {run.appliance for run in today.beside.dropped if wall_clock_s(run.start) > now.clock_s}

    def groups(self) -> tuple[Group, ...]:
        """What is off, by its answer; none without a row."""
        found = (self._group(answer, title) for answer, title in GROUPS)
        return tuple(group for group in found if group.rows)

    @cached_property
    def _all_may(self) -> tuple[tuple[MaySwitch, MayRow], ...]:
        return tuple((one, self._may(one)) for one in self._switching.may)

    def _group(self, answer: str, title: str) -> Group:
        there = [(one, row) for one, row in self._all_may if row.answer == answer]
        # What needs a power cut first comes last, and is not what could cut out.
        there.sort(key=lambda pair: pair[0].limit == "cold_restart")
        could = answer == "ask" and any(one.verdict == "chance" and one.limit != "cold_restart" for one, _ in there)
        return Group(answer, title, said.COULD if could else "", tuple(row for _, row in there))

    def is_base(self, one: OnNow) -> bool:
        """It is always on, or comes by itself."""
        return one.by_itself or one.appliance in self._always

    def id_of(self, appliance: str) -> str:
        """What stands for an appliance in the ids of its row."""
        return row_id(self._places[appliance])

    def on(self, one: OnNow) -> OnRow:
        """What is on."""
        tap = self._today.beside.begun.get(one.run or "")
        since = self._since(tap) if tap is not None else ""
        # What is always on was laid as a run where it was tapped; it is told as what it is.
        always = one._replace(always_on=True) if tap is None and one.appliance in self._always else one
        return OnRow(
            id=self.id_of(one.appliance),
            appliance=one.appliance,
            name=self._names[one.appliance],
            line=said.on_line(self._resolved, always, since),
            switched=not one.by_itself,
            back=tap is not None and not one.by_itself,  # what another sets off was not tapped itself
            faults=self._faults(one.appliance),
        )

    def _may(self, one: MaySwitch) -> MayRow:
        tap = self._rest.stopped(one.appliance)
        until_ms = self._today.beside.planned_until.get(one.appliance, 0)
        rests = self._rest.until(one.appliance)
        answer, line = answer_line(self._today, one, self._switching, rests)
        return MayRow(
            id=self.id_of(one.appliance),
            appliance=one.appliance,
            name=self._names[one.appliance],
            answer=answer,
            word=said.ANSWERS[answer],
            line=line,
            chance=answer == "ask" and one.verdict == "chance",
            note=" ".join(filter(None, (said.instead(self._resolved, one), self._note(one.appliance, tap, until_ms)))),
            rest=said.RESTS.format(at=rests) if rests else "",
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
        kept = self._today.kept(tap)
        return said.since_words(kept.at_utc.astimezone(self._zone), kept.who, is_on=kept.is_on)

    def _faults(self, appliance: str) -> tuple[str, ...]:
        return self._wrong.faults if appliance == self._wrong.appliance else ()
