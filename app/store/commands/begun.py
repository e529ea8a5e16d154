"""What a household begins with, as one step: its supply, and machines at their usual hours."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from app.store.commands.command import Command, Outcome
from app.store.commands.library import AddAppliance
from app.store.commands.parts import ChangePart
from app.store.commands.placing import AddRun
from app.store.commands.replacing import as_before
from app.store.mapping import Piece
from app.store.stored import StoredHousehold


@dataclass(frozen=True, kw_only=True)
class BeginWith(Command):
    """Take over parts of the supply, and add machines with their runs.

    scenario_key: the plan that gets the runs. supply: parts as the file has them, by their names there.
    machines: each with its `documents`, as `AddAppliance` takes them, and when it runs: at its `start`, or `any_time`.
    """

    scenario_key: str
    supply: dict[str, Any]
    machines: list[dict[str, Any]]

    def subject(self) -> tuple[str, str | None]:
        """The household's beginning."""
        return self.household_key, "begun"

    def overtaken_by(self, sequence: int, done: Mapping[str, Any]) -> bool:
        """By what its page said later; under the same number, a page was gone back to and says something else."""
        return sequence > self.sequence

    def on(self, current: StoredHousehold) -> Outcome:
        """The household with all of it."""
        pieces: dict[str, Piece] = {}
        state = current
        for step in self._of_supply():
            state = _after(step, state, pieces)
        for machine in self.machines:
            before = state
            state = _after(AddAppliance(**self.next_envelope(), documents=machine["documents"]), state, pieces)
            fresh = [one for one in state.pieces.values() if one.kind == "appliance" and one.key not in before.pieces]
            added = min(fresh, key=lambda piece: piece.position).name
            for use in self._use(machine, added, state):
                state = _after(use, state, pieces)
        changed = tuple(replace(piece, revision=current.revision + 1) for piece in pieces.values())
        words = {"begun": len(self.machines)}
        return Outcome(
            current.with_pieces(*changed), changed, self, as_before(self, current, changed), words, words, None
        )

    def _of_supply(self) -> Iterator[Command]:
        for name, figures in self.supply.items():
            yield ChangePart(**self.next_envelope(), kind="supply", name=name, changes=[[[], figures]])

    def _use(self, machine: dict[str, Any], added: str, state: StoredHousehold) -> Iterator[Command]:
        if machine.get("any_time"):
            changes = [[[], [*state.household.any_time, added]]]
            yield ChangePart(**self.next_envelope(), kind="section", name="any_time", changes=changes)
        elif machine.get("start") is not None:
            run = {"appliance": added, "start": machine["start"]}
            yield AddRun(**self.next_envelope(), scenario_key=self.scenario_key, document=run)


def _after(step: Command, state: StoredHousehold, pieces: dict[str, Piece]) -> StoredHousehold:
    """The household after a step, whose pieces are noted."""
    outcome = step.on(state)
    pieces.update((piece.key, piece) for piece in outcome.changed)
    return outcome.household
