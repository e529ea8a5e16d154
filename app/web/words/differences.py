"""What a household file would change, in words: whose figure it is, and from what to what."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import pairwise
from typing import Any, Protocol

from app.household.differences import Difference, Path
from app.household.household import Household
from app.household.resolve import Day
from app.web.fields.entry import Field
from app.web.words.naming import Naming, as_in_the_file, field_of, label_of
from app.web.words.parts import ARROW
from app.web.words.plain import sentence_case


class State(Protocol):
    """A household with each plan's day, by the plan's id; as the store has it, or made to be compared."""

    @property
    def household(self) -> Household: ...  # noqa: D102

    @property
    def days(self) -> Mapping[str, Day]: ...  # noqa: D102


class Telling:
    """Puts the differences between two states of a household into words."""

    def __init__(self, before: State, after: State) -> None:
        self._states = (after, before)
        self._naming = Naming(before.household, after.household)

    def title(self, thing: Path) -> str:
        """What people call a thing."""
        return self._naming.thing(thing)

    def lines(self, found: Difference, thing: Path) -> Iterator[str]:
        """What is different inside a thing, a line for each figure."""
        inside = found.path[len(thing) :]
        if found.what == "moved":
            yield sentence_case(f"{_the(inside or thing)} in another order")
        elif run := self._run(found, thing):
            yield run
        elif inside[-1:] == ("measured_day",):
            yield self._figure(found, thing, inside)  # hundreds of figures, told as one
        elif found.what in ("added", "removed") and isinstance(value := found.new or found.old, dict):
            if inside[-2:-1] in (("stages",), ("sets_off",), ("appliances",)) or thing == ("interlocks",):
                yield f"{self._where(inside, thing, value)}: {'new' if found.what == 'added' else 'goes'}"
                return
            for name, inner in value.items():
                was, now = (None, inner) if found.what == "added" else (inner, None)
                yield from self.lines(replace(found, path=(*found.path, name), old=was, new=now), thing)
        elif inside[-2:-1] in (("off",), ("any_time",)) or thing == ("any_time",):
            yield self._comes_or_goes(found, thing)
        else:
            yield self._figure(found, thing, inside)

    def _figure(self, found: Difference, thing: Path, inside: Path) -> str:
        field = field_of(thing, inside)
        names = [step for step in inside or thing if isinstance(step, str)]
        label = label_of(names, field)
        said = self._from_to(field, names[-1], found)
        if not inside:
            return said
        where = self._where(inside[:-1], thing)
        label = f"{where}, {label[:1].lower()}{label[1:]}" if where else sentence_case(label)
        return f"{label}: {said}"

    def _from_to(self, field: Field | None, name: str, found: Difference) -> str:
        if found.old is None and found.new is None:
            return "taken out" if found.what == "added" else "not taken out any more"
        old, new = (self._naming.figure(field, name, value) for value in (found.old, found.new))
        if old == new and name == "measured_day":
            return f"{old}, with other figures"
        if old == new:
            # These words do not tell them apart; then as the file has it.
            old, new = (as_in_the_file(value) for value in (found.old, found.new))
        return f"{old} {ARROW} {new}"

    def _where(self, inside: Path, thing: Path, value: Any = None) -> str:
        """Of which stage, which appliance with other figures, or which switch it is. value: of what is new or goes."""
        words = ["only in this plan"] if inside[:1] == ("changes",) and inside[1:2] != ("day",) else []
        for step, after in pairwise(inside):
            if step == "appliances":
                words.append(self._naming.appliance(after))
            elif step == "supply" and after not in ("circuits", "arrays"):
                words.append(self._naming.thing(("supply", after)))
            elif step in ("circuits", "arrays"):
                words.append(self._naming.thing(("supply", step, after)))
            elif step == "stages" and isinstance(after, int):
                name = value.get("name") if value else self._stage_name(thing, after)
                words.append(f"stage {after + 1}" + (f" ({name})" if name else ""))
            elif step == "sets_off":
                words.append(f"also starts {self._naming.appliance(value['appliance']) if value else ''}".strip())
        if thing == ("interlocks",) and inside:
            words.append(self._naming.appliances(value["of"]) if value else f"switch {int(inside[0]) + 1}")
        return sentence_case(", ".join(words))

    def _stage_name(self, thing: Path, place: int) -> str | None:
        found = (one for one in self._states[0].household.appliances if thing == ("appliances", one.id))
        return next((one.stages[place].name for one in found if place < len(one.stages)), None)

    def _run(self, found: Difference, thing: Path) -> str:
        """What is different of a run; empty for what is about none."""
        inside = found.path[len(thing) :]
        match inside:
            case ("runs", str(run_id), *rest) | ("changes", "runs", str(run_id), *rest):
                name = self._run_name(str(thing[1]), run_id, timed=rest != ["start"])
            case _:
                return ""
        if rest:
            field = str(rest[-1])
            label = {"duration_s": "runs for", "appliance": "is"}.get(field) or label_of([field], None)
            if field == "after":
                old, new = (self._run_name(str(thing[1]), one) if one else None for one in (found.old, found.new))
                found = replace(found, old=old, new=new)
            return f"{name}, {label}: {self._from_to(None, field, found)}"
        if inside[0] == "runs":
            return f"{name}: {'new' if found.what == 'added' else 'goes'}"
        if found.what == "removed":
            return f"{name}: {'again in this plan' if found.old is None else 'as in the plan it builds on'}"
        return f"{name}: {'left out of this plan' if found.new is None else 'not as in the plan it builds on'}"

    def _run_name(self, plan_id: str, run_id: str, *, timed: bool = True) -> str:
        for state in self._states:
            for run in state.days[plan_id].runs if plan_id in state.days else ():
                if run.id == run_id:
                    name = self._naming.appliance(run.appliance)
                    return f"{name} at {run.start}" if timed else name
        return f"Run {run_id}"

    def _comes_or_goes(self, found: Difference, thing: Path) -> str:
        name = self._naming.appliance(found.path[-1])
        if thing == ("any_time",):
            return f"{name}: {'any time from now on' if found.what == 'added' else 'not any time any more'}"
        return f"{name}: {'off' if found.what == 'added' else 'not off any more'} in this plan"


def _the(path: Path) -> str:
    name = next(step for step in reversed(path) if isinstance(step, str))
    return {"scenarios": "plans", "any_time": "any-time loads"}.get(name, name)
