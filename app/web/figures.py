"""Numbers and times as people read them. No other module formats one.

Number and unit are joined by a no-break space. A number and its limit get as many decimals as it takes to
tell them apart.
"""

import datetime
import math

from app.household.day import DayFrame

SPACE = "\u00a0"
MINUS = "\u2212"
ROUNDED_UP = 1.01  # times what is needed: no figure is rounded up by more
_KILO = {"W": "kW", "VA": "kVA", "Wh": "kWh"}


def quantity(value: float, unit: str) -> str:
    """A value with its unit: watts and volt-amperes in thousands from a thousand on.

    >>> quantity(4360, "W").replace(SPACE, " "), quantity(180, "W").replace(SPACE, " ")
    ('4.4 kW', '180 W')
    """
    if unit in _KILO and abs(value) < 999.5:
        return f"{number(value, 0)}{SPACE}{unit}"
    scale, shown_unit, decimals = _scale(value, unit)
    return f"{number(value / scale, decimals)}{SPACE}{shown_unit}"


def against(use: float, limit: float, unit: str) -> tuple[str, str]:
    """A use and its limit on one scale, with decimals enough to see which is larger.

    >>> [text.replace(SPACE, " ") for text in against(6020, 6000, "VA")]
    ['6.02 kVA', '6.00 kVA']
    """
    scale, shown_unit, decimals = _scale(max(abs(use), abs(limit)), unit)
    while decimals < 3 and use != limit and number(use / scale, decimals) == number(limit / scale, decimals):
        decimals += 1
    return (
        f"{number(use / scale, decimals)}{SPACE}{shown_unit}",
        f"{number(limit / scale, decimals)}{SPACE}{shown_unit}",
    )


def at_least(least: float, has: float, unit: str) -> tuple[str, str]:
    """What is needed, never shown as less than it is, and what is there, so that it is plain which is larger.

    >>> [text.replace(SPACE, " ") for text in at_least(4210, 4250, "W")]
    ['4.21 kW', '4.25 kW']
    """
    (scale, shown_unit, decimals), (has_scale, has_unit, _) = (
        (1.0, unit, 0) if unit in _KILO and value < 999.5 else _scale(value, unit) for value in (least, has)
    )
    while True:
        up = math.ceil(least / scale * 10**decimals * (1 - 1e-9)) / 10**decimals
        there = number(has / has_scale, decimals)
        plain = has_unit != shown_unit or (up <= float(there)) == (least <= has * (1 + 1e-9))
        # A tenth may be much of a small figure.
        if decimals == 3 or (plain and up * scale <= max(least, 1.0) * ROUNDED_UP):
            same = has_unit == shown_unit
            return f"{number(up, decimals)}{SPACE}{shown_unit}", f"{there}{SPACE}{has_unit}" if same else quantity(
                has, unit
            )
        decimals += 1


def number(value: float, decimals: int) -> str:
    """A plain number with a true minus sign; nothing is minus nought."""
    text = f"{abs(value):.{decimals}f}"
    return f"{MINUS}{text}" if value < 0 and float(text) else text


def room_left(margin: float, unit: str) -> str:
    """What a limit leaves, in its unit; of per cent in points, for it is no share of what there is.

    >>> [room_left(*one).replace(SPACE, " ") for one in ((27, "%"), (2.5, "%"), (350, "W"), (-5, "W"))]
    ['27 points', '2.5 points', '350 W', 'none']
    """
    if margin < 0:
        return "none"
    shown = quantity(margin, unit)
    return f"{shown.removesuffix('%')}points" if unit == "%" else shown


def duration(seconds: float) -> str:
    """A length of time in the one or two units that matter.

    >>> [duration(s).replace(SPACE, " ") for s in (0.4, 48, 240, 5360, 7200)]
    ['0.4 s', '48 s', '4 min', '1 h 29 min', '2 h']
    """
    if seconds < 10:
        return f"{seconds:.1f}".removesuffix(".0") + f"{SPACE}s"
    if round(seconds) < 60:
        return f"{round(seconds)}{SPACE}s"
    minutes, rest_s = divmod(round(seconds), 60)
    if minutes < 10 and rest_s:
        return f"{minutes}{SPACE}min{SPACE}{rest_s}{SPACE}s"
    hours, minutes = divmod(round(seconds / 60), 60)
    if not hours:
        return f"{minutes}{SPACE}min"
    return f"{hours}{SPACE}h{SPACE}{minutes}{SPACE}min" if minutes else f"{hours}{SPACE}h"


def clock(frame: DayFrame, ms: float) -> str:
    """The local time of an instant as HH:MM, the weekday before it once midnight has passed.

    Seconds are left out: an instant is shown as the minute it falls in. In the hour that comes twice when clocks are
    put back, its second passing says so.
    """
    return f"{_weekday(frame, ms)}{face(frame, ms)}"


def clock_after(frame: DayFrame, ms: float) -> str:
    """As `clock`, but the first whole minute that is not before an instant: from when on something is so."""
    return clock(frame, math.ceil(ms / 60_000) * 60_000)


def how_long(frame: DayFrame, begin_ms: float, end_ms: float) -> str:
    """`until 14:55`; of what is over within the minute in which it begins, `for 48 s`."""
    if clock(frame, begin_ms) == clock(frame, end_ms):
        return f"for {duration((end_ms - begin_ms) / 1000)}"
    return f"until {clock(frame, end_ms)}"


def instant(frame: DayFrame, ms: float) -> str:
    """The local time of an instant as `clock` gives it, with seconds, and thousandths, where there are any."""
    moment = frame.local(ms)
    seconds = f":{moment.second:02d}" if moment.second or moment.microsecond else ""
    if moment.microsecond:
        seconds += f".{moment.microsecond // 1000:03d}"
    return f"{_weekday(frame, ms)}{_minute(moment)}{seconds}{again(moment)}"


def face(frame: DayFrame, ms: float) -> str:
    """The clock's face at an instant, whatever the day: HH:MM, as `clock` has it."""
    moment = frame.local(ms)
    return f"{_minute(moment)}{again(moment)}"


def again(moment: datetime.datetime) -> str:
    """What follows a time that the clock shows for the second time on its day; nothing after any other."""
    return " (second)" if moment.fold else ""


def date(frame: DayFrame) -> str:
    """The day as `Tue 12 May`."""
    return f"{WEEKDAYS[frame.date.weekday()]}{SPACE}{frame.date.day}{SPACE}{MONTHS[frame.date.month - 1]}"


# English by name rather than by the machine's locale: the same page everywhere.
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def _minute(moment: datetime.datetime) -> str:
    return f"{moment.hour:02d}:{moment.minute:02d}"


def _weekday(frame: DayFrame, ms: float) -> str:
    """The day's name before a time after midnight; a plan's own day needs none."""
    moment = frame.local(ms)
    return "" if moment.date() == frame.date else f"{WEEKDAYS[moment.weekday()]}{SPACE}"


def _scale(value: float, unit: str) -> tuple[float, str, int]:
    """What to divide by, the unit to show, and the usual decimals for a value of this size."""
    if unit in _KILO:
        return 1000, _KILO[unit], 1
    if unit == "V":
        return 1, unit, 1
    return 1, unit, 1 if abs(value) < (20 if unit == "%" else 100) else 0
