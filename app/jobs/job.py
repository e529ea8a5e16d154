"""A job as a page sees it."""

from dataclasses import dataclass
from typing import Any, Literal

State = Literal["waiting", "working", "lost", "done", "failed"]


@dataclass(frozen=True, slots=True)
class Job:
    """One piece of work, by the input it was asked for.

    key: SHA-256 of kind and input, in hexadecimal digits.
    state: `lost` where it is under way or waits and nobody has been heard of for a while.
    best: the last thing the work reported, JSON; None while there is nothing.
    stopped: somebody asked it to stop; done then means the best so far.
    again: how often it was taken up again after its worker was gone.
    age_s: since it was asked for, or last taken up.
    """

    key: str
    state: State
    best: dict[str, Any] | None = None
    stopped: bool = False
    again: int = 0
    age_s: float = 0.0

    @property
    def ended(self) -> bool:
        """Nothing more comes of itself."""
        return self.state in ("done", "failed")
