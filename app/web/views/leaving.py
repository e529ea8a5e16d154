"""Before a household is deleted."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class LeaveView:
    """households/leave.html."""

    household: str  # the household's name
    key: str  # its key
    goes: str  # what would go with it
    sure: bool  # it is asked for the second time
