"""The page of what may be switched on, for a plan with its taps at a moment: put together here, whoever asks for it."""

from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import ClassVar
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from app.engine.answers import Switching
from app.engine.switching import switching
from app.store.overlay import TapsByPlan
from app.store.stored import StoredHousehold, StoredScenario
from app.web.access import may
from app.web.addresses import plan_head
from app.web.elsewhere import elsewhere_words
from app.web.figures import clock
from app.web.forms.instant import instant_of
from app.web.forms.run import clock_typed
from app.web.forms.typed import SHORT_AT_MOST
from app.web.night import LeftOn, left_on
from app.web.now import Now
from app.web.reply import VARY, wants_fragment
from app.web.tapped import AsTapped
from app.web.views.ask import AskView, ask_view
from app.web.views.switch_on import Around, switch_on_view
from app.web.views.switch_rows import NOT_WRONG, Wrong, row_id
from app.web.words import switch_on as words

PAGE = "switch_on/page.html"
SCREEN = "switch_on"
NAME, ON = "name-", "h-on"  # what ids of the page begin with, or are
MARK = "Loadstead-Mark"  # what the page's script says it shows
MINUTE_MS = 60_000


@dataclass(frozen=True)
class Switchboard:
    """What is shown. yesterday, by_plan: taps of yesterday and of today in the house, by the keys of its plans.

    `at` in the address: at another time of the day, to look only. `run`, `start`: asked about.
    """

    request: Request
    stored: StoredHousehold
    scenario: StoredScenario
    today: AsTapped
    now: Now
    yesterday: TapsByPlan = field(default_factory=dict)
    by_plan: TapsByPlan = field(default_factory=dict)

    screen: ClassVar[str] = SCREEN  # the name of its address
    looks_at_other_times: ClassVar[bool] = True

    def answer(self, wrong: Wrong = NOT_WRONG, status: int = 200) -> Response:
        """The page. For its own script nothing, while what that shows is still so; else it is the same page."""
        if status == 200 and wants_fragment(self.request) and self.request.headers.get(MARK) == self._mark:
            return Response(status_code=204, headers=VARY)
        html, status = self._show(status, wrong)
        return HTMLResponse(html, status, headers=VARY)

    def _show(self, status: int, wrong: Wrong) -> tuple[str, int]:
        now_then = self._answers(self._at_ms)
        ask = self._asked(now_then)
        if self._at_is_wrong:
            wrong = replace(wrong, faults=(*wrong.faults, words.NO_TIME))
        if status == 200 and (self._at_is_wrong or ask.fault_run or ask.fault_start):
            status = 422
        view = switch_on_view(self._around(), self.today, now_then, self.now, ask, wrong, looking=self._looking)
        return self.request.app.state.pages.render(PAGE, page=view), status

    def _answers(self, at_ms: int) -> Switching:
        return switching(self.today.inspection, at_ms, but=self.today.beside.stand_ins)

    @property
    def address(self) -> str:
        """The page's, with what was asked."""
        return f"{self._href}{self._keeps}"

    def address_at(self, appliance: str) -> str:
        """The same, at what was tapped, wherever that stands now; at what is on for no appliance."""
        ids = [one.id for one in self.today.beside.resolved.household.appliances]
        return f"{self.address}#{NAME}{row_id(ids.index(appliance))}" if appliance in ids else f"{self.address}#{ON}"

    @property
    def _href(self) -> str:
        return self._page_of(self.scenario)

    def _page_of(self, scenario: StoredScenario) -> str:
        keys = {"household_key": self.stored.key, "scenario_key": scenario.key}
        return str(self.request.app.url_path_for(self.screen, **keys))

    @cached_property
    def _typed(self) -> dict[str, str]:
        asked = self.request.query_params
        names = ("run", "start", "at") if self.looks_at_other_times else ("run", "start")
        return {name: asked.get(name, "").strip()[:100] for name in names}

    @cached_property
    def _keeps(self) -> str:
        kept = {name: self._typed[name][:SHORT_AT_MOST] for name in ("run", "start") if self._typed[name]}
        return f"?{urlencode(kept)}" if kept else ""

    @cached_property
    def _now_ms(self) -> int:
        return self.now.on(self.today.plan.frame)

    @cached_property
    def _looked_at_ms(self) -> int | None:
        return self._of_the_day(self._typed.get("at", ""))

    @property
    def _looking(self) -> bool:
        return self._looked_at_ms is not None

    @property
    def _at_is_wrong(self) -> bool:
        return bool(self._typed.get("at")) and not self._looking

    @property
    def _at_ms(self) -> int:
        return self._now_ms if self._looked_at_ms is None else self._looked_at_ms

    def _of_the_day(self, typed: str) -> int | None:
        frame = self.today.plan.frame
        at_ms = instant_of(frame, clock_typed(typed), "")
        return at_ms if at_ms is not None and at_ms < frame.day_ms else None

    @property
    def _mark(self) -> str:
        """A name for what is shown, which changes with the minute too."""
        last = f"{self.today.taps[-1].at_utc.timestamp():.3f}" if self.today.taps else ""
        minute = f"{self.now.local:%Y-%m-%dT%H:%M}"
        in_house = sum(map(len, self.by_plan.values()))
        parts = (
            self.scenario.key,
            self.stored.revision,
            len(self.today.taps),
            in_house,
            last,
            minute,
            self.today.has_sun,
        )
        return "/".join(map(str, parts))

    def _asked(self, now_then: Switching) -> AskView:
        typed, start = self._typed["run"], self._typed["start"]
        start = "" if start.casefold() == words.NOW else start
        fault_run = words.CHOOSE if "run" in self.request.query_params and not typed else ""
        if typed and self.today.plan.appliance(typed) is None:
            fault_run = words.NO_SUCH
        begin_ms, fault_start = self._at_ms, ""
        if start:
            found = self._of_the_day(start)
            if found is None:
                fault_start = words.NO_TIME
            elif found // MINUTE_MS < self._at_ms // MINUTE_MS:
                fault_start = words.GONE_BY.format(at=clock(self.today.plan.frame, self._at_ms))
            else:
                begin_ms = max(found, self._at_ms)
        if not typed:
            fault_start = ""
        is_later = bool(typed) and not fault_run and begin_ms != self._at_ms
        then = self._answers(begin_ms) if is_later else now_then
        at = clock(self.today.plan.frame, self._at_ms) if self._looking else ""
        return ask_view(self.today, then, typed, start, fault_run, fault_start, at)

    @property
    def _left_on(self) -> tuple[LeftOn, ...]:
        return left_on(self.yesterday.get(self.scenario.key, ()), self.today, self.now)

    @property
    def _elsewhere(self) -> tuple[str, ...]:
        name_plans = self.request.state.link.scenario_key is None
        taps = self.by_plan, self.yesterday
        return elsewhere_words(self.stored, *taps, self.today, self.now, name_plans=name_plans)

    def _around(self) -> Around:
        return Around(
            top=plan_head(self.request, self.stored, self.scenario, SCREEN),
            href=self._href,
            action=self.address,
            here=self._here,
            mark=self._mark,
            locked=not may(self.request, "helper"),
            left_on=self._left_on,
            elsewhere=self._elsewhere,
        )

    @property
    def _here(self) -> str:
        return f"{self._href}?{urlencode(asked)}" if (asked := self._asks()) else self._href

    def _asks(self) -> dict[str, str]:
        return {name: typed for name, typed in self._typed.items() if typed and (name != "at" or self._looking)}
