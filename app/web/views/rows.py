"""The rows under the chart: each appliance of the day with its runs on the chart's own axis."""

from collections.abc import Hashable, Iterable
from dataclasses import dataclass, replace

from app.charts.behaviour import behaviours
from app.charts.day import DayChart, Mark
from app.engine.results import Assessment, Piece
from app.household.appliance import Appliance
from app.household.day import DayFrame
from app.household.fields import wall_clock_s
from app.household.gaps import run_length_s
from app.household.resolve import Resolved
from app.household.scenario import Run
from app.web.figures import clock, how_long
from app.web.places import place
from app.web.touch import DESK, DESK_PX, PHONE, PHONE_PX, reaches, run_classes, track_classes
from app.web.views.about import About, Attempt
from app.web.views.add import SHEET
from app.web.views.adjust import AdjustView, adjust_view

MASK = 2**64 - 1
ROWS = "day-rows"


@dataclass(frozen=True, slots=True)
class Strip:
    """A stretch on a track, or inside a run."""

    place: str  # classes that place it
    hatched: bool  # it comes and goes


@dataclass(frozen=True, slots=True)
class RunView:
    """One run on its track."""

    key: str  # the run's key
    action: str  # where its commands go
    href: str  # the page with this run opened, or closed if it is open
    start: str  # when it is set to start
    begins: str  # when it does, which is later where the clock leaves that time out
    span: str  # from when to when, for its name
    classes: str  # its behaviour, what places it, and how far its touch area reaches
    strips: tuple[Strip, ...]  # its stretches that come and go
    on: bool  # switched on
    bad: bool  # it is part of what the verdict is about
    open: bool  # it is being moved


@dataclass(frozen=True, slots=True)
class RowView:
    """One appliance, or everything that is always on."""

    dom_id: str  # the row's id on the page
    appliance: str  # id of the appliance a tap on the track adds a run of; empty where none can be added
    add_href: str  # the page with the sheet to add one
    add_item: str  # id of its item on that sheet
    name: str  # the appliance's name
    note: str  # a few words at the row's end
    always: str  # "solid" or "hatched" for what is always on, empty for others
    strips: tuple[Strip, ...]  # when it runs because something else does
    runs: tuple[RunView, ...]  # its own runs
    lanes: str  # classes that say how many lanes the track has
    adjust: AdjustView | None  # the bar that moves one of its runs
    state: str  # a name for all it shows, for a page to say it has it; empty while it is open, for its forms are new


@dataclass(frozen=True, slots=True)
class RowsView:
    """day/_rows.html."""

    rows: tuple[RowView, ...]  # from top to bottom
    action: str  # where added runs go
    changes: str  # where to ask what others did
    revision: int  # the household's count of changes
    midnight: str  # classes that place midnight on each track
    band: str  # classes of the stretch the verdict is about, that colour and place it; empty if all is well
    open_run: str  # key of the run that is being moved, or empty
    tab: str  # a name for this page, for commands without a script
    locked: bool  # who looks may not change anything


def rows_view(about: About, assessment: Assessment, chart: DayChart, attempt: Attempt | None) -> RowsView:
    """Lay out the rows.

    attempt: what was just tried on the open run and could not be done, if anything.
    """
    resolved = about.resolved
    by_run: dict[tuple[str, str], list[Piece]] = {}
    set_off: dict[str, list[Piece]] = {}
    for piece in assessment.pieces:
        if piece.set_off:
            set_off.setdefault(piece.appliance, []).append(piece)
        elif piece.run is not None:
            by_run.setdefault((piece.appliance, piece.run), []).append(piece)
    runs: dict[str, list[Run]] = {}
    for run in sorted(resolved.day.runs, key=lambda run: run.start):
        runs.setdefault(run.appliance, []).append(run)
    layout = _Layout(about, chart, by_run)
    add_href = about.unfold(SHEET, "add").partition("#")[0]
    rows = list(_always_on(resolved, assessment.pieces))
    for number, appliance in enumerate(resolved.household.appliances):
        own, follows = runs.get(appliance.id, []), set_off.get(appliance.id, [])
        if appliance.always_on or not (own or follows):
            continue
        opened = next((run for run in own if about.key_of(run.id) == about.open_run), None)
        may_add = bool(own) and appliance.id not in resolved.day.off and not about.locked
        views, lanes = layout.runs(appliance, own)
        rows.append(
            RowView(
                dom_id=_dom_id(number),
                appliance=appliance.id if may_add else "",
                add_href=f"{add_href}#add-{number}",
                add_item=f"add-{number}",
                name=appliance.name,
                note=_note(resolved, appliance, own),
                always="",
                strips=_strips(follows, chart),
                runs=views,
                lanes=lanes,
                adjust=adjust_view(about, appliance, opened, attempt) if opened else None,
                state="",
            )
        )
    midnight = place(chart.day_ms / chart.horizon_ms, 0)
    return RowsView(
        rows=tuple(row if row.adjust else replace(row, state=_name_of((row, midnight, about.locked))) for row in rows),
        action=about.runs.removesuffix("/"),
        changes=f"{about.page}/changes",
        revision=about.stored.revision,
        midnight=midnight,
        band=_band(chart.mark, chart.horizon_ms) if chart.mark else "",
        open_run=about.open_run,
        tab=about.tab,
        locked=about.locked,
    )


class _Layout:
    """Places one run after the other; keeps what they share."""

    def __init__(self, about: About, chart: DayChart, by_run: dict[tuple[str, str], list[Piece]]) -> None:
        self._about = about
        self._chart = chart
        self._pieces = by_run
        self._colours = behaviours(about.resolved)
        self._bad = chart.mark.runs if chart.mark and chart.mark.verdict in ("over", "chance") else frozenset()

    def runs(self, appliance: Appliance, runs: list[Run]) -> tuple[tuple[RunView, ...], str]:
        """The runs of one row, and the classes of its track."""
        spans = [self._span_ms(appliance, run) for run in runs]
        whole_ms = self._chart.horizon_ms
        shares = tuple((begin_ms / whole_ms, end_ms / whole_ms) for begin_ms, end_ms in spans)
        on_phone, on_desk = reaches(shares, PHONE_PX), reaches(shares, DESK_PX)
        views = tuple(
            self._run(appliance, run, span, [*run_classes(phone, PHONE), *run_classes(desk, DESK)])
            for run, span, phone, desk in zip(runs, spans, on_phone, on_desk, strict=True)
        )
        return views, " ".join(["", *track_classes(on_phone, PHONE), *track_classes(on_desk, DESK)])

    def _span_ms(self, appliance: Appliance, run: Run) -> tuple[int, int]:
        begin_ms = self._about.resolved.frame.at_ms(wall_clock_s(run.start))
        pieces = self._pieces.get((appliance.id, run.id), [])
        if pieces:
            return begin_ms, max(piece.end_ms for piece in pieces)
        # It is off: drawn where it would be.
        return begin_ms, begin_ms + round(run_length_s(appliance, run) * 1000)

    def _run(self, appliance: Appliance, run: Run, span: tuple[int, int], touch: list[str]) -> RunView:
        about, frame, horizon_ms = self._about, self._about.resolved.frame, self._chart.horizon_ms
        key = about.key_of(run.id)
        pieces = self._pieces.get((appliance.id, run.id), [])
        begin_ms, end_ms = span
        shown_ms = max(min(end_ms, horizon_ms) - begin_ms, 1)
        is_open = key == about.open_run
        return RunView(
            key=key,
            action=about.action(key),
            href=about.page_with("" if is_open else key),
            start=run.start[:5],
            begins=clock(frame, begin_ms),
            span=_span(frame, begin_ms, end_ms),
            classes=" ".join(
                [self._colours[appliance.id], place(begin_ms / horizon_ms, shown_ms / horizon_ms), *touch]
            ),
            strips=tuple(
                Strip(
                    place((piece.begin_ms - begin_ms) / shown_ms, (piece.end_ms - piece.begin_ms) / shown_ms),
                    True,
                )
                for piece in pieces
                if not piece.certain
            ),
            on=bool(pieces),
            bad=run.id in self._bad,
            open=is_open,
        )


def _always_on(resolved: Resolved, pieces: Iterable[Piece]) -> Iterable[RowView]:
    """One row for everything that is always on."""
    there = [one for one in resolved.household.appliances if one.always_on and one.id not in resolved.day.off]
    if not there:
        return
    cycling = any(stage.cycle is not None for one in there for stage in one.stages)
    names = ", ".join(one.name for one in there)
    yield RowView("always-on", "", "", "", "Always on", names, "hatched" if cycling else "solid", (), (), "", None, "")


def row_of(resolved: Resolved, appliance_id: str) -> str:
    """The id of an appliance's row on the page, so that a browser without the script comes back to it.

    Of one that is on the day no more, the id of all rows; empty for no appliance.
    """
    if not appliance_id:
        return ""
    for number, appliance in enumerate(resolved.household.appliances):
        if appliance.id == appliance_id and any(run.appliance == appliance_id for run in resolved.day.runs):
            return _dom_id(number)
    return ROWS


def _dom_id(number: int) -> str:
    return f"appliance-{number}"


def _name_of(shown: Hashable) -> str:
    """A name that only equals have; of this process alone, for hashes of text are: another sends all rows once more."""
    return f"{hash(shown) & MASK:x}"


def _span(frame: DayFrame, begin_ms: int, end_ms: int) -> str:
    """`10:50 to 12:30`; `08:00, for 48 s`."""
    begins, ends = clock(frame, begin_ms), clock(frame, end_ms)
    return f"{begins} to {ends}" if begins != ends else f"{begins}, {how_long(frame, begin_ms, end_ms)}"


def _note(resolved: Resolved, appliance: Appliance, own: list[Run]) -> str:
    if appliance.id in resolved.day.off:
        return "left out of this plan"
    if own:
        return ""
    water = resolved.household.supply.water
    return "comes on with water" if water and water.pump == appliance.id else "comes on with others"


def _strips(pieces: Iterable[Piece], chart: DayChart) -> tuple[Strip, ...]:
    return tuple(
        Strip(
            place(piece.begin_ms / chart.horizon_ms, (piece.end_ms - piece.begin_ms) / chart.horizon_ms),
            not piece.certain,
        )
        for piece in pieces
    )


def _band(mark: Mark, horizon_ms: int) -> str:
    return f"s-{mark.verdict} {place(mark.from_ms / horizon_ms, (mark.to_ms - mark.from_ms) / horizon_ms)}"
