"""The sheet that puts an appliance on the day: every one that can be, with what it draws and a free time."""

import datetime
from dataclasses import dataclass

from app.household.appliance import Appliance
from app.household.day import DAY_S, DayFrame
from app.household.gaps import clock_text, first_free_s, run_length_s
from app.household.resolve import Resolved
from app.web.figures import duration, quantity
from app.web.forms.run import can_be_read
from app.web.forms.typed import FIND_AT_MOST, SHORT_AT_MOST
from app.web.views.about import About, Adding

SHEET = "day-add"
HALF_HOUR_S = 1800
MORNING_S = 8 * 3600  # where a day other than today begins to be filled; common practice, no source


@dataclass(frozen=True, slots=True)
class AddItem:
    """One appliance on the sheet."""

    id: str  # the appliance's id
    dom_id: str  # the item's id on the page
    name: str  # the appliance's name
    figures: str  # its highest draw, its length and what it takes
    there: str  # when it runs already, in words; may be empty
    start: str  # what stands in the time field
    length: str | None  # what stands in the field for its length; None where its programme says so
    messages: tuple[str, ...]  # why it could not be put there
    wrong_length: bool  # it was the length that could not be


@dataclass(frozen=True, slots=True)
class AddView:
    """day/_add.html."""

    allowed: bool  # who looks may add something
    first: bool  # nothing is on this day yet, so that is what to do first
    open: bool  # the sheet is unfolded
    href: str  # the page with the sheet unfolded
    page: str  # where to look for something without a script
    action: str  # where what is added goes
    kept: dict[str, str]  # what else the page's address says while one looks for something, by name
    find: str  # what was looked for
    items: tuple[AddItem, ...]  # what was found; empty while the sheet is folded
    find_at_most: int  # how many characters what is looked for may have
    typed_at_most: int  # how many a time or a length may have
    tab: str  # a name for this page, for commands without a script
    revision: int  # the household's count of changes
    open_run: str  # key of the run that is being moved, or empty


def add_view(about: About, adding: Adding | None) -> AddView:
    """Fill the sheet, if it is unfolded. After a refusal the item shows what was typed, and why."""
    unfolded = (SHEET in about.unfolded or adding is not None) and not about.locked
    resolved = about.resolved
    day, library = resolved.day, resolved.household.appliances
    return AddView(
        allowed=not about.locked,
        first=not about.locked and not day.runs and any(can_be_placed(resolved, one) for one in library),
        open=unfolded,
        href=about.unfold(SHEET, "add"),
        page=about.page,
        action=about.runs.removesuffix("/"),
        kept=about.kept_with(SHEET),
        find=_wanted(about, adding),
        items=_items(about, adding) if unfolded else (),
        find_at_most=FIND_AT_MOST,
        typed_at_most=SHORT_AT_MOST,
        tab=about.tab,
        revision=about.stored.revision,
        open_run=about.open_run,
    )


def can_be_placed(resolved: Resolved, appliance: Appliance) -> bool:
    """Whether runs of an appliance can stand on this day."""
    return not appliance.always_on and appliance.id not in resolved.day.off


def _wanted(about: About, adding: Adding | None) -> str:
    """What is looked for; after a refusal what was looked for before."""
    return adding.find if adding else about.find


def _items(about: About, adding: Adding | None) -> tuple[AddItem, ...]:
    resolved = about.resolved
    wanted = _wanted(about, adding).strip().casefold()
    from_s = _from_s(resolved.frame, datetime.datetime.now(resolved.frame.zone))
    return tuple(
        _item(resolved, number, appliance, from_s, adding if adding and adding.appliance == appliance.id else None)
        for number, appliance in enumerate(resolved.household.appliances)
        if can_be_placed(resolved, appliance) and wanted in appliance.name.casefold()
    )


def _item(resolved: Resolved, number: int, appliance: Appliance, from_s: int, adding: Adding | None) -> AddItem:
    length_s = run_length_s(appliance)
    starts = sorted(run.start[:5] for run in resolved.day.runs if run.appliance == appliance.id)
    return AddItem(
        id=appliance.id,
        dom_id=f"add-{number}",
        name=appliance.name,
        figures=_figures(appliance, length_s),
        there=", ".join(starts),
        start=adding.start if adding else _free(resolved, appliance, length_s or HALF_HOUR_S, from_s),
        length=None if length_s else adding.length if adding else "30 min",
        messages=adding.messages if adding else (),
        wrong_length=adding is not None and not can_be_read(adding.length),
    )


def _figures(appliance: Appliance, length_s: float) -> str:
    """At most so many watts, for so long, so many kWh: cycles count by their share of the time."""
    peak_w = max(stage.watts for stage in appliance.stages)
    if not length_s:
        return quantity(peak_w, "W")
    energy_wh = sum(
        stage.watts * (stage.cycle.on_s / stage.cycle.period_s if stage.cycle else 1) * (stage.duration_s or 0) / 3600
        for stage in appliance.stages
    )
    return f"{quantity(peak_w, 'W')}, {duration(length_s)}, {quantity(energy_wh, 'Wh')}"


def _from_s(frame: DayFrame, now: datetime.datetime) -> int:
    """The next half hour where the day is today, else the morning; seconds on the clock."""
    if now.date() != frame.date:
        return MORNING_S
    return (now.hour * 3600 + now.minute * 60) // HALF_HOUR_S * HALF_HOUR_S + HALF_HOUR_S


def _free(resolved: Resolved, appliance: Appliance, length_s: float, from_s: int) -> str:
    """A time at which the machine is free: from a time of day on, else from midnight on; empty if there is none."""
    for begin_s in (from_s % DAY_S, 0):
        free_s = first_free_s(resolved, appliance, length_s, begin_s, HALF_HOUR_S)
        if free_s is not None:
            return clock_text(free_s)
    return ""
