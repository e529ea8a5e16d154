"""One field of a plan, as a form sends it."""

import datetime
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import Field

from app.household.fields import wall_clock_s
from app.household.names import shortened
from app.store.commands import PlanField
from app.web.figures import MONTHS
from app.web.forms.run import Sent, clock_typed
from app.web.forms.typed import number_typed, per_cent_typed
from app.web.warmth import Warmth

_FACE = re.compile(r"([01][0-9]|2[0-3]):[0-5][0-9](:[0-5][0-9])?")
_ISO = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_WRITTEN = re.compile(r"([0-9]{1,2})(?:\.\s*([0-9]{1,2})\.|\.?\s+([A-Za-z]{3,9})\.?)\s*([0-9]{4})")
# More lines than anybody types; a file may hold more, and then they stay as they are.
LINES_AT_MOST = 100
MOST_KWH = 100_000
MIDNIGHT = "00:00"

Lines = Annotated[list[str], Field(max_length=LINES_AT_MOST + 1)]


class PlanForm(Sent):
    """What a field of the plan posts.

    value: what was typed; at: the time of day told with it. hour, degrees: the lines of the temperatures instead.
    without: the line to be left out.
    parents: take what the parent says, whatever is typed.
    """

    field: PlanField
    value: str = ""
    at: str | None = None
    hour: Lines = Field(default_factory=list)
    degrees: Lines = Field(default_factory=list)
    without: Annotated[int | None, Field(ge=0, le=LINES_AT_MOST)] = None
    parents: bool = False

    @property
    def lines(self) -> tuple[tuple[str, str], ...]:
        """The temperatures as they were typed, hour and degrees."""
        return tuple(zip(self.hour, self.degrees, strict=False))


class NewPlanForm(Sent):
    """A new plan, empty or copied. name: as it was typed. copied: from the plan whose page sends it."""

    name: str = ""
    copied: bool = False


class StepForm(Sent):
    """A step back, or forward again. change: id of the change it is about, as the page offered it."""

    change: Annotated[str, Field(max_length=64)]


@dataclass(frozen=True)
class Mistyped(Exception):
    """What was typed cannot be meant. messages: why, a sentence each; lines: the lines of a list it is about."""

    messages: tuple[str, ...]
    lines: frozenset[int] = frozenset()


def plan_value(form: PlanForm, warmth: Warmth) -> Any:
    """The value a form means, as the file has it. warmth: how the household writes temperatures.

    Raises Mistyped for what cannot be read. What can be read and cannot be is refused where all values are.
    """
    if form.field == "ambient_c":
        return _temperatures(form.lines, form.without, warmth)
    read: dict[str, Callable[[str], Any]] = {
        "name": str.strip,
        "date": _date,
        "cloud_oktas": _oktas,
        "start_state_of_charge": _share,
        "wanted_margin": _share,
        "expected_yield_wh": _yield_wh,
        "measured_day": lambda _: None,  # a form can only take it out; a record's page gives one
    }
    return read[form.field](form.value)


def told_beside(form: PlanForm) -> dict[str, Any] | None:
    """What a form tells beside its field: of the battery's charge, at what time it is so.

    Raises Mistyped for what is no time of day.
    """
    if form.field != "start_state_of_charge" or form.at is None:
        return None
    face = clock_typed(form.at) if form.at.strip() else MIDNIGHT
    if not _FACE.fullmatch(face):
        shown = _short(form.at)
        raise Mistyped((f"\u2018{shown}\u2019 is not a time of this day; give the time at which it is so, as 14:05.",))
    return {"state_of_charge_at": face}


def _date(text: str) -> str:
    """A day as a browser sends it, or as people write it with the day first and the month in between."""
    text = text.strip()
    if _ISO.fullmatch(text):
        return text
    found = _WRITTEN.fullmatch(text)
    names = [name.lower() for name in MONTHS]
    try:
        if found is None:
            raise ValueError
        day, month, name, year = found.groups()
        number = int(month) if month else names.index(name[:3].lower()) + 1
        return datetime.date(int(year), number, int(day)).isoformat()
    except ValueError:
        shown = f"\u2018{_short(text)}\u2019 is not a day" if text else "No day is given"
        raise Mistyped((f"{shown}; give one as 2026-05-12 or 12 May 2026.",)) from None


def _oktas(text: str) -> float:
    value = number_typed(text)
    if value is None or not 0 <= value <= 8:
        raise Mistyped((f"\u2018{_short(text)}\u2019 is not a cloud cover; give eighths of the sky, from 0 to 8.",))
    return value


def _share(text: str) -> float:
    value = per_cent_typed(text)
    if value is None:
        bare = number_typed(text)
        if bare is not None and 0 < bare < 1:
            meant = f"{100 * bare:.6g}"
            raise Mistyped((f"{_short(text)} would be less than 1\u00a0%; write {meant} for {meant}\u00a0%.",))
        shown = f"\u2018{_short(text)}\u2019 is not a percentage" if text.strip() else "Nothing is given"
        raise Mistyped((f"{shown}; give a number from 0 to 100, such as 75 or 67.5.",))
    return value


def _yield_wh(text: str) -> float | None:
    """Energy in Wh out of kWh; nothing where nothing is typed."""
    if not text.strip():
        return None
    value = number_typed(text, "kWh", "kwh")
    if value is None or not 0 <= value <= MOST_KWH:
        shown = _short(text)
        raise Mistyped((
            f"\u2018{shown}\u2019 is not an amount of energy; give kWh, such as 5.2 or 12, "
            "or leave it empty to go by the sky.",
        ))  # fmt: skip
    return round(1000 * value, 6)


def _temperatures(lines: tuple[tuple[str, str], ...], without: int | None, warmth: Warmth) -> list[list[float]]:
    """The lines in the order of the day; an empty one is none."""
    messages: list[str] = []
    wrong: set[int] = set()
    points: dict[float, tuple[int, float]] = {}
    for number, line in enumerate(lines):
        if number == without or not any(text.strip() for text in line):
            continue
        hour, degrees = _hour(line[0]), warmth.read(line[1])
        reasons = list(_why_not(line, hour, degrees, warmth))
        if hour is not None and hour in points:
            reasons.append(f"{_short(line[0])} is in line {points[hour][0] + 1} already; give each time once.")
        messages += [f"Line {number + 1}: {reason}" for reason in reasons]
        if reasons:
            wrong.add(number)
        elif hour is not None and degrees is not None:
            points[hour] = number, degrees
    if not messages and not points:
        messages.append("Give at least one line: a time of day, and how warm it is then.")
    if messages:
        raise Mistyped(tuple(messages), frozenset(wrong))
    return [[hour, points[hour][1]] for hour in sorted(points)]


def _why_not(line: tuple[str, str], hour: float | None, degrees: float | None, warmth: Warmth) -> Iterator[str]:
    if hour is None:
        shown = f"\u2018{_short(line[0])}\u2019 is not a time of day" if line[0].strip() else "the time is missing"
        yield f"{shown}; give one from 00:00 to 23:59."
    if degrees is None:
        typed = f"\u2018{_short(line[1])}\u2019 is not a temperature"
        shown = typed if line[1].strip() else "the temperature is missing"
        yield f"{shown}; give degrees, such as 19 or \u22122,5."
    elif not -80 <= degrees <= 120:
        how = "cold" if degrees < 0 else "warm"
        yield f"{_short(line[1])} is too {how}; give degrees from {warmth.show(-80)} to {warmth.show(120)}."


def _hour(text: str) -> float | None:
    """Hours since midnight out of a time of day, or of a plain number of hours."""
    face = clock_typed(text)
    if _FACE.fullmatch(face):
        seconds = wall_clock_s(face)
        return seconds // 3600 if seconds % 3600 == 0 else seconds / 3600
    hour = number_typed(text, "h")
    return hour if hour is not None and 0 <= hour < 24 else None


def _short(text: str) -> str:
    """What was typed, short enough for a line."""
    return shortened(text.strip(), 30)
