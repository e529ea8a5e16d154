"""The page of plans side by side, put together: which plans, what is found about them, who looks."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from threading import Lock
from typing import Any
from weakref import WeakKeyDictionary

from markupsafe import Markup
from starlette.datastructures import QueryParams
from starlette.requests import Request

from app.charts.side_by_side import HOURS, LETTERS, PlanLine, plan_lines
from app.charts.side_by_side_figure import side_figure
from app.charts.side_by_side_svg import side_axis_svg, side_demand_svg, side_starts_svg
from app.household.day import DayFrame
from app.household.whatif import plan_of_id
from app.planner.needs.found import Need
from app.planner.needs.needs import needs_of
from app.planner.side_by_side import Compared, side_by_side
from app.planner.ways import RED
from app.store.stored import StoredHousehold, StoredScenario
from app.web import words as all_words
from app.web.addresses import plan_head, plan_page
from app.web.figures import date, quantity
from app.web.gone import plan_gone
from app.web.planned import Planned, planned
from app.web.side_by_side_asked import MOST, Asked, asked, nearest
from app.web.views.side_by_side import Choice, HourRow, PlanColumn, SideView
from app.web.views.side_by_side_needs import need_lines, need_rows
from app.web.views.side_by_side_rows import first_and_rest
from app.web.words import gone as gone_words
from app.web.words import needs as need_words
from app.web.words import side_by_side as words
from app.web.words.whatif import differs, ground_name

ROUTE = "side_by_side"

# As in `planned`: a stored household is one state, so what was found for it stays true.
_NEEDS: WeakKeyDictionary[StoredHousehold, dict[str, tuple[Need, ...]]] = WeakKeyDictionary()
_LOCK = Lock()


def needed(stored: StoredHousehold, scenario: StoredScenario) -> tuple[Need, ...]:
    """What a plan needs at least; found once."""
    with _LOCK:
        kept = _NEEDS.setdefault(stored, {})
    if scenario.id not in kept:
        there = planned(stored, scenario, with_sun=True)
        kept[scenario.id] = needs_of(there.resolved, there.day)
    return kept[scenario.id]


@dataclass(frozen=True)
class SideBySide:
    """scenario: the open plan. params: what the address says."""

    request: Request
    stored: StoredHousehold
    scenario: StoredScenario
    params: QueryParams

    @cached_property
    def asked(self) -> Asked:
        """Which plans, and how they are looked at."""
        return asked(self.stored, self.scenario, self.params)

    @cached_property
    def plans(self) -> tuple[Planned, ...]:
        """The plans worked out, sun and bank too."""
        return tuple(planned(self.stored, one, with_sun=True) for one in self.asked.plans)

    @cached_property
    def compared(self) -> Compared:
        """Their figures and differences."""
        return side_by_side([(one.resolved, one.assessment) for one in self.plans])

    @cached_property
    def lines(self) -> tuple[PlanLine, ...]:
        """The chart."""
        return plan_lines(
            [(plan.name, one.resolved, one.assessment) for plan, one in zip(self.asked.plans, self.plans, strict=True)]
        )

    def figure(self) -> dict[str, Any]:
        """The chart for the charting library."""
        return side_figure(self.lines, quantity)

    def view(self, notices: tuple[str, ...] = ()) -> SideView:
        """The page."""
        asked, found = self.asked, [(one.resolved, one.assessment) for one in self.plans]
        off = [place not in (asked.counted_from, asked.beside) for place in range(len(found))]
        gone = [
            plan_gone(
                self.request, self.stored, key, self.stored.nearest(key) or self.scenario, gone_words.OTHERS_SHOWN
            )
            for key in asked.gone
        ]
        red = any(assessment.verdict in RED for _, assessment in found)
        ways = [one.ways if asked.ways and one.assessment.verdict in RED else None for one in self.plans]
        needs = [needed(self.stored, one) for one in asked.plans] if asked.needs else []
        letters = LETTERS[: len(found)]
        first, rest = first_and_rest(found, self.compared, asked.counted_from, off)
        return SideView(
            top=plan_head(self.request, self.stored, self.scenario, ROUTE),
            notices=(*notices, *(one.line for one in gone), *asked.notices),
            said=words.decides([one.name for one in asked.plans], found, self.compared, asked.counted_from, ways),
            days=words.other_days(letters, found, asked.counted_from),
            ways_href=self._address(ways="1") if red and not asked.ways else "",
            columns=tuple(self._column(place, off[place]) for place in range(len(found))),
            demand=Markup(side_demand_svg(self.lines, self._label("Highest draw"), _limit_words)),
            starts=Markup(side_starts_svg(self.lines, self._label("Hardest starts"), _limit_words, _kva)),
            axis=Markup(side_axis_svg("next day")),
            hours=_hours(self.lines, [one.resolved.frame for one in self.plans]),
            figure=f"{self._page('side_by_side_figure')}{asked.query()}",
            first=first,
            alike="" if first or len(found) == 1 else words.NOTHING_DIFFERS,
            by_odds=any(all_words.how_often(limit) for _, one in found for limit in one.limits),
            figure_gone=gone_words.FIGURE,
            groups=rest,
            needs=need_rows(found, needs, asked.counted_from, off) if needs else (),
            needs_how=need_lines(found, letters, needs) if needs else (),
            needs_notes=need_words.notes(any(one.household.supply.generator is not None for one, _ in found)),
            needs_href=f"{self._address(needs='1')}#needs",
            choices=self._choices(),
            choose=self._choose(),
            growth=self._page("growth"),
            workshop=self._page("workshop"),
            what_if=self._page("what_if"),
        )

    def _column(self, place: int, off: bool) -> PlanColumn:
        plan, one, asked = self.asked.plans[place], self.plans[place], self.asked
        has_parent = plan_of_id(self.stored.household, plan.id).parent is not None
        rest = [other for other in asked.plans if other is not plan]
        verdict = one.assessment.verdict
        return PlanColumn(
            letter=LETTERS[place],
            name=plan.name,
            href=plan_page(self.request, self.stored, plan),
            what_if=self._page("what_if", plan),
            date=date(one.resolved.frame),
            verdict=verdict,
            word=all_words.verdict_word(verdict),
            counted="" if place == asked.counted_from else self._counted(plan),
            beside="" if not off else self._address(to=plan.key),
            without="" if place == 0 else f"{self._page(ROUTE)}{asked.query(rest)}",
            off=off,
            differs=differs(self.stored.household, plan.id),
            built_on=ground_name(self.stored.household, plan.id) if has_parent else "",
        )

    def _choices(self) -> tuple[Choice, ...]:
        shown = self.asked.plans
        if len(shown) == MOST:
            return ()
        first = nearest(self.stored, self.scenario)
        others = [one for one in (*first, *self.stored.scenarios) if one not in shown]
        return tuple(
            Choice(one.name, f"{self._page(ROUTE)}{self.asked.query([*shown, one], to=one.key)}")
            for one in dict.fromkeys(others)
        )

    def _choose(self) -> str:
        if len(self.asked.plans) > 1:
            return ""
        return words.CHOOSE.format(name=self.scenario.name) if len(self.stored.scenarios) > 1 else words.ALONE

    def _label(self, what: str) -> str:
        return f"{what} of {all_words.listed([f'{line.letter}, {line.name}' for line in self.lines])}"

    def _address(self, **more: str) -> str:
        return f"{self._page(ROUTE)}{self.asked.query(**more)}"

    def _counted(self, plan: StoredScenario) -> str:
        """The page with differences counted from a plan; the one they were counted from stays beside it."""
        return self._address(**{"from": plan.key, "to": self.asked.plans[self.asked.counted_from].key})

    def _page(self, route: str, plan: StoredScenario | None = None) -> str:
        keys = {"household_key": self.stored.key, "scenario_key": (plan or self.scenario).key}
        return str(self.request.app.url_path_for(route, **keys))


def _limit_words(value: float, unit: str, letters: str) -> str:
    whose = f" ({letters})" if letters else ""
    return f"{quantity(value, unit)} for {'hours' if unit == 'W' else 'a start'}{whose}"


def _kva(value: float) -> str:
    return quantity(value, "VA")


def _hours(lines: Sequence[PlanLine], frames: Sequence[DayFrame]) -> tuple[HourRow, ...]:
    """The highest draw of each hour, plan by plan."""
    rows = []
    begins_ms = [frame.hours_ms(HOURS) for frame in frames]
    for hour in range(HOURS):
        values = []
        for line, begin_ms in zip(lines, begins_ms, strict=True):
            inside = (line.edges_h[1:] > hour) & (line.edges_h[:-1] < hour + 1)
            is_there = begin_ms[hour] < begin_ms[hour + 1]  # the clock may leave it out
            values.append(quantity(float(line.worst_w[inside].max()), "W") if is_there else "–")
        rows.append(HourRow(f"{'next day ' if hour >= 24 else ''}{hour % 24:02d}:00", tuple(values)))
    return tuple(rows)
