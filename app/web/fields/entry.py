"""One field of a form: which figure of the file it is, what it is called, where the figure is found."""

import functools
import types
from dataclasses import dataclass, replace
from typing import Annotated, Any, Union, get_args, get_origin

from annotated_types import Ge, Gt, Le, Lt, MaxLen
from pydantic import BaseModel, TypeAdapter
from pydantic.fields import FieldInfo

from app.web.fields.measure import Measure


@dataclass(frozen=True)
class Entry:
    """A field for one value.

    path: inside its part of the file, `cycle.on_s`. label: as people call it. help: where the figure is found.
    measure: how it is typed; None for a choice or a yes. choices: what may be chosen, each with its words.
    blank: what holds while it is left empty, where the file's own default needs other words.
    caution: what may hurt, at this place. rare: it has a usual value that does for most, and stands folded away.
    needed: it has to be given here, whatever the file says of it elsewhere.
    """

    path: str
    label: str
    help: str = ""
    measure: Measure | None = None
    choices: tuple[tuple[Any, str], ...] = ()
    blank: str = ""
    caution: str = ""
    rare: bool = False
    needed: bool = False


@dataclass(frozen=True)
class Column:
    """One figure of a line of a list. optional: it may be left out. choices: in place of a measure."""

    label: str
    measure: Measure | None = None
    optional: bool = False
    choices: tuple[tuple[Any, str], ...] = ()


@dataclass(frozen=True)
class Points:
    """A field for a curve, or another list of lines of figures.

    blank: what holds without any. keys: names of a line's figures, where the file has objects and not plain lists.
    rises: the first figure of each line is larger than that of the line before.
    """

    path: str
    label: str
    columns: tuple[Column, ...]
    help: str = ""
    blank: str = ""
    caution: str = ""
    keys: tuple[str, ...] = ()
    rises: bool = True
    rare: bool = False


Field = Entry | Points


@dataclass(frozen=True, slots=True)
class Facts:
    """What the file says of a field: its bounds, whether it has to be given, and what holds if it is not."""

    required: bool
    default: Any
    least: float | None = None
    above: float | None = None
    most: float | None = None
    below: float | None = None

    def too_small(self, value: float) -> bool:
        """Below what may be given."""
        return (self.least is not None and value < self.least) or (self.above is not None and value <= self.above)

    def too_large(self, value: float) -> bool:
        """Above what may be given."""
        return (self.most is not None and value > self.most) or (self.below is not None and value >= self.below)


@functools.cache
def facts(model: type[BaseModel], path: str) -> Facts:
    """What the file's model says of a field.

    Raises KeyError for a path that is none of it.
    """
    step, _, rest = path.partition(".")
    info = model.model_fields[step]
    if rest:
        if rest.isdecimal():  # a place of a list, of which the file says nothing by itself
            return Facts(required=False, default=None)
        inner = _model_in(info.annotation)
        if inner is None:
            raise KeyError(path)
        # What is needed inside a thing that may be left out is needed only if the rest of that thing is there.
        return replace(facts(inner, rest), required=False)
    default = None if info.is_required() else info.get_default(call_default_factory=True)
    return Facts(info.is_required(), default, **_bounds(_marks(info)))


def facts_of_line(model: type[BaseModel], field: Points) -> tuple[Facts, ...]:
    """What the file's model says of the figures of a line, column by column; fewer where it says nothing of the rest.

    Raises KeyError for a field that is none of it.
    """
    if field.keys:
        return tuple(facts(model, f"{field.path}.{key}") for key in field.keys)
    (of_list,) = _items(model.model_fields[field.path].annotation)
    line = _items(of_list)
    figures = line * len(field.columns) if len(line) == 1 else line
    return tuple(Facts(required=False, default=None, **_bounds(_inner_marks(one))) for one in figures)


def most_lines(model: type[BaseModel], field: Points) -> int | None:
    """How many lines the file takes at most; None where it does not say."""
    marks = _marks(model.model_fields[field.path])
    return min((one.max_length for one in marks if isinstance(one, MaxLen)), default=None)


def _items(annotation: Any) -> tuple[Any, ...]:
    """What a tuple is of, through marks and optional ones; once for one of any length."""
    if get_origin(annotation) is tuple:
        return tuple(one for one in get_args(annotation) if one is not Ellipsis)
    if get_origin(annotation) is Annotated:
        return _items(get_args(annotation)[0])
    if get_origin(annotation) in (Union, types.UnionType):
        return next((found for one in get_args(annotation) if (found := _items(one))), ())
    return ()


def _bounds(marks: list[Any]) -> dict[str, float]:
    bounds: dict[str, float] = {}
    for found in marks:
        for kind, name in ((Ge, "least"), (Gt, "above"), (Le, "most"), (Lt, "below")):
            if isinstance(found, kind):
                value = float(getattr(found, kind.__name__.lower()))
                tightest = max if name in ("least", "above") else min
                bounds[name] = tightest(bounds.get(name, value), value)
    return bounds


@functools.cache
def reader(model: type[BaseModel], path: str) -> TypeAdapter[Any]:
    """What the file reads a field's value with, by itself.

    Raises KeyError for a path that is none of it.
    """
    step, _, rest = path.partition(".")
    info = model.model_fields[step]
    inner = _model_in(info.annotation) if rest else None
    if rest and inner is None:
        raise KeyError(path)
    if inner is not None:
        return reader(inner, rest)
    marked: Any = Annotated[info.annotation, *info.metadata] if info.metadata else info.annotation
    return TypeAdapter(marked)


def _marks(info: FieldInfo) -> list[Any]:
    """Everything a field is annotated with, through optional ones too."""
    return [*info.metadata, *_inner_marks(info.annotation)]


def _inner_marks(annotation: Any) -> list[Any]:
    if get_origin(annotation) is Annotated:
        inner, *marks = get_args(annotation)
        more = [one for mark in marks if isinstance(mark, FieldInfo) for one in mark.metadata]
        return [*_inner_marks(inner), *marks, *more]
    if get_origin(annotation) in (Union, types.UnionType):
        return [mark for one in get_args(annotation) for mark in _inner_marks(one)]
    return []


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((found for one in get_args(annotation) if (found := _model_in(one)) is not None), None)
