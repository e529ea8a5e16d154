"""Making what a plan has of supply and library the household's own."""

from dataclasses import dataclass

from app.household.errors import Fault, HouseholdFaults
from app.household.file import household_from
from app.household.whatif import made_real
from app.store.commands.command import Command, Outcome, plan_of
from app.store.commands.refusing import naming_plans
from app.store.commands.replacing import as_before, pieces_of
from app.store.mapping import put_together
from app.store.stored import StoredHousehold


@dataclass(frozen=True, kw_only=True)
class MakeReal(Command):
    """Make a plan's supply and library those of the household; the plan then changes nothing of them."""

    scenario_key: str

    def subject(self) -> tuple[str, str | None]:
        """The household as a whole."""
        return self.household_key, "real"

    def on(self, current: StoredHousehold) -> Outcome:
        """The household as the plan has it."""
        scenario = plan_of(current, self.scenario_key)
        document = made_real(current.household, scenario.id, put_together(current.pieces.values()))
        try:
            household_from(document)
        except HouseholdFaults as refused:
            raise HouseholdFaults(naming_plans(current, refused.faults)) from refused
        pieces = pieces_of(current, document)
        if not pieces:
            where = f"scenarios[{current.scenarios.index(scenario)}]"
            raise HouseholdFaults([Fault(where, "it has the household's own supply and appliances already")])
        inverse = as_before(self, current, pieces)
        words = {"name": scenario.name}
        return Outcome(current.with_pieces(*pieces), pieces, self, inverse, words, words, None)
