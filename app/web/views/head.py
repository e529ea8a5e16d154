"""The head of a plan's page: whose household, which plan, and every other plan to go to or begin."""

from dataclasses import dataclass

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
    taken = {plan.name for plan in plans}
    beginnings = (
        _beginning("new", "New, empty plan", _free("Plan", taken, len(plans) + 1), "New plan", attempt),
        _beginning("copied", f"Copy of {day.name}", _free(f"{day.name}, copy", taken), "Duplicate this plan", attempt),
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
    return Beginning(field, label, tried.typed if tried else name, button, tried.messages if tried else ())


def _free(name: str, taken: set[str], number: int = 1) -> str:
    """A name no plan has: this one, or with the next number."""
    proposed = name if number == 1 else f"{name} {number}"
    return proposed if proposed not in taken else _free(name, taken, number + 1)
