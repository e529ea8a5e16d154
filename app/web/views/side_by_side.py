"""Plans side by side on their page: the sentence, one chart, one table of differences, what each needs at least."""

from dataclasses import dataclass

from markupsafe import Markup

from app.engine.results import Verdict
from app.web.views.plan_head import PlanHead
from app.web.words import side_by_side as said


@dataclass(frozen=True, slots=True)
class PlanColumn:
    """One plan at the head of its column."""

    letter: str  # by which the drawing tells it
    name: str  # its name
    href: str  # its day
    what_if: str  # what is different in it
    date: str  # its day
    verdict: Verdict  # for the colour
    word: str  # how it stands
    counted: str  # the page with differences counted from it; empty where they are
    beside: str  # the page on which a phone shows it; empty where it does
    without: str  # the page without it; empty for the open plan
    off: bool  # a phone leaves it out
    differs: tuple[str, ...]  # what it has otherwise than what it is built on
    built_on: str  # what that is


@dataclass(frozen=True, slots=True)
class Cell:
    """What one plan has of one row."""

    value: str  # with its unit; or that it is not there
    of: str  # of which limit, where plans have others; may be empty
    note: str  # when, or how often; may be empty
    verdict: Verdict | None  # for the colour; None for a figure that is not judged
    word: str  # the verdict in words; may be empty
    difference: str  # from the plan that is counted from
    bar: str  # classes that place a ruler's bar; empty without a ruler
    mark: str  # the same of its mark
    ban: str  # the same of what lies below a floor; may be empty
    cut: bool  # the bar goes on past the ruler's end
    off: bool  # a phone leaves it out


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table."""

    name: str  # of what
    of: str  # of which limit, where all have the same; may be empty
    cells: tuple[Cell, ...]  # plan by plan


@dataclass(frozen=True, slots=True)
class RowGroup:
    """Lines that are folded under one heading."""

    key: str  # for its id
    title: str  # the heading
    says: str  # how many are in it
    rows: tuple[Row, ...]  # what differs, then what is the same in all


@dataclass(frozen=True, slots=True)
class Choice:
    """A plan that can be put beside."""

    name: str  # its name
    href: str  # the page with it


@dataclass(frozen=True, slots=True)
class HourRow:
    """One hour of the chart as a table."""

    at: str  # its beginning
    values: tuple[str, ...]  # the highest draw in it, plan by plan


@dataclass(frozen=True, slots=True)
class SideView:
    """side_by_side/page.html."""

    top: PlanHead  # whose household, which plan, and where else to go
    notices: tuple[str, ...]  # what was wrong with what was asked
    said: tuple[said.Said, ...]  # the sentence that decides, a part for each plan, the worst first
    days: str  # which plans are other days; empty for none
    ways_href: str  # the page with what would make it fit; empty where there is nothing to look for
    columns: tuple[PlanColumn, ...]  # the plans
    demand: Markup  # what they draw, drawn
    starts: Markup  # their hardest starts
    axis: Markup  # the hours
    hours: tuple[HourRow, ...]  # the chart as a table
    figure: str  # where the closer look's data are
    figure_gone: str  # what is said where they are no more
    first: tuple[Row, ...]  # what differs most
    by_odds: bool  # something is told by how often it is to be expected
    alike: str  # that nothing differs; empty where something does, or where one plan is alone
    groups: tuple[RowGroup, ...]  # everything else
    needs: tuple[Row, ...]  # what each needs at least; empty while it is folded
    needs_how: tuple[str, ...]  # how that was found, a line each
    needs_notes: tuple[str, ...]  # what it means, and a caution
    needs_href: str  # the page with it
    choices: tuple[Choice, ...]  # what else can be put beside
    choose: str  # that something is to be chosen; may be empty
    growth: str  # room to grow
    workshop: str  # the workshop path
    what_if: str  # the open plan's what-if
