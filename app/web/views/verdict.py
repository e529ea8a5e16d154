"""What the sentence at the head of the day says."""

from dataclasses import dataclass

from app.engine.results import Assessment, Verdict
from app.household.resolve import Resolved
from app.web import words

WITHOUT_SUN = "Sun and bank are not in this yet: they are being worked out."


@dataclass(frozen=True, slots=True)
class VerdictView:
    """day/_verdict.html."""

    verdict: Verdict  # the plan's verdict, for its colour
    lead: str  # the verdict in words, set strong
    rest: str  # the rest of the sentence
    why: str  # the line of figures under it; may be empty
    any_time: tuple[str, ...]  # when each any-time load may be on


def verdict_view(resolved: Resolved, assessment: Assessment) -> VerdictView:
    """Put an assessment into its sentences."""
    headline = words.headline(resolved, assessment)
    return VerdictView(
        verdict=assessment.verdict,
        lead=headline.lead,
        rest=headline.rest,
        why=f"{headline.why} {WITHOUT_SUN}".strip() if assessment.battery is None else headline.why,
        any_time=tuple(words.any_time_sentence(one, resolved) for one in assessment.any_time),
    )
