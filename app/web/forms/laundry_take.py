"""What the forms over a day that was found send: take it, or part of it; stop the search, or let it go on."""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field

from app.web.forms.run import clock_typed

Text = Annotated[str, Field(max_length=40_000)]
Short = Annotated[str, Field(max_length=200)]


class TakeForm(BaseModel):
    """A day, or part of it, is to be taken, or looked at first.

    wish: what was asked for, as an address says it. state: of the plan it was found for. starts: `HH:MM` and the key of
    a load, each. ticks: keys of what is taken. looked: the same as they were looked at, empty for never.
    """

    wish: Text
    state: Short
    start: Annotated[list[Short], Field(max_length=100)] = []
    tick: Annotated[list[Short], Field(max_length=200)] = []
    looked: Text = ""
    do: Literal["take", "look"] = "take"
    revision: Annotated[int, Field(ge=0, le=2**53)]
    tab: Annotated[str, Field(min_length=1, max_length=64)]

    def starts(self) -> dict[str, str]:
        """Start of each load, by its key; what is none is left out."""
        pairs = (one.partition(" ") for one in self.start)
        return {key: clock for clock, _, key in pairs if len(clock) == 5 and clock_typed(clock) == clock and key}

    def envelope(self, household_key: str, scenario_key: str, link_key: str | None) -> dict[str, Any]:
        """What a command of the store is told beside what it does."""
        return {
            "household_key": household_key,
            "scenario_key": scenario_key,
            "revision": self.revision,
            "tab": self.tab,
            "sequence": 1,
            "link_key": link_key,
        }


class JobForm(BaseModel):
    """A search is to stop, or to go on. job: its key. wish: what was asked for, as an address says it."""

    job: Annotated[str, Field(pattern="^[0-9a-f]{64}$")]
    wish: Text = ""
    do: Literal["stop", "go_on"]
