"""Three questions about an appliance, and what their answers make of it."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from markupsafe import Markup

from app.household.answers import Answers
from app.household.household import Household
from app.household.questions import Proposal
from app.web.customs import customs_on
from app.web.fields.entry import Field
from app.web.fields.questions import LABEL, MOTOR, VOLTS_BESIDE, WHAT
from app.web.fields.reading import Typed
from app.web.fields.showing import FieldView, show_choice, show_fields
from app.web.plugs import PLUG, plug_question, plugs

FORM = "questions"


@dataclass(frozen=True, slots=True)
class Question:
    """One question with its fields."""

    title: str  # the question
    fields: tuple[FieldView, ...]  # to be answered


@dataclass(frozen=True, slots=True)
class QuestionsView:
    """appliances/questions.html."""

    action: str  # where the answers go
    back: str  # the list of appliances
    questions: tuple[Question, ...]  # the three
    made: str  # what the answers make, in a line; empty before they are given
    assumed: tuple[str, ...]  # what nobody said, and what was taken for it
    drawing: Markup  # its programme
    asked: bool  # it was asked for and is refused: what is missing is said while the rest is given


def questions_view(
    household: Household,
    action: str,
    back: str,
    typed: Typed,
    messages: Mapping[str, tuple[str, ...]],
    proposal: Proposal | None,
    made: str,
    drawing: Markup,
    *,
    asked: bool,
) -> QuestionsView:
    """Lay out the questions with what was typed; proposal: what that makes, None before it makes anything."""

    customs, offered = customs_on(household, None), plugs(household)

    def question(title: str, fields: tuple[Field, ...]) -> Question:
        return Question(title, show_fields(fields, {}, Answers, customs, FORM, typed, messages))

    label = question("2. What does the label say?", LABEL)
    if offered:
        by_plug = (replace(one, blank="by its plug") if one is VOLTS_BESIDE else one for one in LABEL)
        label = question(label.title, tuple(by_plug))
        chosen = next(iter(typed.get(PLUG, ())), "")
        plug = show_choice(plug_question(offered), FORM, chosen, "", messages.get(PLUG, ()))
        label = Question(label.title, (*label.fields, plug))

    return QuestionsView(
        action=action,
        back=back,
        questions=(
            question("1. What is it?", WHAT),
            label,
            question("3. Does it have a motor?", MOTOR),
        ),
        made=made,
        assumed=tuple(one.words for one in proposal.assumptions) if proposal else (),
        drawing=drawing,
        asked=asked,
    )
