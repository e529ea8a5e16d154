"""One appliance in its editor: its own figures, each stage of its programme, and what its figures were before."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from markupsafe import Markup

from app.household import library
from app.household.appliance import Appliance
from app.household.household import Household
from app.store.history import Past
from app.web import words
from app.web.customs import customs_of
from app.web.fields.appliance import AFTER_CUT, BASIS, NAME, RESTARTS, TRUST
from app.web.fields.entry import Entry, Field
from app.web.fields.measure import plain
from app.web.fields.showing import FieldView, show_choice, show_fields
from app.web.fields.stages import Tried
from app.web.views.drawings import programme_drawing
from app.web.views.entries import whole_by_plans
from app.web.views.stages import Fold, StageView, stage_view
from app.web.words.draws import draws_of

WHOLE = "appliance"


@dataclass(frozen=True, slots=True)
class PastFigure:
    """One line of what figures were before."""

    when: str  # the day and the time
    text: str  # what was changed, from what to what
    rests: str  # what the old figures rested on
    taken_back: bool  # it was undone since


@dataclass(frozen=True, slots=True)
class ApplianceView:
    """appliances/page.html."""

    name: str  # the appliance's name
    draws: str  # what it comes to, in a line
    action: str  # where figures go
    stages_action: str  # where stages come, go and move
    delete_action: str  # where it is deleted
    back: str  # the list of appliances
    fields: tuple[FieldView, ...]  # what it has as a whole
    folds: tuple[Fold, ...]  # what else it has as a whole
    any_time: FieldView | None  # whether it may be used unplanned; None for what is always on
    any_time_action: str  # where that goes
    stages: tuple[StageView, ...]  # its programme
    many: bool  # it has more than one stage
    may_grow: bool  # it may have one more: what is always on has one
    past: tuple[PastFigure, ...]  # its figures' history, the newest first
    drawing: Markup  # its programme, drawn
    cautions: tuple[str, ...]  # what may hurt


def whole_fields(household: Household, appliance: Appliance) -> tuple[Field, ...]:
    """The fields of an appliance as a whole."""
    return (*_first_fields(household, appliance), *TRUST, *AFTER_CUT)


def _first_fields(household: Household, appliance: Appliance) -> tuple[Field, ...]:
    supply = household.supply
    circuits = tuple((one.id, words.circuit_choice(one, supply.inverter)) for one in supply.circuits)
    on = Entry("circuit", "On circuit", "Which breaker takes it away?", choices=((None, "none named"), *circuits))
    kinds: tuple[tuple[Any, str], ...] = ((False, "when it is switched on"), (True, "always"))
    always = Entry("always_on", "It runs", "A fridge, a router: always.", choices=kinds)
    return (NAME, *([on] if circuits else []), *([always] if len(appliance.stages) == 1 else []))


ANY_TIME = "any_time"


_ANY_TIME = Entry(
    ANY_TIME,
    "It may be used",
    "A kettle: nobody plans it. The day then says when it must not be on.",
    choices=(("", "as planned"), ("yes", "at any time")),
)


def _whole_folds(appliance: Appliance) -> tuple[tuple[str, str, str, tuple[Field, ...]], ...]:
    """What else an appliance has as a whole: a name for it, what it is about, what it says, its fields."""
    sure = f"{dict(BASIS)[appliance.basis]}, within {plain(round(appliance.uncertainty * 100, 1))} %"
    after = dict(RESTARTS)[appliance.restarts]
    return (("trust", "How sure these figures are", sure, TRUST), ("cut", "After a power cut", after, AFTER_CUT))


def appliance_view(
    household: Household,
    appliance: Appliance,
    past: list[Past],
    addresses: Mapping[str, str],
    tried: Tried,
    unfolded: int | None = None,
) -> ApplianceView:
    """Lay out the editor. tried: what could not be stored. unfolded: place of the stage that was asked for."""
    customs = customs_of(household)
    document = appliance.document()

    def shown(fields: tuple[Field, ...]) -> tuple[FieldView, ...]:
        found = (tried.typed, tried.messages) if tried.form == WHOLE else (None, None)
        others = whole_by_plans(household, appliance, fields)
        return show_fields(fields, document, Appliance, customs, WHOLE, *found, others)

    return ApplianceView(
        name=appliance.name,
        draws=draws_of(appliance),
        action=addresses["action"],
        stages_action=addresses["stages"],
        delete_action=addresses["delete"],
        back=addresses["back"],
        fields=shown(_first_fields(household, appliance)),
        folds=tuple(
            Fold(
                id=f"{name}-{WHOLE}",
                title=title,
                told=told,
                fields=shown(fields),
                open=tried.about(fields, WHOLE),
            )
            for name, title, told, fields in _whole_folds(appliance)
        ),
        any_time=None if appliance.always_on or not addresses["any_time"] else _any_time(household, appliance),
        any_time_action=addresses["any_time"],
        stages=tuple(
            stage_view(household, appliance, place, tried, unfolded=place == unfolded)
            for place in range(len(appliance.stages))
        ),
        many=len(appliance.stages) > 1,
        may_grow=not appliance.always_on,
        past=tuple(_past(household, one) for one in past),
        drawing=programme_drawing(appliance, household),
        cautions=tuple(_cautions(appliance)),
    )


def _any_time(household: Household, appliance: Appliance) -> FieldView:
    present = "yes" if appliance.id in household.any_time else ""
    return show_choice(_ANY_TIME, "any-time", present, present)


def _past(household: Household, past: Past) -> PastFigure:
    zone = household.site.timezone
    local = past.change.at_utc.astimezone(ZoneInfo(zone))
    rests = words.rested_on(past.before or past.after)
    return PastFigure(
        when=f"{words.day_name(local.date().isoformat(), zone)}, {local:%H:%M}",
        text=words.what_became(past, customs_of(household)),
        rests=f"{'Until then' if past.before else 'Its figures'}: {rests}.",
        taken_back=past.taken_back,
    )


def _cautions(appliance: Appliance) -> list[str]:
    """What may hurt: of the built-in library's entry it began as, and from what the figures alone can tell."""
    entry = library.begun_as(appliance.id)
    known = entry.cautions if entry else ()
    has_motor = any(stage.start is not None for stage in appliance.stages)
    restarts = has_motor and appliance.restarts == "starts" and not appliance.always_on
    codes = dict.fromkeys((*known, *(("no_volt_release",) if restarts else ())))
    return [words.hazard(one) for one in codes]
