"""A form's fields as they stand on the page: what is stored, or what was typed and could not be."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from pydantic import BaseModel

from app.household.paths import value_at
from app.web.fields.customary import in_degrees
from app.web.fields.customs import Customs
from app.web.fields.entry import Entry, Field, Points, facts
from app.web.fields.measure import Words
from app.web.fields.reading import WAS, Typed, choice_text, points_text

SPARE_LINES = 1
NOT_GIVEN = "not given"  # for who may only look, where nothing holds instead either


@dataclass(frozen=True, slots=True)
class OptionView:
    """One choice."""

    value: str  # as the form sends it
    words: str  # as it is read
    chosen: bool  # it is the one


@dataclass(frozen=True, slots=True)
class CellView:
    """One figure of a line."""

    name: str  # in the form
    label: str  # over its column
    value: str  # what stands in it
    unit: str  # beside it; may be empty
    options: tuple[OptionView, ...]  # what may be chosen, where it is a choice


@dataclass(frozen=True, slots=True)
class FieldView:
    """One field of edit/_fields.html."""

    id: str  # in the page
    name: str  # in the form
    label: str  # what it is called
    kind: str  # text, choice or points
    value: str  # what stands in it
    was: str  # what stood in it when it was shown
    unit: str  # beside it; may be empty
    blank: str  # what holds while it is empty; may be empty
    help: str  # where the figure is found
    caution: str  # what may hurt, at this place; may be empty
    messages: tuple[str, ...]  # what is wrong with it
    options: tuple[OptionView, ...]  # of a choice
    lines: tuple[tuple[CellView, ...], ...]  # of a list
    long: bool  # a text, which needs the room
    rare: bool  # folded away with others that have a usual value
    others: tuple[str, ...] = ()  # what plans have in its place
    doubt: str = ""  # why it is hardly meant

    @property
    def told(self) -> str:
        """The figure as it stands, in words, for who may only look."""
        if self.kind == "choice":
            return next((one.words for one in self.options if one.chosen), NOT_GIVEN)
        return _with_unit(self.value, self.unit) or self.blank or NOT_GIVEN

    @property
    def told_lines(self) -> tuple[tuple[str, ...], ...]:
        """Its lines in words, without those that stand ready to be filled in."""
        given = (line for line in self.lines if any(cell.value for cell in line))
        return tuple(tuple(map(_cell_told, line)) for line in given)


def show_fields(
    fields: Iterable[Field],
    document: Any,
    model: type[BaseModel],
    customs: Customs,
    dom_id: str,
    typed: Typed | None = None,
    messages: Mapping[str, tuple[str, ...]] | None = None,
    others: Mapping[str, tuple[str, ...]] | None = None,
    doubts: Mapping[str, str] | None = None,
) -> tuple[FieldView, ...]:
    """Fields with the figures of a document, or with what was typed.

    document: the part, or piece of one, that the fields are of, as the file has it. dom_id: begins their ids.
    others: by path, what plans have in the place of a figure. doubts: by path, why a figure is hardly meant. One that
    has either is not folded away.
    """
    shown = (
        _field(field, document or {}, model, customs, dom_id, typed or {}, (messages or {}).get(field.path, ()))
        for field in fields
    )
    return tuple(_with_more(one, (others or {}).get(one.name, ()), (doubts or {}).get(one.name, "")) for one in shown)


def _with_more(field: FieldView, others: tuple[str, ...], doubt: str) -> FieldView:
    """A field with what is said beside it; what is refused is no longer doubted."""
    doubt = "" if field.messages else doubt
    return replace(field, others=others, doubt=doubt, rare=False) if others or doubt else field


def show_choice(field: Entry, form: str, chosen: str, present: str, messages: tuple[str, ...] = ()) -> FieldView:
    """A choice that is no field of the part by itself. present: what is stored, as the form sends it."""
    return FieldView(
        id=f"{form}-{field.path}", name=field.path, label=field.label, kind="choice", value=chosen, was=present,
        unit="", blank="", help=field.help, caution=field.caution, messages=messages,
        options=_options(field.choices, chosen), lines=(), long=False, rare=False,
    )  # fmt: skip


def _field(
    field: Field,
    document: Any,
    model: type[BaseModel],
    customs: Customs,
    dom_id: str,
    typed: Typed,
    messages: tuple[str, ...],
) -> FieldView:
    common: dict[str, Any] = {
        "id": f"{dom_id}-{field.path.replace('.', '-')}",
        "name": field.path,
        "label": field.label,
        "help": in_degrees(field.help, customs),
        "caution": in_degrees(field.caution, customs),
        "messages": messages,
        "rare": field.rare,
    }
    stored = _at(document, field.path)
    if isinstance(field, Points):
        shown = [_line(field, point, customs) for point in stored or ()]
        sent = [typed.get(f"{field.path}.{number}", ()) for number in range(len(field.columns))]
        lines: Sequence[Sequence[str]] = list(zip(*sent, strict=False)) if any(sent) else shown
        lines = [line for line in lines if any(text.strip() for text in line)]
        lines = [*lines, *[("",) * len(field.columns)] * SPARE_LINES]
        return FieldView(
            **common, kind="points", value="", was=points_text(shown), unit="",
            blank=in_degrees(field.blank, customs), options=(),
            lines=tuple(_cells(field, line, customs) for line in lines), long=False,
        )  # fmt: skip
    known = facts(model, field.path)
    if field.choices:
        present = choice_text(known.default if stored is None else stored)
        # What is no choice, or none any more, cannot stay: then what is stored stands there.
        known_texts = {choice_text(value) for value, _ in field.choices}
        chosen = next((text for text in typed.get(field.path, ()) if text in known_texts), present)
        options = _options(field.choices, chosen)
        return FieldView(
            **common, kind="choice", value=chosen, was=present, unit="", blank="", options=options, lines=(), long=False
        )
    assert field.measure is not None  # a field is a choice or has a measure
    was = "" if stored is None else field.measure.show(stored, customs)
    unit = field.measure.unit_shown(customs)
    return FieldView(
        **common, kind="text", value=next(iter(typed.get(field.path, ())), was),
        was=next(iter(typed.get(WAS + field.path, ())), was) if field.path in typed else was, unit=unit,
        blank=_blank(field, known.default, customs), options=(), lines=(), long=isinstance(field.measure, Words),
    )  # fmt: skip


def _cell_told(cell: CellView) -> str:
    return next((one.words for one in cell.options if one.chosen), _with_unit(cell.value, cell.unit))


def _with_unit(value: str, unit: str) -> str:
    return f"{value}\u00a0{unit}" if value and unit else value


def _blank(field: Entry, default: Any, customs: Customs) -> str:
    """What holds while the field is empty."""
    if field.blank or field.measure is None or not isinstance(default, int | float) or isinstance(default, bool):
        return in_degrees(field.blank, customs)
    return f"{field.measure.show(default, customs)} {field.measure.unit_shown(customs)}".strip()


def _line(field: Points, point: Any, customs: Customs) -> tuple[str, ...]:
    figures = [point.get(key) for key in field.keys] if field.keys else list(point)
    figures += [None] * (len(field.columns) - len(figures))
    return tuple(
        "" if figure is None else column.measure.show(figure, customs) if column.measure else str(figure)
        for column, figure in zip(field.columns, figures, strict=True)
    )


def _cells(field: Points, line: Sequence[str], customs: Customs) -> tuple[CellView, ...]:
    return tuple(
        CellView(
            name=f"{field.path}.{number}",
            label=column.label,
            value=text,
            unit=column.measure.unit_shown(customs) if column.measure else "",
            options=tuple(
                OptionView(choice_text(value), words, choice_text(value) == text) for value, words in column.choices
            ),
        )
        for number, (column, text) in enumerate(zip(field.columns, line, strict=True))
    )


def _options(choices: Iterable[tuple[Any, str]], chosen: str) -> tuple[OptionView, ...]:
    return tuple(OptionView(choice_text(value), words, choice_text(value) == chosen) for value, words in choices)


def _at(document: Any, path: str) -> Any:
    return value_at(document, [int(step) if step.isdecimal() else step for step in path.split(".")])
