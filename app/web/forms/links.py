"""A new link, as its form sends it."""

import datetime
from typing import Annotated

from pydantic import BaseModel, Field

from app.web.forms.typed import SHORT_AT_MOST

# For how many days a link may last, by what the form sends; nothing for one without end.
DAYS = {"": None, "1": 1, "7": 7, "30": 30, "365": 365}

Short = Annotated[str, Field(max_length=SHORT_AT_MOST)]


class LinkForm(BaseModel):
    """What a new link is to be. key: its own, from the page that asks for it. plan: key of the only plan it shows.

    scope: `owner`, `helper` or `reader`. days: one of `DAYS`.
    """

    key: Annotated[str, Field(pattern="^[0-9a-f]{32}$")]
    name: str = ""
    scope: Short = "reader"
    plan: Short = ""
    days: Short = ""

    def expires_at(self, now_utc: datetime.datetime) -> datetime.datetime | None:
        """When it is to end; None for never."""
        days = DAYS.get(self.days)
        return None if days is None else now_utc + datetime.timedelta(days=days)
