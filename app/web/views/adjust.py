"""The row under a run that moves it, gives it another length, doubles it, or takes it away."""

from dataclasses import dataclass

from app.household.appliance import Appliance
from app.household.fields import wall_clock_s
from app.household.gaps import run_length_s
from app.household.scenario import Run
from app.web.forms.run import length_text
from app.web.forms.typed import SHORT_AT_MOST
from app.web.views.about import About, Attempt

DAY_MIN = 24 * 60
EARLIER_MIN, LATER_MIN = (-15, -5), (5, 15)


@dataclass(frozen=True, slots=True)
class Step:
    """A button that moves the run by some minutes."""

    dom_id: str  # its id on the page
    sign: str  # what it shows, as +5
    value: str  # the start it leads to; empty where that leaves the day
    label: str  # its name in full


@dataclass(frozen=True, slots=True)
class Length:
    """The field for how long the run takes."""

    typed: str  # what stands in it; empty for the programme's own length
    own: str  # the programme's own length, empty where it has none
    messages: tuple[str, ...]  # why what was typed could not be


@dataclass(frozen=True, slots=True)
class AdjustView:
    """day/_adjust.html."""

    key: str  # the run's key
    name: str  # the appliance's name
    revision: int  # the household's count of changes
    action: str  # where its commands go
    duplicate: str  # where to ask for another run after it
    remove: str  # where to ask for it to be taken away
    close_href: str  # the page without this row
    tab: str  # a name for this page, for commands without a script
    on: bool  # switched on
    typed: str  # what stands in the time field
    at_most: int  # how many characters a time or a length takes
    messages: tuple[str, ...]  # why the last change could not be done, other than one of the length
    wrong_time: bool  # it was the time that could not be
    length: Length | None  # how long it runs; None where the programme says so stage by stage
    earlier: tuple[Step, ...]  # to earlier times, the largest step first
    later: tuple[Step, ...]  # to later times


def adjust_view(about: About, appliance: Appliance, run: Run, attempt: Attempt | None) -> AdjustView:
    """The row for a run. After a refused change it shows what was typed, and why, beside the field it is about."""
    key = about.key_of(run.id)
    tried = attempt.field if attempt else ""
    messages = attempt.messages if attempt else ()
    return AdjustView(
        key=key,
        name=appliance.name,
        revision=about.stored.revision,
        action=about.action(key),
        duplicate=f"{about.action(key)}/duplicate",
        remove=f"{about.action(key)}/remove",
        close_href=about.page_with(""),
        tab=about.tab,
        on=run.on,
        typed=attempt.typed if attempt and tried == "start" else run.start,
        at_most=SHORT_AT_MOST,
        messages=messages if tried != "duration_s" else (),
        wrong_time=tried == "start",
        length=_length(appliance, run, attempt if tried == "duration_s" else None),
        earlier=tuple(_step(key, run.start, minutes) for minutes in EARLIER_MIN),
        later=tuple(_step(key, run.start, minutes) for minutes in LATER_MIN),
    )


def _length(appliance: Appliance, run: Run, attempt: Attempt | None) -> Length | None:
    if len(appliance.stages) > 1:
        return None
    typed = length_text(run.duration_s) if run.duration_s is not None else ""
    own_s = run_length_s(appliance)
    return Length(
        typed=attempt.typed if attempt else typed,
        own=length_text(own_s) if own_s else "",
        messages=attempt.messages if attempt else (),
    )


def _step(key: str, start: str, minutes: int) -> Step:
    to_min = wall_clock_s(start) // 60 + minutes
    seconds = start[5:]
    value = f"{to_min // 60:02d}:{to_min % 60:02d}{seconds}" if 0 <= to_min < DAY_MIN else ""
    size, way = abs(minutes), "later" if minutes > 0 else "earlier"
    sign = f"+{size}" if minutes > 0 else f"\u2212{size}"
    return Step(f"{way}-{size}-{key}", sign, value, f"{size} minutes {way}" + (f", to {value[:5]}" if value else ""))
