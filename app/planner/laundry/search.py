"""The door to laundry day: a plan and a wish in, the best day that was found out, better ones told as they come."""

from collections.abc import Mapping

from app.household.household import Household
from app.household.resolve import resolve
from app.planner.laundry.asked import check_wish
from app.planner.laundry.found import Proposal, Stuck
from app.planner.laundry.look import GIVEN_UP_S, Looked, Report
from app.planner.laundry.stuck import why_stuck
from app.planner.laundry.wish import Wish


def search(
    household: Household, scenario_id: str, wish: Wish, *, seconds: float, seed: int = 1,
    report: Report = lambda _proposal, _bound_wh: True, prove: bool = True, begin: Mapping[str, str] | None = None,
) -> Proposal | Stuck:  # fmt: skip
    """Find starts for the wish's runs: everything placed, then least through the bank, largest margin, early finish.

    seconds: how long to look; it ends sooner where nothing better can be. The same seed takes the same steps, so that
    a search which comes to its end gives the same day. report: told the best so far (None until there is one) and what
    no placing is below, in Wh; returning False ends the search. prove: let a solver say what cannot be.
    begin: run id to HH:MM, to go on from.
    Every proposal was assessed. A search of less than a second and a half that found nothing does not say why.
    Raises HouseholdFaults for a wish that cannot be.
    """
    resolved = resolve(household, scenario_id)
    check_wish(resolved, wish)
    found = Looked(resolved, wish, seed, begin).look(seconds, report, prove=prove)
    if found is not None or seconds < GIVEN_UP_S:
        return found or Stuck(None, (), ())
    return why_stuck(resolved, wish, seed)
