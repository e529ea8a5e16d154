"""Whose supply and library an editor's page shows and changes: the household's own, or those of one plan alone.

For one plan alone the page shows a household that is as that plan has it, and what is stored is the plan's change.
"""

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from starlette.requests import Request

from app.household.merge import merge_diff
from app.household.scenario import Changes, Scenario
from app.household.single import single
from app.household.whatif import ground_of
from app.store.commands import AddAppliance, BeginWith, ChangePart, ChangeWhatIf, Command
from app.store.commands.library import fresh_entries
from app.store.commands.parts import PartKind, changed, document_of, part_named, title_of
from app.store.keys import run_key
from app.store.mapping import Kind, Piece
from app.store.stored import StoredHousehold, StoredScenario
from app.web.editing import open_plan, opened
from app.web.planned import planned
from app.web.views.editing import WhoseView
from app.web.words import whatif as words
from app.web.words.whatif import ground_name

ALONE = "alone"
_GROUND = "ground"


@dataclass(frozen=True)
class Edited:
    """What an editor's page is about.

    stored, scenario: the household as it is, and the open plan. alone: what is edited is that plan's alone.
    """

    stored: StoredHousehold
    scenario: StoredScenario
    alone: bool

    @cached_property
    def shown(self) -> StoredHousehold:
        """The household whose figures are shown."""
        return _as_in_the_plan(self.stored, self.scenario) if self.alone else self.stored

    @property
    def asked(self) -> dict[str, str]:
        """What the page's address says of it."""
        return {ALONE: "1"} if self.alone else {}

    @property
    def query(self) -> str:
        """The same as the end of an address."""
        return f"?{ALONE}=1" if self.alone else ""

    def after(self, stored: StoredHousehold) -> "Edited":
        """The same page's, of another state of the household."""
        return replace(self, stored=stored, scenario=stored.nearest(self.scenario.key) or self.scenario)

    def command(
        self, about: dict[str, Any], kind: PartKind, name: str, changes: list[list[Any]], what: str | None = None
    ) -> Command:
        """The command that gives some figures of a part. Parameters as of `ChangePart`; about: from whom it comes."""
        if not self.alone:
            return ChangePart(**about, kind=kind, name=name, changes=changes, what=what)
        own: dict[str, Any] = {"scenario_key": self.scenario.key, "what": what}
        if kind == "supply":
            return ChangeWhatIf(**about, **own, supply=[[[name, *path], value] for path, value in changes])
        piece = self.appliance(name)
        assert piece is not None  # its page was shown
        document = piece.document
        for path, value in changes:
            document = changed(document, path, value)
        return ChangeWhatIf(**about, **own, appliances=[document], title=title_of(piece))

    def following(self, about: dict[str, Any], parts: dict[str, list[list[Any]]]) -> Command:
        """The command that gives figures of one part of the supply, the first, with what follows from them in others.

        parts: by part, changes as of `ChangePart`.
        """
        if len(parts) == 1:
            ((part, changes),) = parts.items()
            return self.command(about, "supply", part, changes)
        if self.alone:
            every = [[[name, *path], value] for name, changes in parts.items() for path, value in changes]
            return ChangeWhatIf(**about, scenario_key=self.scenario.key, supply=every)
        documents = {name: document_of(self.stored, "supply", name) for name in parts}
        for name, changes in parts.items():
            for path, value in changes:
                documents[name] = changed(documents[name], path, value)
        return BeginWith(**about, scenario_key=self.scenario.key, supply=documents, machines=[])

    def adding(self, about: dict[str, Any], documents: list[dict[str, Any]]) -> Command:
        """The command that adds entries to the library, the one it is about first. Parameters as of `AddAppliance`."""
        if not self.alone:
            return AddAppliance(**about, documents=documents)
        entries = fresh_entries(self.stored, documents)
        own: dict[str, Any] = {"scenario_key": self.scenario.key, "what": "added", "title": entries[0]["name"]}
        return ChangeWhatIf(**about, **own, appliances=entries)

    def appliance(self, appliance_id: str) -> Piece | None:
        """The entry of an id, if there is one."""
        return part_named(self.shown, "appliance", appliance_id)

    def added_since(self, before: StoredHousehold) -> str | None:
        """The key of the first entry that was not there before; None if none was added."""
        was = replace(self, stored=before).shown.pieces
        fresh = [one for one in self.shown.pieces.values() if one.kind == "appliance" and one.key not in was]
        return min(fresh, key=lambda piece: piece.position).key if fresh else None


def edited(request: Request, household_key: str, scenario_key: str) -> Edited:
    """What the page of an address is about.

    Raises HTTPException 404; 410 for figures of a plan alone that was deleted.
    """
    alone = request.query_params.get(ALONE) == "1"
    find = open_plan if alone else opened
    return Edited(*find(request, household_key, scenario_key), alone)


def _as_in_the_plan(stored: StoredHousehold, scenario: StoredScenario) -> StoredHousehold:
    """The household as one plan has it, with that plan as its own; what it is built on stands beside it as one that
    goes back there, so that editors say what is otherwise as they say it of any plan."""
    resolved = planned(stored, scenario).resolved
    here, ground = resolved.household, ground_of(stored.household, scenario.id)
    supply, appliances = here.supply.document(), [one.document() for one in here.appliances]
    below = Scenario(
        id=f"{_GROUND} {scenario.id}"[:100],
        name=ground_name(stored.household, scenario.id),
        date=resolved.day.date,
        changes=Changes(
            supply=merge_diff(supply, ground.supply),
            appliances=tuple(
                ground.appliances[one["id"]]
                for one in appliances
                if one["id"] in ground.appliances and ground.appliances[one["id"]] != one
            ),
        ),
    )
    alone = single(resolved)
    household = alone.model_copy(update={"scenarios": (*alone.scenarios, below)})
    pieces = [
        *(_piece(stored, scenario, "supply", name, place, value) for place, (name, value) in enumerate(supply.items())),
        *(_piece(stored, scenario, "appliance", one["id"], place, one) for place, one in enumerate(appliances)),
    ]
    return replace(
        stored,
        household=household,
        scenarios=(scenario,),
        run_keys={},
        days={scenario.id: resolved.day},
        pieces={piece.key: piece for piece in pieces},
    )


def _piece(
    stored: StoredHousehold, scenario: StoredScenario, kind: Kind, name: str, place: int, document: Any
) -> Piece:
    """A part as a plan has it, under the key the household's own has; one that only the plan has under its own."""
    there = part_named(stored, kind, name)
    key = there.key if there is not None else run_key(scenario.key, f"{kind} {name}")
    return Piece(key, stored.key, kind, name, place, stored.revision, document)


def whose_view(request: Request, whose: Edited, route: str, **more: str) -> WhoseView:
    """Whose figures a page shows, with the way to the other ones. more: what else its address names."""
    keys = {"household_key": whose.stored.key, "scenario_key": whose.scenario.key}
    here = str(request.app.url_path_for(route, **keys, **more))
    plan, back = whose.scenario.name, str(request.app.url_path_for("what_if", **keys))
    if whose.alone:
        says = words.ALONE.format(plan=plan, ground=ground_name(whose.stored.household, whose.scenario.id))
        return WhoseView(says, True, here, words.TO_OWN, back)
    return WhoseView(words.OWN, False, f"{here}?{ALONE}=1", words.TO_ALONE.format(plan=plan), back)
