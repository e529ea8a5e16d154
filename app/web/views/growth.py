"""Room to grow: the largest thing that could still be added to a day, and the machines that fit on it."""

from dataclasses import dataclass

from markupsafe import Markup

from app.charts.hour_bars import HourBar, hour_bars_svg, hour_sun_svg
from app.engine.results import Verdict
from app.household.library import entry
from app.household.resolve import Resolved
from app.planner.growth.largest import HourRoom, Largest, Span
from app.planner.growth.machines import Machine, Standing
from app.web.figures import quantity
from app.web.growth_day import GrowthDay
from app.web.views.plan_head import PlanHead
from app.web.words import growth as words
from app.web.words import limit_name, passing_name

# Standings have the colours of verdicts.
_VERDICTS: dict[Standing, Verdict] = {
    "fits": "fits", "tight": "tight", "for_a_while": "short_time", "chance": "chance", "over": "over",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class HourRow:
    """One hour in figures."""

    hour: str  # from when to when
    steady: str  # the most for the whole hour
    steady_limit: str  # what decides that
    start: str  # the largest start
    start_limit: str  # what decides that
    spare: str  # sun to spare; empty where it is not known


@dataclass(frozen=True, slots=True)
class MachineRow:
    """One machine of the library."""

    id: str  # in the page
    name: str  # its name
    verdict: Verdict  # how it stands, for its colour
    word: str  # the same in words
    figures: str  # what it draws, and how long
    when: str  # when it may be switched on
    against: str  # what decides where it does not fit; may be empty
    href: str  # where it is set up with its cable


@dataclass(frozen=True, slots=True)
class GrowthView:
    """growth/page.html."""

    top: PlanHead  # whose household, which plan, and where else to go
    title: str  # the screen's name
    href: str  # this page, nothing asked
    notices: tuple[str, ...]  # what happened, over all
    lead: str  # set strong
    largest: str  # what follows it
    lines: tuple[str, ...]  # more of it, a line each
    cost: str  # what an hour of it takes; empty where that is not known
    meant: tuple[str, ...]  # how the figures are meant
    caution: str  # what they are for
    steady_chart: Markup  # the most for hours, drawn
    start_chart: Markup  # the largest start, drawn
    sun_chart: Markup  # sun to spare under them; empty where there is none
    hours: tuple[HourRow, ...]  # the same in figures
    has_sun: bool  # sun to spare is known
    find: str  # what was looked for
    find_at_most: int  # how many characters that may have
    fault: str  # what is wrong with it; empty if nothing
    list_help: str  # what the list is
    restarts: str  # what may hurt
    machines: tuple[MachineRow, ...]  # those that were found
    none_found: str  # said where there are none


@dataclass(frozen=True)
class Look:
    """What was looked for, and what came of it. workshop: where a machine is set up, without its id."""

    href: str
    workshop: str
    find: str
    find_at_most: int
    fault: str
    found: frozenset[str]


def growth_view(
    top: PlanHead, resolved: Resolved, growth: GrowthDay, look: Look, notices: tuple[str, ...]
) -> GrowthView:
    """Lay out the page."""
    frame, household, found = resolved.frame, resolved.household, growth.largest
    largest, lines = words.largest_lines(frame, found, household)
    told = [one for one in (found.best, found.waking) if one is not None]
    has_sun = all(one.spare_wh is not None for one in found.hours)
    shown = [one for one in growth.machines if one.entry.id in look.found]
    return GrowthView(
        top=top,
        title=words.TITLE,
        href=look.href,
        notices=notices,
        lead=words.LEAD if found.best is not None else words.NOTHING,
        largest=largest,
        lines=lines,
        cost=words.cost_line(frame, found.cost) if found.cost is not None else "",
        meant=words.MEANT,
        caution=words.PLANNING,
        steady_chart=_chart(found, [one.steady_w for one in found.hours], "W", "For hours", told),
        start_chart=_chart(found, [one.start_va for one in found.hours], "VA", "For a start", told),
        sun_chart=_sun(found.hours) if has_sun else Markup(),
        hours=tuple(_hour(resolved, one) for one in found.hours),
        has_sun=has_sun,
        find=look.find,
        find_at_most=look.find_at_most,
        fault=look.fault,
        list_help=words.LIST_HELP,
        restarts=words.RESTARTS,
        machines=tuple(_machine(resolved, one, look.workshop) for one in shown),
        none_found="" if shown else words.NONE_FOUND if growth.machines else words.NO_MACHINES,
    )


def _chart(found: Largest, values: list[float], unit: str, what: str, told: list[Span]) -> Markup:
    bars = [
        HourBar(
            one.hour.clock,
            value,
            any(span.from_ms <= one.hour.from_ms and one.hour.to_ms <= span.to_ms for span in told),
        )
        for one, value in zip(found.hours, values, strict=True)
    ]
    label = words.chart_label(what, unit, found.hours, tuple(values))
    return Markup(hour_bars_svg(bars, f"k{unit}", label))


def _sun(hours: tuple[HourRoom, ...]) -> Markup:
    spare_wh = [one.spare_wh or 0.0 for one in hours]
    label = f"Sun to spare: {quantity(sum(spare_wh), 'Wh')} over the day"
    return Markup(hour_sun_svg([one.hour.clock for one in hours], spare_wh, label))


def _hour(resolved: Resolved, one: HourRoom) -> HourRow:
    household = resolved.household
    return HourRow(
        hour=words.hour_words(resolved.frame, one.hour),
        steady=words.steady_words(one.steady_w, "W"),
        steady_limit=passing_name(one.steady_limit, household),
        start=words.steady_words(one.start_va, "VA"),
        start_limit=limit_name(one.start_limit, household),
        spare="" if one.spare_wh is None else quantity(one.spare_wh, "Wh") if one.spare_wh >= 1 else "none",
    )


def _machine(resolved: Resolved, machine: Machine, workshop: str) -> MachineRow:
    brings = tuple(entry(one).name for one in machine.entry.brings)
    return MachineRow(
        id=f"machine-{machine.entry.id}",
        name=machine.entry.name,
        verdict=_VERDICTS[machine.standing],
        word=words.STANDINGS[machine.standing],
        figures=words.figures_line(machine, brings),
        when=words.when_line(resolved.frame, machine),
        against=words.against_line(resolved.frame, machine, resolved.household),
        href=f"{workshop}?machine={machine.entry.id}",
    )
