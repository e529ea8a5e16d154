"""Plans side by side on their page: the sentence, one chart, one table of differences, what each needs at least."""

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from app.engine.results import Assessment, LimitReading, Verdict
from app.household.resolve import Resolved
from app.planner.side_by_side import Compared, FigureRow, LimitRow, StartRow
from app.web import words
from app.web.figures import clock, quantity
from app.web.views.limits import ruler_of, urgency
from app.web.views.plan_head import PlanHead
from app.web.words import side_by_side as said


@dataclass(frozen=True, slots=True)
class PlanColumn:
    """One plan at the head of its column."""

    letter: str  # by which the drawing tells it
    name: str  # its name
    href: str  # its day
    what_if: str  # what is different in it
    date: str  # its day
    verdict: Verdict  # for the colour
    word: str  # how it stands
    counted: str  # the page with differences counted from it; empty where they are
    beside: str  # the page on which a phone shows it; empty where it does
    without: str  # the page without it; empty for the open plan
    off: bool  # a phone leaves it out
    differs: tuple[str, ...]  # what it has otherwise than what it is built on
    built_on: str  # what that is


@dataclass(frozen=True, slots=True)
class Cell:
    """What one plan has of one row."""

    value: str  # with its unit; or that it is not there
    of: str  # of which limit, where plans have others; may be empty
    note: str  # when, or how often; may be empty
    verdict: Verdict | None  # for the colour; None for a figure that is not judged
    word: str  # the verdict in words; may be empty
    difference: str  # from the plan that is counted from
    bar: str  # classes that place a ruler's bar; empty without a ruler
    mark: str  # the same of its mark
    ban: str  # the same of what lies below a floor; may be empty
    cut: bool  # the bar goes on past the ruler's end
    off: bool  # a phone leaves it out


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table."""

    name: str  # of what
    of: str  # of which limit, where all have the same; may be empty
    cells: tuple[Cell, ...]  # plan by plan


@dataclass(frozen=True, slots=True)
class RowGroup:
    """Lines under one heading."""

    key: str  # for its id
    title: str  # the heading; empty for none
    rows: tuple[Row, ...]  # what differs
    same: tuple[Row, ...]  # what is the same in all, folded
    same_says: str  # how many those are


@dataclass(frozen=True, slots=True)
class Choice:
    """A plan that can be put beside."""

    name: str  # its name
    href: str  # the page with it


@dataclass(frozen=True, slots=True)
class HourRow:
    """One hour of the chart as a table."""

    at: str  # its beginning
    values: tuple[str, ...]  # the highest draw in it, plan by plan


@dataclass(frozen=True, slots=True)
class SideView:
    """side_by_side/page.html."""

    top: PlanHead  # whose household, which plan, and where else to go
    notices: tuple[str, ...]  # what was wrong with what was asked
    said: tuple[said.Said, ...]  # the sentence that decides
    ways_href: str  # the page with what would make it fit; empty where there is nothing to look for
    columns: tuple[PlanColumn, ...]  # the plans
    demand: Markup  # what they draw, drawn
    starts: Markup  # their hardest starts
    axis: Markup  # the hours
    hours: tuple[HourRow, ...]  # the chart as a table
    figure: str  # where the closer look's data are
    groups: tuple[RowGroup, ...]  # the table
    needs: tuple[Row, ...]  # what each needs at least; empty while it is folded
    needs_how: tuple[str, ...]  # how that was found, a line each
    needs_notes: tuple[str, ...]  # what it means, and a caution
    needs_href: str  # the page with it
    choices: tuple[Choice, ...]  # what else can be put beside
    choose: str  # that something is to be chosen; may be empty
    growth: str  # room to grow
    workshop: str  # the workshop path
    what_if: str  # the open plan's what-if


Plans = Sequence[tuple[Resolved, Assessment]]
NOTICED = 0.1  # of a limit: a difference worth a line of its own, though every plan fits


def groups_of(plans: Plans, compared: Compared, counted_from: int, off: Sequence[bool]) -> tuple[RowGroup, ...]:
    """The table: limits, energy, starts; what differs first. off: which plans a phone leaves out."""
    table = _Table(plans, counted_from, off)
    limits = sorted(compared.limits, key=lambda row: min(urgency(one) for one in row.readings if one is not None))
    return (
        _group("limits", "Limits", [(_matters(row), table.limit(row)) for row in limits], said.LITTLE),
        _group("energy", "Battery, sun and energy", [(row.differs, table.figure(row)) for row in compared.figures]),
        _group("starts", "Starts", [(row.differs, table.start(row)) for row in compared.starts]),
    )


def _matters(row: LimitRow) -> bool:
    """It differs, and some plan comes near it or the difference is not small beside it."""
    uses = [one.use / one.limit for one in row.readings if one is not None and one.limit]
    far = len(uses) > 1 and max(uses) - min(uses) >= NOTICED
    near = any(one is not None and one.verdict != "fits" for one in row.readings)
    return row.differs and (near or far or None in row.readings)


class _Table:
    def __init__(self, plans: Plans, counted_from: int, off: Sequence[bool]) -> None:
        self._plans = plans
        self._from = counted_from
        self._off = off

    def limit(self, row: LimitRow) -> Row:
        limits = {(one.limit, one.direction) for one in row.readings if one is not None}
        first = next((place, one) for place, one in enumerate(row.readings) if one is not None)
        resolved = self._plans[first[0]][0]
        same = len(limits) == 1
        shown = ruler_of(resolved, first[1])
        return Row(
            name=words.limit_name(row.id, resolved.household),
            of=f"{shown.of} {shown.limit}" if same else "",
            cells=tuple(self._limit(row, place, one, same=same) for place, one in enumerate(row.readings)),
        )

    def _limit(self, row: LimitRow, place: int, reading: LimitReading | None, *, same: bool) -> Cell:
        if reading is None:
            return blank_cell(self._off[place])
        resolved = self._plans[place][0]
        ruler = ruler_of(resolved, reading)
        note = clock(resolved.frame, reading.at_ms)
        if reading.by_chance and reading.broken_per_day is not None:
            note = f"{note}, {said.often(reading.broken_per_day, may_come=True)}"
        return Cell(
            value=ruler.use,
            of="" if same else f"{ruler.of} {ruler.limit}",
            note=note,
            verdict=reading.verdict,
            word=ruler.word,
            difference=self._difference(row, place, reading.unit),
            bar=ruler.bar,
            mark=ruler.mark,
            ban=ruler.ban,
            cut=ruler.cut,
            off=self._off[place],
        )

    def figure(self, row: FigureRow) -> Row:
        def value(place: int) -> Cell:
            found, at_ms = row.values[place], row.at_ms[place]
            if row.what == "often_per_day":
                may_come = any(one.by_chance for one in self._plans[place][1].limits if one.id != "cold_restart")
                counted = said.COUNTED if place == self._from else said.more_often(found, row.values[self._from])
                return plain_cell(said.often(found, may_come=may_come), "", None, "", counted, self._off[place])
            if found is None:
                return blank_cell(self._off[place])
            when = "" if at_ms is None else clock(self._plans[place][0].frame, at_ms)
            difference = self._difference(row, place, row.unit)
            return plain_cell(quantity(found, row.unit), when, None, "", difference, self._off[place])

        return Row(said.NAMES[row.what], "", tuple(value(place) for place in range(len(row.values))))

    def start(self, row: StartRow) -> Row:
        names = [resolved.appliance(row.appliance) for resolved, _ in self._plans]
        name = next((one.name for one in names if one is not None), row.appliance)

        def value(place: int) -> Cell:
            start = row.starts[place]
            if start is None:
                return blank_cell(self._off[place])
            when = clock(self._plans[place][0].frame, start.at_ms)
            when = when if start.scheduled else f"{when} at worst"
            total = quantity(start.total_va, "VA")
            word = words.verdict_word(start.verdict)
            return plain_cell(total, when, start.verdict, word, self._difference(row, place, "VA"), self._off[place])

        return Row(f"{name}, with what runs beside it", "", tuple(value(place) for place in range(len(row.starts))))

    def _difference(self, row: LimitRow | FigureRow | StartRow, place: int, unit: str) -> str:
        if place == self._from:
            return said.COUNTED
        found = row.difference(place, self._from)
        return "" if found is None else said.signed(found, unit)


def _group(key: str, title: str, rows: Sequence[tuple[bool, Row]], folded: str = said.ALIKE) -> RowGroup:
    same = tuple(row for differs, row in rows if not differs)
    count = folded.format(count=len(same), verb="is" if len(same) == 1 else "are") if same else ""
    return RowGroup(key, title, tuple(row for differs, row in rows if differs), same, count)


def plain_cell(value: str, note: str, verdict: Verdict | None, word: str, difference: str, off: bool) -> Cell:
    """A figure without a ruler. off: a phone leaves it out."""
    return Cell(value, "", note, verdict, word, difference, "", "", "", False, off)


def blank_cell(off: bool) -> Cell:
    """What a plan does not have."""
    return plain_cell(said.NOT_THERE, "", None, "", "", off)
