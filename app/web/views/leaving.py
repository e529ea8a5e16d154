"""Before a household is deleted, and before a deleted one goes for good."""

from dataclasses import dataclass

from app.web.views.households import RemovedItem


@dataclass(frozen=True, slots=True)
class LeaveView:
    """households/leave.html."""

    household: str  # the household's name
    key: str  # its key
    goes: str  # what would go with it
    sure: bool  # it is asked for the second time
    kept_days: int  # how long it can be had back


@dataclass(frozen=True, slots=True)
class PurgeView:
    """households/purge.html."""

    gone: RemovedItem  # what is to go
    sure: bool  # it is asked for the second time
