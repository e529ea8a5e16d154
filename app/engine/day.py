"""A plan laid out and seen from every limit's side: the house, its legs, its circuits, its bank."""

from dataclasses import dataclass

import numpy as np

from app.engine.bank import Bank
from app.engine.circuits import Wired, leg_weights, wire
from app.engine.expand import Laid, expand
from app.engine.heat import Rule
from app.engine.interlocks import placed
from app.engine.inverter import inverter_rule, legs
from app.engine.readings import View, view_of
from app.engine.results import Floats
from app.engine.rows import StageRows, stage_rows
from app.engine.scope import scope_of
from app.household.resolve import Resolved


@dataclass(frozen=True, slots=True, eq=False)
class PlannedDay:
    """Everything the limits of one plan are read from.

    rule, leg_rule: the inverter's levels for the house and for one leg. legs: empty in a house with one.
    """

    resolved: Resolved
    rows: StageRows
    laid: Laid
    rule: Rule
    leg_rule: Rule
    bank: Bank
    house: View
    legs: dict[str, View]
    wired: dict[str, Wired]


def lay_day(resolved: Resolved) -> PlannedDay:
    """Lay a plan on its day.

    Raises HouseholdFaults if a machine would be set off while it runs.
    """
    rows = stage_rows(resolved.household.appliances)
    laid = expand(resolved, rows)
    interlocks = placed(resolved, rows.appliances)
    rule, bank = inverter_rule(resolved), Bank(resolved)
    corners_ms = np.concatenate([rule.corners_ms, bank.rule.corners_ms])

    def view(weight: Floats) -> View:
        return view_of(resolved, laid, scope_of(laid, weight, corners_ms, interlocks))

    return PlannedDay(
        resolved=resolved,
        rows=rows,
        laid=laid,
        rule=rule,
        leg_rule=inverter_rule(resolved, 0.5),
        bank=bank,
        house=view(np.ones(len(rows.appliances))),
        legs={leg: view(leg_weights(resolved, laid, leg)) for leg in legs(resolved)},
        wired=wire(resolved, laid, interlocks),
    )
