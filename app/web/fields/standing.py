"""Where a stage stands that a form showed: another page may have added, split, moved or taken out stages meanwhile.

A form carries a mark of every stage as it was shown, in their order, and the place of its own. A stage without a
change is told by its mark, wherever it stands now. One whose figures were changed meanwhile is known only by its
unchanged neighbours, and by what else of it is as it was.
"""

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from difflib import SequenceMatcher
from typing import Any

MARK_LENGTH = 8
_BETWEEN = "."

Stage = Mapping[str, Any]


def marks_of(stages: Sequence[Stage]) -> str:
    """The marks of stages as the file has them, as a form carries them."""
    return _BETWEEN.join(map(_mark, stages))


def place_now(marks: str, place: int, stages: Sequence[Stage], akin: Callable[[Stage], bool]) -> int | None:
    """Where the stage stands now that was shown at a place; None if that is not sure.

    marks: of all stages as they were shown. akin: whether a stage may be the one that was shown, with other figures.
    """
    shown, present = marks.split(_BETWEEN), [_mark(stage) for stage in stages]
    if not 0 <= place < len(shown):
        return None
    own = shown[place]
    if own in present:
        return _among_alike(own, shown, present, place)
    for what, begin, end, there, there_end in SequenceMatcher(None, shown, present, autojunk=False).get_opcodes():
        if what == "replace" and (begin, end, there_end) == (place, place + 1, there + 1):
            return there if akin(stages[there]) else None
    return None


def _among_alike(own: str, shown: list[str], present: list[str], place: int) -> int | None:
    """The same of several that are alike: told by their order while there are as many as there were."""
    now = [there for there, mark in enumerate(present) if mark == own]
    if len(now) == shown.count(own):
        return now[shown[:place].count(own)]
    # One of them was changed or went: sure is only what stands where it stood, among stages that stand there too.
    return place if len(shown) == len(present) and present[place] == own else None


def _mark(stage: Stage) -> str:
    told = json.dumps(stage, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(told.encode()).hexdigest()[:MARK_LENGTH]
