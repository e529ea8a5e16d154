"""The energy of a plan, followed with a bank and arrays of other sizes, and without its generator."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from app.engine.bankday import at_midnight, lowest_of, plant_of, steps_of
from app.engine.cells import cells_of
from app.engine.charge import Lowest
from app.engine.day import PlannedDay
from app.engine.flows import Flows, State, Steps, flows
from app.engine.sun import Suns
from app.engine.typical import share_on, typical_draw
from app.household.fields import wall_clock_s

DARK = 1e-3  # of the charge: as good as so much too little, where the house goes dark with more than the reserve


@dataclass(frozen=True, eq=False)
class Energy:
    """The energy of a plan, to be followed with a bank and arrays of other sizes; never with a generator."""

    day: PlannedDay
    suns: Suns

    def followed(self, bank: float = 1.0, array: float | None = None) -> Flows:
        """The day with so many times the bank's ampere-hours and the arrays' watts.

        array: None leaves them as they are; else controllers are as large as they need be.
        """
        # What fills the bank whenever it is low would have any bank do, and no panels at all.
        plant, steps = replace(plant_of(self.day.resolved), generator=None), self._steps
        if bank != 1:
            battery = self.day.resolved.household.supply.battery
            cells = cells_of(battery.model_copy(update={"module_ah": battery.module_ah * bank}))
            plant = replace(plant, cells=cells)
        if array is not None:
            ample = (np.inf,) * len(steps.controller_a)
            steps = replace(steps, dc_w=steps.dc_w * array, ac_w=steps.ac_w * array, controller_a=ample)
        return flows(plant, steps, self.start)

    @property
    def start(self) -> State:
        """How the day begins."""
        return State(self.day.resolved.day.start_state_of_charge)

    @property
    def begin_ms(self) -> int:
        """When it does."""
        resolved = self.day.resolved
        return resolved.frame.at_ms(wall_clock_s(resolved.day.state_of_charge_at))

    @cached_property
    def _steps(self) -> Steps:
        return steps_of(self.day.resolved, self.suns.expected, typical_draw(self.day.laid), self.begin_ms)

    @cached_property
    def as_it_is(self) -> Flows:
        """The day with the sizes that the plan has."""
        return self.followed()

    @property
    def reserve(self) -> float:
        """What the charge should not pass."""
        return self.day.resolved.household.supply.battery.reserve

    def lowest(self, happened: Flows) -> Lowest:
        """The least charge of a day that was followed."""
        return lowest_of(happened, self.reserve)

    def above_reserve(self, happened: Flows) -> tuple[float, bool]:
        """How far above the reserve the charge stays, negative too where the house goes dark; whether it does not."""
        lowest = self.lowest(happened)
        left = lowest.state_of_charge - self.reserve
        return (left, True) if lowest.dark_ms is None else (min(left, -DARK), False)

    def gained(self, happened: Flows) -> float:
        """How much more charge there is at midnight than the day began with."""
        return at_midnight(happened, self.day.resolved.frame.day_ms, self.start).charge - self.start.charge

    def sun_until(self, at_ms: float) -> bool:
        """Whether any sun comes before an instant."""
        edges_ms = self._steps.edges_ms
        return bool(((self._steps.dc_w.sum(axis=0) + self._steps.ac_w)[edges_ms[:-1] < at_ms] > 0).any())

    @property
    def frozen(self) -> bool:
        """It is too cold to charge whenever the sun shines."""
        shines = self._steps.dc_w.sum(axis=0) + self._steps.ac_w > 0
        return not bool((self._steps.charge_factor[shines] > 0).any())

    def taker(self, until_ms: float) -> str | None:
        """Who takes most of the energy until an instant."""
        pieces, rows = self.day.laid.pieces, self.day.laid.rows
        lasts_ms = np.minimum(pieces.end_ms, until_ms) - np.maximum(pieces.begin_ms, self.begin_ms)
        taken = rows.running.p_w[pieces.row] * share_on(pieces) * np.maximum(lasts_ms, 0)
        if not len(taken) or taken.max() <= 0:
            return None
        each = np.bincount(pieces.appliance, taken, minlength=len(rows.appliances))
        return rows.appliances[int(each.argmax())].id
