"""Which plans are to stand side by side, as an address says it, and what is wrong with that."""

from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from starlette.datastructures import QueryParams

from app.charts.side_by_side import LETTERS
from app.store.stored import StoredHousehold, StoredScenario
from app.web.words import side_by_side as words

MOST = len(LETTERS)


@dataclass(frozen=True)
class Asked:
    """plans: the open one first. counted_from, beside: places of the plan differences are counted from, and of the one
    a phone shows next to it. needs, ways: what takes a while is wanted. notices: what was wrong; gone: keys
    of plans that were deleted; status: of the answer.
    """

    plans: tuple[StoredScenario, ...]
    counted_from: int
    beside: int
    needs: bool
    ways: bool
    notices: tuple[str, ...]
    gone: tuple[str, ...]
    status: int

    def query(self, plans: Sequence[StoredScenario] | None = None, /, **more: str) -> str:
        """The end of an address that shows the same. plans: others. more: what else it says, empty for not."""
        shown = self.plans if plans is None else plans
        kept = [one for one in (self.plans[self.counted_from], self.plans[self.beside]) if one in shown]
        said = {"from": kept[0].key if kept else "", "to": kept[1].key if len(kept) > 1 else ""}
        said |= {"needs": "1" if self.needs else "", "ways": "1" if self.ways else ""} | more
        others = [one.key for one in shown[1:]] or [""]  # an empty one: alone, and not beside what is nearest
        pairs = [("with", key) for key in others] + [(name, value) for name, value in said.items() if value]
        return f"?{urlencode(pairs)}"


def asked(stored: StoredHousehold, scenario: StoredScenario, params: QueryParams) -> Asked:
    """Read an address. What it names that cannot be is left out and said."""
    keys = [one for one in params.getlist("with") if one]
    notices: dict[str, int] = {}
    gone: list[str] = []
    plans = [scenario]
    for key in keys[:20]:
        found = stored.scenario(key)
        if found is None:
            piece = stored.pieces.get(key)
            if piece is not None and piece.kind == "scenario":
                gone.append(key)
            else:
                notices[words.UNKNOWN] = 404
        elif found in plans:
            notices[words.ITSELF if found is scenario else words.TWICE] = 422
        elif len(plans) == MOST:
            notices[words.TOO_MANY] = 422
        else:
            plans.append(found)
    if "with" not in params:
        plans += nearest(stored, scenario)[:1]
    counted_from = _place(plans, params.get("from", ""), 0)
    if counted_from is None:
        notices[words.NOT_SHOWN.format(name=plans[0].name)] = 422
        counted_from = 0
    others = [place for place in range(len(plans)) if place != counted_from]
    beside = _place(plans, params.get("to", ""), others[0] if others else 0)
    if beside is None or beside == counted_from:
        beside = others[0] if others else 0
    return Asked(
        plans=tuple(plans),
        counted_from=counted_from,
        beside=beside,
        needs=params.get("needs") == "1",
        ways=params.get("ways") == "1",
        notices=tuple(notices),
        gone=tuple(dict.fromkeys(gone)),
        status=410 if gone else next(iter(notices.values()), 200),
    )


def nearest(stored: StoredHousehold, scenario: StoredScenario) -> list[StoredScenario]:
    """What a plan is most likely to be held beside: what it is built on, then what is built on it."""
    by_id = {one.id: one for one in stored.scenarios}
    parents = {one.id: one.parent for one in stored.household.scenarios}
    parent = parents[scenario.id]
    return [
        *([by_id[parent]] if parent is not None else []),
        *(one for one in stored.scenarios if parents[one.id] == scenario.id),
    ]


def _place(plans: Sequence[StoredScenario], key: str, default: int) -> int | None:
    if not key:
        return default
    return next((place for place, one in enumerate(plans) if one.key == key), None)
