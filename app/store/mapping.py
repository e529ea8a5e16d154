"""A household file in parts and whole again: explicit, and exact to the order of fields and explicit nulls.

What is left of the file, of the supply or of a plan when its parts are taken out keeps a place for each of
them, so that putting together fills places and never has to guess:

    file       one, with empty lists for appliances and plans and null for each section
    section    site, any_time, interlocks, formats
    supply     one for each field of the supply
    appliance  one for each library entry
    scenario   one for each plan, without its runs
    run        what a plan itself says about one run: the run or, in a plan with a parent, the patch of it;
               null takes out a run of the parent's, and {} says nothing

Beside the file a household keeps

    weather    one for each record of sun, by its key, with what people call it; its days are in a table of their own
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, Literal, cast

from sqlalchemy import Row

from app.store.keys import new_key, run_key

Kind = Literal["file", "section", "supply", "appliance", "scenario", "run", "weather"]
SECTIONS = ("site", "any_time", "interlocks", "formats")


@dataclass(frozen=True, slots=True)
class Piece:
    """One part of a stored household.

    within_key: the household or, for a run, its plan.
    name: the part's own id or field name in the file.
    revision: the household's count of changes when this part was last changed.
    document: its JSON, not to be changed in place.
    removed: a part that was taken out; it keeps its place for the case that it comes back.
    """

    key: str
    within_key: str
    kind: Kind
    name: str
    position: int
    revision: int
    document: Any
    removed: bool = False


def piece_of(row: Row[Any]) -> Piece:
    """A row of the part table as a piece."""
    return Piece(
        key=row.key,
        within_key=row.within_key,
        kind=cast(Kind, row.kind),
        name=row.name,
        position=row.position,
        revision=row.revision,
        document=row.document,
        removed=row.removed,
    )


def row_of(piece: Piece, household_key: str) -> dict[str, Any]:
    """A piece as a row of the part table."""
    return {
        "key": piece.key,
        "household_key": household_key,
        "within_key": piece.within_key,
        "kind": piece.kind,
        "name": piece.name,
        "position": piece.position,
        "revision": piece.revision,
        "document": piece.document,
        "removed": piece.removed,
    }


def take_apart(document: dict[str, Any], household_key: str, revision: int) -> list[Piece]:
    """The parts of a household file that has been checked; the document stays as it is."""
    frame = dict(document)

    def piece(kind: Kind, name: str, position: int, value: Any) -> Piece:
        return Piece(new_key(), household_key, kind, name, position, revision, value)

    pieces = []
    for position, name in enumerate(SECTIONS):
        if frame.get(name) is not None:
            pieces.append(piece("section", name, position, frame[name]))
            frame[name] = None
    for position, (name, value) in enumerate(document["supply"].items()):
        if value is not None:
            pieces.append(piece("supply", name, position, value))
    frame["supply"] = dict.fromkeys(document["supply"])
    for position, appliance in enumerate(document["appliances"]):
        pieces.append(piece("appliance", appliance["id"], position, appliance))
    frame["appliances"] = []
    for position, scenario in enumerate(document["scenarios"]):
        pieces += take_plan_apart(scenario, household_key, position, revision)
    frame["scenarios"] = []
    return [piece("file", "", 0, frame), *pieces]


def take_plan_apart(scenario: dict[str, Any], household_key: str, position: int, revision: int) -> list[Piece]:
    """The parts of a plan that has been checked, itself first; the document stays as it is."""
    own = Piece(new_key(), household_key, "scenario", scenario["id"], position, revision, _without_runs(scenario))
    return [own, *_runs_of(scenario, own.key, revision)]


def _without_runs(scenario: dict[str, Any]) -> dict[str, Any]:
    own = dict(scenario)
    if own.get("runs"):
        own["runs"] = []
    if patches := _patches(scenario):
        places: dict[str, Any] = {run_id: None if patch is None else {} for run_id, patch in patches.items()}
        own["changes"] = {**scenario["changes"], "runs": places}
    return own


def _runs_of(scenario: dict[str, Any], scenario_key: str, revision: int) -> Iterator[Piece]:
    # A null patch deletes the run and an empty one says nothing; the place the plan keeps holds both.
    patches = [(run_id, patch) for run_id, patch in _patches(scenario).items() if patch]
    runs = [(run["id"], run) for run in scenario.get("runs") or []]
    for position, (run_id, run) in enumerate(runs or patches):
        yield Piece(run_key(scenario_key, run_id), scenario_key, "run", run_id, position, revision, run)


def _patches(scenario: dict[str, Any]) -> dict[str, Any]:
    return (scenario.get("changes") or {}).get("runs") or {}


def put_together(pieces: Iterable[Piece]) -> dict[str, Any]:
    """The household file of which these are the parts; what was removed is left out."""
    by_kind: dict[str, list[Piece]] = {}
    for piece in sorted(pieces, key=lambda piece: piece.position):
        # What a plan says of a run that was removed is the plan's own matter.
        if piece.kind == "run" or not piece.removed:
            by_kind.setdefault(piece.kind, []).append(piece)
    runs: dict[str, list[Piece]] = {}
    for run in by_kind.get("run", []):
        runs.setdefault(run.within_key, []).append(run)

    document = dict(by_kind["file"][0].document)
    document["supply"] = document["supply"] | {one.name: one.document for one in by_kind["supply"]}
    document |= {section.name: section.document for section in by_kind["section"]}
    document["appliances"] = [appliance.document for appliance in by_kind.get("appliance", [])]
    document["scenarios"] = [
        plan_document(scenario, runs.get(scenario.key, [])) for scenario in by_kind.get("scenario", [])
    ]
    return document


def plan_document(plan: Piece, runs: Iterable[Piece]) -> dict[str, Any]:
    """A plan as the file has it, out of its piece and the pieces of its runs in their order."""
    scenario: dict[str, Any] = plan.document
    said, removed = {}, set()
    for run in runs:
        if run.removed:
            removed.add(run.name)
        else:
            said[run.name] = run.document
    if scenario.get("parent") is None:
        given = list(said.values())
        return scenario | {"runs": given} if given else scenario
    changes = scenario.get("changes") or {}
    places = changes.get("runs") or {}
    patches = {name: said.get(name, place) for name, place in places.items() if name not in removed}
    # A patch that has no place and says nothing any more leaves the plan as if it had never been made.
    patches |= {name: patch for name, patch in said.items() if patch != {} or name in places}
    return scenario | {"changes": changes | {"runs": patches}} if patches or places else scenario
