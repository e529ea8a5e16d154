"""Laundry day as a job: JSON in, JSON out, so that another process can do it and a restart can go on from it."""

from collections.abc import Callable
from dataclasses import asdict
from typing import Any

from app.household.errors import HouseholdFaults
from app.household.file import household_from
from app.planner.laundry.found import Proposal, Stuck
from app.planner.laundry.search import search
from app.planner.laundry.wish import Wish

Json = dict[str, Any]


def laundry_work(order: Json, report: Callable[[Json], bool]) -> Json:
    """Search a day.

    order: `household` (a household file), `scenario`, `wish` (`wish_document`), `seconds`, `seed`, and `begin`, the
    starts to go on from, or None. report: told what `found_document` says, and `state` "searching" while there is
    nothing; returning False ends the search.
    Returns the same, or for a wish that cannot be `state` "refused" with `faults`: (path, message) each.
    """
    wish = wish_from(order["wish"])
    best: list[Json] = []

    def told(proposal: Proposal | None, bound_wh: float) -> bool:
        if proposal is None:
            return report({"state": "searching", "cannot_be_below_wh": bound_wh})
        best[:] = [found_document(proposal)]
        return report(best[0])

    try:
        household = household_from(order["household"])
        found = search(
            household, order["scenario"], wish, seconds=order["seconds"], seed=order["seed"], report=told,
            begin=order.get("begin"),
        )  # fmt: skip
    except HouseholdFaults as refused:
        return {"state": "refused", "faults": [[fault.path, fault.why] for fault in refused.faults]}
    return found_document(found)


def wish_document(wish: Wish) -> Json:
    """A wish as JSON."""
    return asdict(wish)


def wish_from(document: Json) -> Wish:
    """The wish of `wish_document`."""
    return Wish(
        tuple(document["movable"]), tuple((one[0], one[1]) for one in document.get("quiet", ())),
        document.get("not_before"), document.get("done_by"), bool(document.get("chance", False)),
    )  # fmt: skip


def found_document(found: Proposal | Stuck) -> Json:
    """What a search found, as JSON: without its assessment, which is worked out again from the starts."""
    if isinstance(found, Proposal):
        return {
            "state": "found", "starts": dict(found.starts), "through_bank_wh": found.through_bank_wh,
            "cannot_be_below_wh": found.cannot_be_below_wh, "proven": found.proven, "finish_ms": found.finish_ms,
            "tightest": found.tightest,
        }  # fmt: skip
    return {
        "state": "stuck", "limit": found.limit, "runs": list(found.runs),
        "easings": [
            {"kind": one.kind, "run": one.run, "clock": one.clock, "starts": dict(one.proposal.starts)}
            for one in found.easings
        ],
    }  # fmt: skip
