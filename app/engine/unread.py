"""A plan laid open before anybody reads its limits: to say what may be switched on hardly any of them are asked for."""

from functools import cached_property

from app.engine.assess import assess_day
from app.engine.bankday import bank_day
from app.engine.day import PlannedDay
from app.engine.levels import Levels, may_be_sure, sure_breaks
from app.engine.moment import Inspection
from app.engine.power import levels_limits
from app.engine.results import Assessment, BankDay, Flags
from app.engine.sun import Suns


class Unread(Inspection):
    """Each part is worked out when it is first asked for. Its assessment is not a close one."""

    def __init__(self, day: PlannedDay, suns: Suns | None) -> None:
        """suns: as for `assess_day`."""
        self.day = day
        self._suns = suns

    @cached_property
    def assessment(self) -> Assessment:
        """As of `assess_day`."""
        return assess_day(self.day, self._suns, closely=False, battery=self.battery)

    @cached_property
    def battery(self) -> BankDay | None:
        """As of its assessment."""
        return None if self._suns is None else bank_day(self.day, self._suns)

    @cached_property
    def sure(self) -> dict[str, tuple[Levels, Flags]]:
        """As of its assessment, from what is read of levels alone; nothing where certain draws come up to none."""
        return sure_breaks(self.day, levels_limits(self.day)[1]) if may_be_sure(self.day) else {}
