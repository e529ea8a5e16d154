"""What became of a household, in words."""

import datetime

from app.web.figures import MONTHS, SPACE, WEEKDAYS

AT_THE_MACHINE = "where Loadstead runs"
UNKNOWN_LINK = "a link that is gone"
EVERYTHING, THIS_PLAN = "Everything", "Without other plans"
NOTHING_KNOWN = "What this plan was then is not known: it was not there yet, or the record begins later."
IT_IS_SO = "The plan is so now; nothing would change."
MEANWHILE = "Something was changed meanwhile. This is what going back would do now."
OF_ITSELF = "Library and supply stay as they are now; what the plan says of its day and its runs goes back."


def meanwhile(told: str, plan: str, at: str, *, more: int) -> str:
    """`Changed elsewhere at 18:02, in Laundry day: Iron moved to 17:25. This page shows what was before.`

    told: the last change; plan: in which plan, where that is another than the one looked at. more: how many before it.
    """
    where = f", in {plan}" if plan else ""
    others = f", after {count(more, 'other change')}" if more else ""
    return f"Changed elsewhere at {at}{where}: {told}{others}. This page shows what was before."


def day(local: datetime.datetime) -> str:
    """`Tue 12 May 2026`."""
    text = f"{WEEKDAYS[local.weekday()]} {local.day} {MONTHS[local.month - 1]} {local.year}"
    return text.replace(" ", SPACE)


def says(words: str, *, undoes: bool, redoes: bool) -> str:
    """A line of the log: what was done, taken back, or done again."""
    return f"Undo: {words}" if undoes else f"Redo: {words}" if redoes else words


def count(number: int, what: str) -> str:
    """`1 plan`, `4 plans`."""
    return f"{number} {what}" if number == 1 else f"{number} {what}s"
