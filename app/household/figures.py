"""Where each figure of a typical appliance comes from.

They are told by patterns: `heat.watts` for one figure of the stages named heat, `*.start` for all that
belongs to any start, `*` for the rest. The first that fits a figure tells it; none may be left untold.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import Field

from app.household.fields import Fraction, Note, Pair, Part, Text
from app.household.words import path_of

# What rests on no published source says so, in these words.
COMMON_PRACTICE = "common practice, no source"
OWN_ESTIMATE = "own estimate"


class Telling(Part):
    """What is said of all figures that fit one of the patterns `of`; `source` is a key or one of the two above."""

    of: Annotated[tuple[Text, ...], Pair, Field(min_length=1)]
    spread: Fraction
    source: Text
    note: Note | None = None


@dataclass(frozen=True, slots=True)
class Figure:
    """One number of an appliance.

    path: its place in the appliance, `stages[1].start.va`; value: in the unit of its name.
    spread: plus or minus, as a fraction of the value; source: a source's key, or what it rests on without one.
    """

    path: str
    value: float
    spread: float
    source: str
    note: str | None


def told(stages: Sequence[Mapping[str, Any]], tellings: Sequence[Telling]) -> tuple[Figure, ...]:
    """Every number of these stages, in the file's form, with what is said of it.

    Raises ValueError, naming them, for numbers that nothing is said of and for patterns that fit none.
    """
    idle = {pattern for telling in tellings for pattern in telling.of}
    figures, untold = [], []
    for place, stage in enumerate(stages):
        for field, value in _numbers(stage):
            path = path_of(["stages", place, *field])
            fitting = _first(tellings, str(stage["name"]), path.partition(".")[2])
            if fitting is None:
                untold.append(path)
                continue
            telling, pattern = fitting
            idle.discard(pattern)
            figures.append(Figure(path, value, telling.spread, telling.source, telling.note))
    if untold or idle:
        raise ValueError(f"nothing is said of {untold}; nothing is there for {sorted(idle)}")
    return tuple(figures)


def _numbers(part: Any, way: tuple[int | str, ...] = ()) -> Iterator[tuple[tuple[int | str, ...], float]]:
    """Each number of a part and the way to it."""
    if isinstance(part, Mapping):
        for name, inner in part.items():
            yield from _numbers(inner, (*way, name))
    elif isinstance(part, list):
        for place, inner in enumerate(part):
            yield from _numbers(inner, (*way, place))
    elif isinstance(part, int | float) and not isinstance(part, bool):
        yield way, part


def _first(tellings: Sequence[Telling], stage: str, field: str) -> tuple[Telling, str] | None:
    for telling in tellings:
        for pattern in telling.of:
            named, _, begin = pattern.partition(".")
            if named in ("*", stage) and (not begin or field == begin or field.startswith(f"{begin}.")):
                return telling, pattern
    return None
