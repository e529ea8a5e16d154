"""What stands on a page in place of a plan that was deleted, and the way from there."""

from dataclasses import dataclass

from markupsafe import Markup
from starlette.requests import Request

from app.store.stored import StoredHousehold, StoredScenario
from app.web.access import may
from app.web.addresses import plan_page
from app.web.views.plan_head import PlanHead
from app.web.words import gone as words


@dataclass(frozen=True, slots=True)
class PlanGone:
    """says: that it was deleted, and what of it. href, way: the day on which whoever may brings it back; for others
    the day of the plan that is shown in its place.
    """

    says: str
    href: str
    way: str

    @property
    def line(self) -> Markup:
        """All of it, as one line of a page."""
        return Markup('{} <a href="{}">{}</a>').format(self.says, self.href, self.way)


@dataclass(frozen=True, slots=True)
class GonePage:
    """gone.html: what stands in place of a page that has nothing to show without its plan."""

    title: str  # what happened, in short
    top: PlanHead  # the household, its other plans and screens
    line: Markup  # that it was deleted, and the way back
    lead: str  # over the other plans


def plan_gone(
    request: Request, stored: StoredHousehold, scenario_key: str, shown: StoredScenario, then: str = ""
) -> PlanGone:
    """A plan that was deleted. shown: the plan that stood before it. then: said after it, else which plan is shown."""
    says = words.PLAN.format(name=gone_name(stored, scenario_key))
    way = words.BRING_BACK if may(request, "helper") else words.GO_TO
    return PlanGone(
        says=f"{says} {then or words.SHOWN.format(other=shown.name)}",
        href=plan_page(request, stored, shown),
        way=way.format(other=shown.name),
    )


def gone_name(stored: StoredHousehold, scenario_key: str) -> str:
    """What a plan that was deleted was called."""
    return str(stored.pieces[scenario_key].document["name"])
