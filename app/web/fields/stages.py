"""Stages as forms change them: their figures read, and stages added, split, moved and taken out."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from app.household.appliance import Stage
from app.household.motors import Starting
from app.store.commands.parts import changed
from app.web.fields.appliance import DOES
from app.web.fields.customs import Customs
from app.web.fields.entry import Field
from app.web.fields.reading import WAS, Read, Typed, changed_names, choice_text, read_form
from app.web.fields.working import start_figures, start_worked_out, watts_of_energy


def read_stage(fields: Sequence[Field], typed: Typed, stage: Mapping[str, Any], place: int, customs: Customs) -> Read:
    """Read the form of one stage, with its kilowatt-hours as watts. stage: as it is stored; place: counted from 0."""
    at = ("stages", place)
    read = read_form(fields, typed, Stage, customs, at)
    would_be: Any = stage
    for path, value in read.changes:
        would_be = changed(would_be, path[len(at) :], value)
    watts_too = [*at, "watts"] in [path for path, _ in read.changes]
    watts, wrong = watts_of_energy(typed, would_be, customs, watts_too=watts_too)
    found = [] if watts is None else [[[*at, "watts"], watts]]
    return Read([*read.changes, *found], read.messages | wrong)


def read_start(typed: Typed, stage: Mapping[str, Any], place: int, customs: Customs) -> tuple[Starting | None, Read]:
    """Read the form that works out a start: the start, and what storing it changes."""
    start, wrong = start_worked_out(typed, stage, customs)
    if start is None:
        return None, Read([], wrong)
    figures = start_figures(start, stage)
    return start, Read([[["stages", place, "start", name], value] for name, value in figures.items()], {})


def may_be_shown(typed: Typed, stage: Mapping[str, Any], customs: Customs) -> bool:
    """Whether a stage, as it is stored, may be the one a form showed: its name, and its length or its watts, are.

    typed: the form, with what its fields showed.
    """
    alike = {
        one.path: _shown(one, stage, customs) == next(iter(typed.get(WAS + one.path, ())), "")
        for one in DOES
        if WAS + one.path in typed
    }
    return alike.get("name", False) and (alike.get("duration_s", False) or alike.get("watts", False))


def _shown(field: Field, stage: Mapping[str, Any], customs: Customs) -> str:
    measure, value = getattr(field, "measure", None), stage.get(field.path)
    return "" if measure is None or value is None else str(measure.show(value, customs))


def typed_in_words(fields: Sequence[Field], typed: Typed) -> str:
    """What was typed in a form, for who has to type it again: `Draws ‘2150 W’, For how long ‘20 min’`."""
    found = []
    for field in fields:
        if field.path not in set(changed_names((field,), typed)):
            continue
        lines = typed.get(field.path) or typed.get(f"{field.path}.0") or ()
        text = ", ".join(one for one in lines if one.strip())
        chosen = next((words for value, words in getattr(field, "choices", ()) if choice_text(value) == text), text)
        found.append(f"{field.label} \u2018{chosen}\u2019" if text or chosen else f"{field.label} empty")
    return ", ".join(found)


@dataclass(frozen=True)
class Tried:
    """What was sent and not stored: by which form, what was typed, what is wrong; and a start that it worked out."""

    form: str = ""
    typed: Typed | None = None
    messages: Mapping[str, tuple[str, ...]] | None = None
    start: Starting | None = None

    def about(self, fields: tuple[Field, ...], form: str) -> bool:
        """Whether some of these fields of a form are wrong."""
        return self.form == form and any(one.path in (self.messages or {}) for one in fields)


Stages = list[Any]
Done = tuple[Stages, str, int]  # the stages after it, what it is called, and the place of the stage it was about


def _add(stages: Stages, place: int) -> Done:
    fresh = {"duration_s": 600, "watts": 100}
    return [*stages[: place + 1], fresh, *stages[place + 1 :]], "stage_added", place + 1


def _split(stages: Stages, place: int) -> Done:
    """Two halves; the start, the water and what it sets off stay with the first."""
    stage = stages[place]
    length_s = stage.get("duration_s") or 600
    half = length_s / 2 if length_s % 2 else length_s // 2
    second = {name: value for name, value in stage.items() if name not in ("start", "water_l", "sets_off")}
    halves = [stage | {"duration_s": half}, second | {"duration_s": length_s - half}]
    return [*stages[:place], *halves, *stages[place + 1 :]], "stage_split", place


def _move(stages: Stages, place: int, to: int) -> Done:
    if not 0 <= to < len(stages):
        return stages, "stage_moved", place
    rest = [*stages[:place], *stages[place + 1 :]]
    return [*rest[:to], stages[place], *rest[to:]], "stage_moved", to


def _remove(stages: Stages, place: int) -> Done:
    return [*stages[:place], *stages[place + 1 :]], "stage_removed", max(place - 1, 0)


STAGE_ACTS: dict[str, Callable[[Stages, int], Done]] = {
    "add": _add,
    "split": _split,
    "up": lambda stages, place: _move(stages, place, place - 1),
    "down": lambda stages, place: _move(stages, place, place + 1),
    "remove": _remove,
}
