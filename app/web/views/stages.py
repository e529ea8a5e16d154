"""The stages of an appliance in its editor: one line each, which unfolds to its figures."""

from dataclasses import dataclass, replace
from typing import Any

from app.household.answers import Answers
from app.household.appliance import Appliance, Stage
from app.household.household import Household
from app.household.motors import Starting
from app.web.customs import customs_on
from app.web.fields.appliance import CURRENT, CYCLE, DOES, ENERGY, START, WATER
from app.web.fields.entry import Column, Entry, Field, Points
from app.web.fields.measure import plain
from app.web.fields.measures import SECONDS
from app.web.fields.showing import FieldView, show_fields
from app.web.fields.stages import Tried
from app.web.fields.standing import marks_of
from app.web.fields.times import seconds_text
from app.web.fields.working import start_help
from app.web.figures import quantity
from app.web.views.entries import stage_by_plans
from app.web.words.draws import draws_of


@dataclass(frozen=True, slots=True)
class Fold:
    """Figures that most do without, of edit/_fields.html."""

    id: str  # in the page
    title: str  # what they are about
    told: str  # what they say now; empty where nothing is given
    fields: tuple[FieldView, ...]  # the figures
    open: bool  # something in it is wrong


@dataclass(frozen=True, slots=True)
class StartHelp:
    """A start worked out of the motor's plate or its kind."""

    id: str  # of its form
    fields: tuple[FieldView, ...]  # what may be known
    open: bool  # something was asked
    worked_out: tuple[str, ...]  # what it comes to, and what that rests on; empty before


@dataclass(frozen=True, slots=True)
class StageView:
    """One stage of appliance/page.html."""

    id: str  # of its form
    number: int  # counted from 1
    place: int  # counted from 0
    mark: str  # what tells it from others
    marks: str  # those of all stages, in their order
    title: str  # what it does
    draws: str  # what it draws, in a line
    open: bool  # its figures are unfolded
    fields: tuple[FieldView, ...]  # what every stage has
    folds: tuple[Fold, ...]  # what few have
    help: StartHelp  # how its start may be worked out


def stage_fields(household: Household, appliance: Appliance) -> tuple[Field, ...]:
    """The fields of one stage."""
    return (*_does_fields(appliance), *(field for _, _, fields in _folds(household, appliance) for field in fields))


def _does_fields(appliance: Appliance) -> tuple[Field, ...]:
    if appliance.always_on:
        return tuple(one for one in DOES if one.path != "duration_s")
    # A programme of one stage may be as long as each run says; of several, each has its length.
    open_ended = len(appliance.stages) == 1
    blank = "as the run says" if open_ended else ""
    return tuple(
        replace(one, blank=blank, needed=not open_ended) if isinstance(one, Entry) and one.path == "duration_s" else one
        for one in DOES
    )


def _folds(household: Household, appliance: Appliance) -> tuple[tuple[str, str, tuple[Field, ...]], ...]:
    """What few stages have: a name for it, what it is about, its fields. What is always on starts no pump."""
    water = () if appliance.always_on else (("water", "Takes in water", (WATER,)),)
    return (
        ("cycle", "Comes and goes by itself", CYCLE),
        ("current", "Power factor", CURRENT),
        *water,
        ("follows", "Sets something else off", (_follows(household, appliance),)),
        ("start", "A start that draws more", START),
    )


def _told(stage: Stage, household: Household) -> dict[str, str]:
    """What the folded figures of a stage say."""
    names = {one.id: one.name for one in household.appliances}
    told: dict[str, str] = {}
    if stage.cycle is not None:
        told["cycle"] = f"{seconds_text(stage.cycle.on_s)} of every {seconds_text(stage.cycle.period_s)}"
    if stage.power_factor != 1:
        told["current"] = plain(stage.power_factor)
    if stage.water_l:
        told["water"] = f"{plain(stage.water_l)} l"
    if stage.sets_off:
        told["follows"] = ", ".join(names[one.appliance] for one in stage.sets_off)
    if stage.start is not None:
        told["start"] = f"{quantity(stage.start.va, 'VA')} for {seconds_text(stage.start.duration_s)}"
    return told


def _follows(household: Household, appliance: Appliance) -> Points:
    others = tuple((one.id, one.name) for one in household.appliances if one.id != appliance.id and not one.always_on)
    which = Column("sets off", choices=(("", "nothing"), *others))
    after = Column("after", SECONDS, optional=True)
    return Points(
        "sets_off", "It sets off", (which, after), "An extractor that starts with the saw, a fan with the hob.",
        keys=("appliance", "after_s"), rises=False,
    )  # fmt: skip


def stage_view(household: Household, appliance: Appliance, place: int, tried: Tried, *, unfolded: bool) -> StageView:
    """Lay out one stage. unfolded: it was asked for; the only one always is, and so is one that is wrong."""
    stage, part, form = appliance.stages[place], appliance.document()["stages"][place], f"stage-{place}"
    customs, told, helping = customs_on(household, appliance.circuit), _told(stage, household), f"help-{form}"

    def shown(fields: tuple[Field, ...], of: Any, model: Any, name: str = form) -> tuple[FieldView, ...]:
        found = (tried.typed, tried.messages) if name == tried.form else (None, None)
        others = stage_by_plans(household, appliance, place, fields) if of is part else None
        return show_fields(fields, of, model, customs, name, *found, others)

    return StageView(
        id=form,
        number=place + 1,
        place=place,
        mark=marks_of([part]),
        marks=marks_of(appliance.document()["stages"]),
        title=stage.name or f"Stage {place + 1}",
        draws=draws_of(appliance.model_copy(update={"stages": (stage,)})),
        open=len(appliance.stages) == 1 or unfolded or tried.form in (form, helping),
        fields=shown(_does_fields(appliance), part, Stage)
        + (() if appliance.always_on else shown((ENERGY,), {}, Answers)),
        folds=tuple(
            Fold(
                id=f"{name}-{form}",
                title=title,
                told=told.get(name, ""),
                fields=shown(fields, part, Stage),
                open=tried.about(fields, form) or (name == "start" and tried.form == helping),
            )
            for name, title, fields in _folds(household, appliance)
        ),
        help=StartHelp(
            id=helping,
            fields=shown(start_help(customs), {}, Answers, helping),
            open=tried.form == helping,
            worked_out=_worked_out(tried.start) if tried.start is not None and tried.form == helping else (),
        ),
    )


def _worked_out(start: Starting) -> tuple[str, ...]:
    """A start in words: what it comes to, how sure that is, and what it rests on."""
    low, high = (quantity(one, "VA") for one in start.va.between)
    figure = f"{quantity(start.va.value, 'VA')}, for {seconds_text(start.duration_s)}, at {plain(start.power_factor)}"
    sure = f"It may be from {low} to {high}." if start.va.spread else ""
    source = f"It rests on: {start.va.source}. How long, and the power factor: common practice, no source."
    return tuple(line for line in (f"{figure} power factor.", start.va.how, sure, source) if line)
