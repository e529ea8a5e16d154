"""What taking a laundry day, or part of it, changes in the plan."""

from collections.abc import Collection, Mapping
from typing import Any

from app.household.fields import wall_clock_s
from app.household.resolve import Resolved
from app.household.scenario import Run
from app.web.forms.laundry_wish import Wished

Fields = dict[str, Any]
_REMEMBERED = ("window", "after", "within_s", "duration_s")  # of the wish, in the run itself


def changes_of(
    resolved: Resolved, wanted: Wished, starts: Mapping[str, str]
) -> tuple[dict[str, Fields], dict[str, Fields]]:
    """What becomes of the plan's runs, by id, and the new runs, by the keys of their loads; what stays is left out.

    resolved: the plan as it is. starts: of every load, HH:MM.
    """
    present = {run.id: run for run in resolved.day.runs}
    wished = {run.id: run for run in wanted.household.scenarios[0].runs}
    runs: dict[str, Fields] = {run.id: {"on": False} for run in wanted.dropped}
    new: dict[str, Fields] = {}
    for load in wanted.loads:
        if load.key not in starts:
            continue
        document = _document(wished[load.key]) | {"start": starts[load.key]}
        if load.run is None:
            new[load.key] = {"appliance": load.appliance.id} | {
                name: value for name, value in document.items() if value is not None
            }
        elif fields := _differences(present[load.key], document):
            runs[load.key] = fields
    return runs, new


def not_without(wanted: Wished, starts: Mapping[str, str], ticked: Collection[str]) -> dict[str, str]:
    """Of what is ticked what follows a new load that is not, by keys: without that it cannot be taken."""
    new = {load.key for load in wanted.loads if load.run is None}
    return {
        load.key: load.after
        for load in wanted.loads
        if load.key in ticked and load.key in starts and load.after in new and load.after not in ticked
    }


def _document(run: Run) -> Fields:
    document = run.document()
    return {name: document.get(name) for name in _REMEMBERED}


def _differences(run: Run, wanted: Fields) -> Fields:
    before = _document(run)
    found = {name: value for name, value in wanted.items() if name != "start" and _is_other(before[name], value)}
    moved = wall_clock_s(run.start) != wall_clock_s(wanted["start"])
    return ({"start": wanted["start"]} if moved else {}) | found


def _is_other(before: Any, after: Any) -> bool:
    if isinstance(before, list) and isinstance(after, list):
        return [wall_clock_s(one) for one in before] != [wall_clock_s(one) for one in after]
    return bool(before != after)
