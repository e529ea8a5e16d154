"""The head of the screens beside a plan's day: whose household, which plan, the other plans, the screens."""

from dataclasses import dataclass

from app.web.views.editing import Tab
from app.web.views.head import PlanLink


@dataclass(frozen=True, slots=True)
class PlanHead:
    """layouts/_plan_head.html."""

    household: str  # the household's name
    plan: str  # the plan's name
    plans: tuple[PlanLink, ...]  # every plan's page of this kind
    tabs: tuple[Tab, ...]  # the screens
    revision: int  # the household's count of changes
