"""The table of plans side by side: what differs most first, everything else folded under its heading."""

from collections.abc import Sequence

from app.engine.results import Assessment, LimitReading, Verdict
from app.household.resolve import Resolved
from app.planner.side_by_side import Compared, FigureRow, LimitRow, StartRow, What
from app.web import words
from app.web.figures import clock, quantity
from app.web.views.limits import ruler_of, urgency
from app.web.views.side_by_side import Cell, Row, RowGroup
from app.web.words import side_by_side as said
from app.web.words.limits import decisive
from app.web.words.odds import exact_times, of_cuts

Plans = Sequence[tuple[Resolved, Assessment]]
NOTICED = 0.1  # of a limit: a difference worth a line of its own, though every plan fits
FIRST_LIMITS = 4
FOR_HOURS = ("inverter_continuous", "inverter_apparent")  # nearly one figure, so one of them among the first
# Figures that stand among the first, and from what difference on.
FIRST_FIGURES: dict[What, float] = {
    "often_per_day": 0.0,
    "morning_charge": said.POINTS,
    "energy_wh": said.NOTICED_WH,
    "spare_sun_wh": said.NOTICED_WH,
}


def first_and_rest(
    plans: Plans, compared: Compared, counted_from: int, off: Sequence[bool]
) -> tuple[tuple[Row, ...], tuple[RowGroup, ...]]:
    """What differs most, and everything else by its kind. off: which plans a phone leaves out."""
    table = _Table(plans, counted_from, off)
    decide = [decisive(assessment, resolved.day.wanted_margin).id for resolved, assessment in plans]

    def pressing(row: LimitRow) -> tuple[bool, tuple[int, float]]:
        return row.id not in decide, min(urgency(one) for one in row.readings if one is not None)

    limits = sorted(compared.limits, key=pressing)
    first_limits: list[LimitRow] = []
    for row in limits:
        is_told = row.id in FOR_HOURS and any(one.id in FOR_HOURS for one in first_limits)
        if _matters(row) and not is_told and len(first_limits) < FIRST_LIMITS:
            first_limits.append(row)
    first_figures = [row for row in compared.figures if row.what in FIRST_FIGURES and _is_noticed(row, counted_from)]
    rest = [row for row in limits if row not in first_limits]
    figures = [row for row in compared.figures if row not in first_figures]
    is_alone = len(plans) == 1
    first = (*map(table.limit, first_limits), *map(table.figure, first_figures))
    return first, (
        _group("limits", "limit", [(_matters(row), table.limit(row)) for row in rest], is_alone),
        _group("energy", "energy", [(row.differs, table.figure(row)) for row in figures], is_alone),
        _group("starts", "start", [(row.differs, table.start(row)) for row in compared.starts], is_alone),
    )


def _matters(row: LimitRow) -> bool:
    """It differs, and some plan comes near it or the difference is not small beside it."""
    uses = [one.use / one.limit for one in row.readings if one is not None and one.limit]
    far = len(uses) > 1 and max(uses) - min(uses) >= NOTICED
    near = any(one is not None and one.verdict != "fits" for one in row.readings)
    return row.differs and (near or far or None in row.readings)


def _is_noticed(row: FigureRow, counted_from: int) -> bool:
    """Some plan has it otherwise, by more than a trifle."""
    if row.what == "often_per_day":
        return any(said.more_often(one, row.values[counted_from]) not in ("", said.SAME) for one in row.values)
    apart = [row.difference(place, counted_from) for place in range(len(row.values))]
    return None in row.values or any(one is not None and abs(one) >= FIRST_FIGURES[row.what] for one in apart)


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
            name=words.reading_name(min(filter(None, row.readings), key=urgency), resolved.household),
            of=f"{shown.of} {shown.limit}" if same else "",
            cells=tuple(self._limit(row, place, one, same=same) for place, one in enumerate(row.readings)),
        )

    def _limit(self, row: LimitRow, place: int, reading: LimitReading | None, *, same: bool) -> Cell:
        if reading is None:
            return blank_cell(self._off[place])
        resolved, reading = self._plans[place][0], reading.sure or reading
        ruler = ruler_of(resolved, reading)
        heat = reading.decided_by_time
        note = clock(resolved.frame, reading.at_ms if heat is None else heat.since_ms)
        if heat is not None:
            note = f"{note}, {words.mark_words(reading)}"
        if reading.by_chance and reading.broken_per_day is not None:
            note = f"{note}, {said.often(reading.broken_per_day, may_come=True)}"
        elif reading.cut_share is not None:
            note = f"{note}, after {of_cuts(reading.cut_share)}"
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
                limits = self._plans[place][1].limits
                may_come = any(one.by_chance for one in limits if one.id != "cold_restart")
                by_odds = any(one.broken_per_day == found for one in limits)
                exact = exact_times(found) if found and by_odds else ""
                counted = said.COUNTED if place == self._from else said.more_often(found, row.values[self._from])
                return plain_cell(said.often(found, may_come=may_come), exact, None, "", counted, self._off[place])
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


def _group(key: str, kind: said.Kind, rows: Sequence[tuple[bool, Row]], is_alone: bool) -> RowGroup:
    differing = tuple(row for differs, row in rows if differs)
    same = tuple(row for differs, row in rows if not differs)
    title, says = said.folded(kind, len(differing), len(same), is_alone=is_alone)
    return RowGroup(key, title, says, (*differing, *same))


def plain_cell(value: str, note: str, verdict: Verdict | None, word: str, difference: str, off: bool) -> Cell:
    """A figure without a ruler. off: a phone leaves it out."""
    return Cell(value, "", note, verdict, word, difference, "", "", "", False, off)


def blank_cell(off: bool) -> Cell:
    """What a plan does not have."""
    return plain_cell(said.NOT_THERE, "", None, "", "", off)
