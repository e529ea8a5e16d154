"""What to mind on this day: the engine's cautions in words, and the order of switching off after a cut."""

from dataclasses import dataclass

from app.engine.results import Assessment
from app.household.resolve import Resolved
from app.web import words


@dataclass(frozen=True, slots=True)
class CautionsView:
    """day/_cautions.html."""

    texts: tuple[str, ...]  # one short text for each kind of caution the assessment has
    further: tuple[str, ...]  # the same for other things, to be unfolded
    order: str  # what to switch off after a power cut, in order; empty when everything may come back at once


def cautions_view(resolved: Resolved, assessment: Assessment) -> CautionsView:
    """Put an assessment's cautions into words, each text once."""
    first: dict[str, str] = {}
    further: dict[str, None] = {}
    for caution in assessment.cautions:
        text = words.caution_text(caution, resolved)
        if first.setdefault(caution.code, text) != text:
            further[text] = None
    restart = assessment.limit("cold_restart")
    names = {appliance.id: appliance.name for appliance in resolved.household.appliances}
    order = (restart.switch_off or ()) if restart else ()
    return CautionsView(tuple(first.values()), tuple(further), ", ".join(names.get(one, one) for one in order))
