"""Links in words: what they open, since when, for how long."""

import datetime

from app.web.figures import MONTHS, SPACE

SCOPES = {"reader": "Look", "helper": "Help", "owner": "Own"}
SCOPE_MEANS = {
    "reader": "sees, changes nothing",
    "helper": "changes plans, appliances and figures",
    "owner": "does everything, deletes, and makes links",
}
LENGTHS = {"": "until it is revoked", "1": "a day", "7": "a week", "30": "30 days", "365": "a year"}
ALL_PLANS = "Every plan"

SENT_TWICE = (
    "That link was made already, and its address is shown only once. Lost, revoke {name} below and make another."
)
ONLY_HERE = (
    "You have opened Loadstead as localhost, so this address works on this machine alone. Start it with --network and"
    " open it by the address it prints; a link made there opens on phones too."
)
ASKS = "From this moment on {name} opens nothing, on pages that are open too."
YOURS = "This is the link you are here with: you will be let in no more."
NO_SCOPE = "Choose what it may do: look, help or own."
NO_PLAN = "There is no such plan any more; choose one of the list."
ONLY_READERS = "Only a link to look can be for one plan alone. Choose “Look”, or “Every plan”."
NO_LENGTH = "Choose one of the list."
GONE = "That link was revoked already."


def opens(scope: str, plan: str, *, everywhere: bool) -> str:
    """`Look at Laundry day alone`, `Help`, `Own, every household`. plan: the only one, empty for all."""
    name = SCOPES[scope]
    if plan:
        return f"{name} at “{plan}” alone"
    return f"{name}, every household" if everywhere else name


def moment(local: datetime.datetime) -> str:
    """`12 May 2026, 14:05`."""
    day = f"{local.day} {MONTHS[local.month - 1]} {local.year}".replace(" ", SPACE)
    return f"{day}, {local:%H:%M}"


def used(local: datetime.datetime | None) -> str:
    """When it was used last."""
    return f"last used {moment(local)}" if local else "not used yet"


def lasts(local: datetime.datetime | None) -> str:
    """Until when it opens something; empty for one without end."""
    return f"until {moment(local)}" if local else ""


def ended(how: str, local: datetime.datetime) -> str:
    """Since when it opens nothing: `revoked 12 May 2026, 14:05`."""
    return f"{how} {moment(local)}"
