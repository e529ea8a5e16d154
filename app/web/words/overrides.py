"""What a plan says otherwise than the household, in words, beside what the household says."""

from collections.abc import Sequence

from app.web.words.plain import listed

# What a plan without a parent is built on, where plans are named.
THE_HOUSEHOLD = "the household"


def in_plans(plans: Sequence[str], figure: str) -> str:
    """A figure as plans have it: `In the plan Boat shed opens: 6000 VA`."""
    return f"{_plans(plans, 'In')}: {figure}"


def not_in_plans(plans: Sequence[str]) -> str:
    """A piece that plans do without: `Not there in the plan Boat shed opens`."""
    return _plans(plans, "Not there in")


def only_in_plans(plans: Sequence[str], what: str) -> str:
    """A piece that plans alone have: `Only in the plan Boat shed opens: Generator, 3.0 kW`."""
    return f"{_plans(plans, 'Only in')}: {what}"


def _plans(plans: Sequence[str], lead: str) -> str:
    if tuple(plans) == (THE_HOUSEHOLD,):
        return f"{lead} {THE_HOUSEHOLD}"
    return f"{lead} the {'plan' if len(plans) == 1 else 'plans'} {listed(plans)}"
