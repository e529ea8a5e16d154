"""The bar that moves one run."""

from dataclasses import dataclass

from app.household.appliance import Appliance
from app.household.fields import wall_clock_s
from app.household.scenario import Run
from app.web.views.about import About

DAY_MIN = 24 * 60
EARLIER_MIN, LATER_MIN = (-15, -5), (5, 15)


@dataclass(frozen=True, slots=True)
class Attempt:
    """A change that could not be done: what was typed for the start, and why it was refused."""

    typed: str
    messages: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Step:
    """A button that moves the run by some minutes."""

    dom_id: str  # its id on the page
    sign: str  # what it shows, as +5
    value: str  # the start it leads to; empty where that leaves the day
    label: str  # its name in full


@dataclass(frozen=True, slots=True)
class AdjustView:
    """day/_adjust.html."""

    key: str  # the run's key
    name: str  # the appliance's name
    revision: int  # of the run's last change
    action: str  # where its commands go
    close_href: str  # the page without this bar
    tab: str  # a name for this page, for commands without a script
    on: bool  # switched on
    typed: str  # what stands in the time field
    messages: tuple[str, ...]  # why the last change could not be done
    earlier: tuple[Step, ...]  # to earlier times, the largest step first
    later: tuple[Step, ...]  # to later times
    keep: bool  # leave the bar as it is on the page, with what is typed in it


def adjust_view(about: About, appliance: Appliance, run: Run, attempt: Attempt | None) -> AdjustView:
    """The bar for a run. After a refused change it shows what was typed, and why."""
    key = about.key_of(run.id)
    return AdjustView(
        key=key,
        name=appliance.name,
        revision=about.revision_of(run.id),
        action=about.action(key),
        close_href=about.page,
        tab=about.tab,
        on=run.on,
        typed=attempt.typed if attempt else run.start,
        messages=attempt.messages if attempt else (),
        earlier=tuple(_step(key, run.start, minutes) for minutes in EARLIER_MIN),
        later=tuple(_step(key, run.start, minutes) for minutes in LATER_MIN),
        keep=bool(about.moved) and about.moved != key,
    )


def _step(key: str, start: str, minutes: int) -> Step:
    to_min = wall_clock_s(start) // 60 + minutes
    seconds = start[5:]
    value = f"{to_min // 60:02d}:{to_min % 60:02d}{seconds}" if 0 <= to_min < DAY_MIN else ""
    size, way = abs(minutes), "later" if minutes > 0 else "earlier"
    sign = f"+{size}" if minutes > 0 else f"\u2212{size}"
    return Step(f"{way}-{size}-{key}", sign, value, f"{size} minutes {way}" + (f", to {value[:5]}" if value else ""))
