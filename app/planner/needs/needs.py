"""The door: what a plan needs at least of its supply, figure by figure."""

from app.engine.day import PlannedDay, lay_day
from app.engine.sun import Suns, suns_of
from app.household.resolve import Resolved
from app.planner.needs.bank import bank_needs
from app.planner.needs.found import Need
from app.planner.needs.inverter import inverter_needs
from app.planner.needs.sizes import energy_needs


def needs_of(resolved: Resolved, day: PlannedDay | None = None, suns: Suns | None = None) -> tuple[Need, ...]:
    """The least figures of a supply that carry a plan in the worst case, whatever odds say of it, in one order.

    What runs never needs what is there for moments: a supply that lives in its overload carries no plan. Starts do.

    - continuous_w, rated_va: so much that no store of the inverter or of a leg (which has half) ever holds anything:
      `inverter_continuous`, `inverter_apparent` and `leg:*` fit or are tight with nothing above them at any instant,
      in any worst pattern. continuous_w is told at 25 degC, its curve in the household's own proportions.
    - surge_va, for_s: with the two before and one level above them, the least such level, and then the least seconds
      of it, with which every start, scheduled or not, is carried by house and legs. for_s is of whatever start passes
      the rating longest, which need not be the highest. Where none passes it: the rating, for 0 s.
    - restart_va: the least top level that carries `cold_restart`; none does where the bank's volts do not.
    - bank_a: of the whole bank, modules x amperes / sharing as they are rated, before the factor of the temperature:
      so much that `battery_continuous` is never passed. Reserve, resistance and the inverter's losses, watt for watt,
      are the plan's own. bank_peak_a, for_s: as surge_va, above bank_a.
    - usable_wh: modules x Ah x V x health x (1 - reserve), least so that `reserve` is kept and the house not dark; the
      day begins at the same share of charge. The modules are the plan's own but for their ampere-hours: currents,
      resistance and all else stay, and so do the arrays. 0 where a thousandth of the plan's own would do.
    - array_w: peak of all arrays together, in their proportions, controllers as large as they need be, an expected
      yield in proportion: least so that `reserve` is kept, the house not dark, and the bank has at midnight what the
      day began with. The bank is the plan's own, and so is what its inverter sends back from panels on the AC side.

    Both without the plan's generator: it is never counted on, and with it hardly anything would be needed.

    No size would do of bank or arrays where a hundred times what the plan has does not.

    All of them together carry the plan, with one reservation: bank and arrays make up for one another, so each of the
    two is told beside the other as the plan has it, and the plan is carried by either with the rest at its least. A
    per cent less of any one does not carry it. No figure is rounded; what has to be searched (usable_wh, array_w,
    watts beside an interlock) is at most a thousandth above the least.

    day, suns: of the plan, if they are at hand. Without its sun at hand pvlib is loaded.
    Raises HouseholdFaults if a machine would be set off while it runs.
    """
    day = lay_day(resolved) if day is None else day
    suns = suns_of(resolved) if suns is None else suns
    return (*inverter_needs(day), *bank_needs(day), *energy_needs(day, suns))
