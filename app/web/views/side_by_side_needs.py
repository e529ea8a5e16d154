"""What each of several plans needs at least, side by side."""

from collections.abc import Sequence

from app.engine.results import Verdict
from app.planner.needs.found import Need
from app.web.views.side_by_side import Row
from app.web.views.side_by_side_rows import Plans, blank_cell, plain_cell
from app.web.words import needs as need_said
from app.web.words import side_by_side as said


def need_rows(plans: Plans, needs: Sequence[Sequence[Need]], counted_from: int, off: Sequence[bool]) -> tuple[Row, ...]:
    """What each plan needs at least, figure by figure."""
    rows = []
    for what in dict.fromkeys(need.what for found in needs for need in found):
        mine = [next((need for need in found if need.what == what), None) for found in needs]
        name, cells = "", []
        for place, (need, (resolved, _)) in enumerate(zip(mine, plans, strict=True)):
            if need is None:
                cells.append(blank_cell(off[place]))
                continue
            told = need_said.need_words(need, resolved)
            name, other, difference = told.name, mine[counted_from], said.COUNTED
            if place != counted_from:
                known = other is not None and other.least is not None and need.least is not None
                difference = said.signed(need.least - other.least, need.unit) if known else ""  # type: ignore[operator, union-attr]
            verdict: Verdict = "fits" if need.enough else "tight" if need.limit == "midnight" else "over"
            cells.append(plain_cell(told.least, told.has, verdict, told.enough, difference, off[place]))
        rows.append(Row(name, "", tuple(cells)))
    return tuple(rows)


def need_lines(plans: Plans, letters: str, needs: Sequence[Sequence[Need]]) -> tuple[str, ...]:
    """How each was found, a line for each plan and figure."""
    lines = []
    for letter, (resolved, _), found in zip(letters, plans, needs, strict=False):
        for need in found:
            told = need_said.need_words(need, resolved)
            lines.append(f"{letter}, {told.name[:1].lower()}{told.name[1:]}: {told.how}")
    return tuple(lines)
