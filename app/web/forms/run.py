"""One command about one run, as a form sends it."""

import re
from typing import Annotated, Literal

from pydantic import BaseModel, Field

FIELDS = Literal["on", "start"]
_CLOCK = re.compile(r"(\d{1,2})[:.h ]?(\d{2})(?:[:.](\d{2}))?")


class RunForm(BaseModel):
    """What a tap on a run posts.

    value: `on` or `off` for the field `on`; a time as it was typed for `start`.
    revision, tab, sequence: which state of the run it was made on, by which open page, as its how manieth.
    open: key of the run that is being moved on the page, whoever the command is for.
    """

    field: FIELDS
    value: Annotated[str, Field(max_length=200)] = ""
    revision: Annotated[int, Field(ge=0, le=2**53)]
    tab: Annotated[str, Field(min_length=1, max_length=64)]
    sequence: Annotated[int, Field(ge=0, le=2**31 - 1)]
    open: Annotated[str, Field(max_length=64)] = ""


def run_value(form: RunForm) -> bool | str:
    """The value a form means: a switch, or a time of day.

    A time that cannot be read stays as it was typed, to be refused where all times are.
    """
    if form.field == "on":
        return form.value == "on"
    return clock_typed(form.value)


def clock_typed(text: str) -> str:
    """A time as people type it, as HH:MM[:SS]; what is none stays as it is.

    >>> [clock_typed(text) for text in (" 9:05", "0905", "9.05", "25:00", "soon")]
    ['09:05', '09:05', '09:05', '25:00', 'soon']
    """
    text = text.strip()
    found = _CLOCK.fullmatch(text)
    if found is None:
        return text
    hour, minute, second = found.groups()
    return f"{int(hour):02d}:{minute}" + (f":{second}" if second else "")
