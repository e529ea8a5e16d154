"""Commands about runs, as forms send them."""

import re
from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field

from app.household.errors import Fault, HouseholdFaults
from app.household.scenario import Run
from app.web.forms.typed import SHORT_AT_MOST, number_typed

FIELDS = Literal["on", "start", "duration_s"]
LONGEST_S = 86_400
LENGTH_WORDS = "give a length in minutes, or as h:mm, of at most 24 hours"

_CLOCK = re.compile(r"([0-9]{1,2})(?: ?h|[:.h ]?([0-9]{2})(?:[:.]([0-9]{2}))?)?")
_HALF = re.compile(r"(?P<face>[0-9:. ]+?)\s*(?P<half>[ap])\.?\s?m\.?", re.IGNORECASE)
_FACE = re.compile(r"([0-9]{1,2}):([0-5][0-9])")
_HOURS = re.compile(r"([^h]+?)\s*(?:h|hours?)\s*(?:([0-5]?[0-9])\s*(?:m|min|minutes?)?)?")
_MINUTES = ("minutes", "minute", "mins", "min", "m")


class Sent(BaseModel):
    """What every form on a plan's page posts beside what it is about.

    revision, tab, sequence: on which state of the household, by which open page, as its how manieth.
    open: key of the run whose adjust row is open, whoever the command is for.
    """

    revision: Annotated[int, Field(ge=0, le=2**53)]
    tab: Annotated[str, Field(min_length=1, max_length=64)]
    sequence: Annotated[int, Field(ge=0, le=2**31 - 1)]
    open: Annotated[str, Field(max_length=64)] = ""

    def envelope(self, household_key: str, scenario_key: str, link_key: str | None) -> dict[str, Any]:
        """What a command of the store is told beside what it does."""
        return {
            "household_key": household_key,
            "scenario_key": scenario_key,
            "revision": self.revision,
            "tab": self.tab,
            "sequence": self.sequence,
            "link_key": link_key,
        }


class RunForm(Sent):
    """A change to one field of a run.

    value: `on` or `off` for the field `on`; as it was typed a time for `start`, a length for `duration_s`.
    """

    field: FIELDS
    value: str = ""


class AddForm(Sent):
    """A run put on the day.

    length: how long it runs, where its programme does not say. find: what was looked for when it was found.
    """

    appliance: str
    start: str = ""
    length: str | None = None
    find: str = ""


def run_value(form: RunForm) -> bool | str | float | None:
    """The value a form means: a switch, a time of day, or a length in seconds, None for the programme's own.

    A time that cannot be read stays as it was typed, to be refused where all times are.
    Raises HouseholdFaults for a length that cannot be read.
    """
    if form.field == "on":
        return form.value == "on"
    return clock_typed(form.value) if form.field == "start" else length_typed_s(form.value)


def added_run(form: AddForm) -> dict[str, Any]:
    """The run of a form, as the file has it, without an id.

    Raises HouseholdFaults for a length that cannot be read.
    """
    document: dict[str, Any] = {"appliance": form.appliance, "start": clock_typed(form.start)}
    length_s = None if form.length is None else length_typed_s(form.length)
    return document if length_s is None else document | {"duration_s": length_s}


def copied_run(run: Run, start: str) -> dict[str, Any]:
    """A run's copy at another time, as the file has it, without an id; it waits for no other run."""
    document = run.document()
    kept = {name: value for name, value in document.items() if name not in ("id", "after", "within_s")}
    return kept | {"start": start, "on": True}


def clock_typed(text: str) -> str:
    """A time as people type it, as HH:MM[:SS]; what is none stays as it is.

    >>> [clock_typed(text) for text in (" 9:05", "0905", "9.05", "25:00", "soon")]
    ['09:05', '09:05', '09:05', '25:00', 'soon']
    >>> [clock_typed(text) for text in ("6", "18 h", "7.30 pm", "6pm", "12 a.m.", "13pm")]
    ['06:00', '18:00', '19:30', '18:00', '00:00', '13pm']
    """
    text = text.strip()
    half = _HALF.fullmatch(text) if len(text) <= SHORT_AT_MOST else None
    face = half["face"] if half else text
    found = _CLOCK.fullmatch(face)
    if found is None:
        return text
    hour, minute, second = found.groups()
    number = int(hour)
    if half:
        if not 1 <= number <= 12:
            return text
        number = number % 12 + (12 if half["half"].lower() == "p" else 0)
    return f"{number:02d}:{minute or '00'}" + (f":{second}" if second else "")


def length_typed_s(text: str) -> float | None:
    """A length as people type it, in seconds; None for an empty text.

    Raises HouseholdFaults for what is none, or is longer than a day.

    >>> [length_typed_s(text) for text in ("45", "0:45", "1 h 30", "1 h 30 min", "1,5 h", "90 min", " ")]
    [2700, 2700, 5400, 5400, 5400, 5400, None]
    """
    text = text.replace("\u00a0", " ").strip().lower()
    if not text:
        return None
    seconds = 0.0
    if len(text) > SHORT_AT_MOST:
        pass  # nobody means so long a text
    elif found := _FACE.fullmatch(text):
        seconds = float(int(found[1]) * 3600 + int(found[2]) * 60)
    elif found := _HOURS.fullmatch(text):
        hours = number_typed(found[1])
        seconds = hours * 3600 + int(found[2] or 0) * 60 if hours is not None else 0
    else:
        seconds = 60 * (number_typed(text, *_MINUTES) or 0)
    if not 0 < seconds <= LONGEST_S:
        raise HouseholdFaults([Fault("duration_s", LENGTH_WORDS)])
    return round(seconds)


def can_be_read(length: str | None) -> bool:
    """Whether a length that was typed, if one was, means something."""
    try:
        length_typed_s(length or "")
    except HouseholdFaults:
        return False
    return True


def length_text(seconds: float) -> str:
    """A length as it stands in a field, so that it is read back as the same.

    >>> [length_text(s) for s in (2700, 5400, 7200, 90)]
    ['45 min', '1 h 30 min', '2 h', '1.5 min']
    """
    hours, minutes = divmod(seconds / 60, 60)
    if not hours or minutes != int(minutes):
        return f"{seconds / 60:.3f}".rstrip("0").rstrip(".") + " min"
    return f"{int(hours)} h {int(minutes)} min" if minutes else f"{int(hours)} h"
