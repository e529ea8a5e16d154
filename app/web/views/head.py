"""The head of a plan's page: whose household, which plan, and every other plan to go to or begin."""

from dataclasses import dataclass

from app.household.names import LONGEST_NAME, copy_name, free_name
from app.web.figures import date
from app.web.views.about import About
from app.web.views.plan import PlanAttempt


@dataclass(frozen=True, slots=True)
class PlanLink:
    """A plan one can go to."""

    name: str  # its name
    date: str  # its day
    href: str  # its page
    current: bool  # it is the one shown


@dataclass(frozen=True, slots=True)
class Beginning:
    """A form that begins a new plan."""

    field: str  # its name among attempts: `new` or `copied`
    label: str  # the field's name on the page
    typed: str  # the name that stands in it
    button: str  # what the button says
    at_most: int  # how many characters the name may have
    messages: tuple[str, ...]  # why it could not be done


@dataclass(frozen=True, slots=True)
class HeadView:
    """day/_head.html."""

    household: str  # the household's name
    plan: str  # the plan's name
    date: str  # the plan's day
    plans: tuple[PlanLink, ...]  # every plan of the household
    open: bool  # the list of plans is unfolded
    action: str  # where a new plan goes
    beginnings: tuple[Beginning, ...]  # an empty plan and a copy; none where who looks may change nothing
    revision: int  # the household's count of changes
    tab: str  # a name for this page, for commands without a script


def head_view(about: About, plans: tuple[PlanLink, ...], attempt: PlanAttempt | None) -> HeadView:
    """Lay out the head; attempt: what was tried and could not be done, if it was to begin a plan."""
    day = about.resolved.day
    taken = [plan.name for plan in plans]
    beginnings = (
        _beginning("new", "New, empty plan", free_name("Plan", taken, len(plans) + 1), "New plan", attempt),
        _beginning("copied", f"Copy of {day.name}", copy_name(day.name, taken), "Duplicate this plan", attempt),
    )
    return HeadView(
        household=about.resolved.household.name,
        plan=day.name,
        date=date(about.resolved.frame),
        plans=plans,
        open=any(one.messages for one in beginnings),
        action=f"{about.page}/plans",
        beginnings=() if about.locked else beginnings,
        revision=about.stored.revision,
        tab=about.tab,
    )


def _beginning(field: str, label: str, name: str, button: str, attempt: PlanAttempt | None) -> Beginning:
    tried = attempt if attempt and attempt.field == field else None
    typed, messages = (tried.typed, tried.messages) if tried else (name, ())
    return Beginning(field, label, typed, button, LONGEST_NAME, messages)
