"""A plan becomes what it was at some time before: an ordinary change, which can be taken back like any other."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from app.household.errors import HouseholdFaults
from app.store.commands.command import Command, Outcome, plan_of
from app.store.commands.plans import refuse_taken_name
from app.store.commands.refusing import naming_plans
from app.store.mapping import Piece
from app.store.stored import StoredHousehold, StoredScenario


@dataclass(frozen=True, kw_only=True)
class PlanAsThen(Command):
    """Make a plan what it said before: its own figures and its runs.

    parts: the plan's own part and its runs, each with its key, name, position, document, and whether it was removed;
        runs that are there by now and not among them go.
    at: when it was so, as the log writes it; None for what it was before going back.
    """

    scenario_key: str
    parts: list[dict[str, Any]]
    at: str | None = None

    def subject(self) -> tuple[str, str | None]:
        """The plan as a whole."""
        return self.scenario_key, "then"

    def on(self, current: StoredHousehold) -> Outcome:
        """The household with the plan as it was."""
        scenario = plan_of(current, self.scenario_key)
        pieces = tuple(self._pieces(current, scenario))
        name = next(piece.document["name"] for piece in pieces if piece.kind == "scenario")
        refuse_taken_name(current, name, current.scenarios.index(scenario), scenario)
        before = current.pieces[scenario.key]
        same_parent = before.document.get("parent") == pieces[0].document.get("parent")
        try:
            following = current.with_plan(scenario, *pieces) if same_parent else current.with_pieces(*pieces)
        except HouseholdFaults as refused:
            raise HouseholdFaults(naming_plans(current, refused.faults, scenario)) from refused
        now = [before, *current.runs_of(scenario)]
        inverse = PlanAsThen(**self.next_envelope(), scenario_key=scenario.key, parts=as_parts(now))
        words = {"name": name}
        return Outcome(following, pieces, self, inverse, words, words, scenario.key)

    def _pieces(self, current: StoredHousehold, scenario: StoredScenario) -> Iterator[Piece]:
        """The plan's own piece, then its runs, those that go too."""
        revision = current.revision + 1
        parts = {part["key"]: part for part in self.parts}
        own = parts[scenario.key]
        # Its place among the plans is the household's matter and stays.
        yield replace(current.pieces[scenario.key], document=own["document"], revision=revision)
        for key, part in parts.items():
            if key != scenario.key:
                was = {name: part[name] for name in ("name", "position", "document", "removed")}
                yield Piece(key=key, within_key=scenario.key, kind="run", revision=revision, **was)
        for run in current.runs_of(scenario):
            if run.key not in parts and not run.removed:
                yield replace(run, removed=True, revision=revision)


def as_parts(pieces: Iterable[Piece]) -> list[dict[str, Any]]:
    """A plan's pieces, itself first, as `PlanAsThen` takes them."""
    names = ("key", "name", "position", "document", "removed")
    return [{name: getattr(piece, name) for name in names} for piece in pieces]
