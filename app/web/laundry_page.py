"""The page of a laundry day, put together: what was asked, what was found for it, who looks."""

import hashlib
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from markupsafe import Markup
from starlette.datastructures import QueryParams
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from app.household.errors import HouseholdFaults
from app.household.resolve import Resolved
from app.store.stored import StoredHousehold, StoredScenario
from app.web import words as all_words
from app.web.access import may
from app.web.addresses import plan_head
from app.web.answering import sentence_of
from app.web.forms.laundry import Typed, TypedLoad, typed
from app.web.forms.laundry_eased import eased
from app.web.forms.laundry_wish import Wished, field_of, wished
from app.web.laundry_day import Compared, Searched, searched, state_of, then, today, why
from app.web.laundry_taking import changes_of
from app.web.now import Now, now_at
from app.web.planned import planned
from app.web.reply import VARY, wants_fragment
from app.web.views.laundry import laundry_view, load_names
from app.web.views.laundry_found import (
    EasingView,
    FoundView,
    RowView,
    Standing,
    Taking,
    chart_of,
    figures_of,
    takes_words,
    verdict_of,
)
from app.web.words import laundry as words

PAGE = "laundry/page.html"
SCREEN = "laundry"
SLOT_S = 300
READER_BEHIND_AT_MOST, BEHIND_AT_MOST = 2, 20  # searches that may wait before one more is not begun


@dataclass(frozen=True)
class LaundryPage:
    """asks: what the address says."""

    request: Request
    stored: StoredHousehold
    scenario: StoredScenario
    asks: QueryParams

    def answer(self, notices: tuple[str, ...] = (), status: int = 200) -> Response:
        """The page with its form alone."""
        return self._rendered(None, {}, notices, status)

    def found(
        self,
        *,
        starts: Mapping[str, str] | None = None,
        ticked: set[str] | None = None,
        missing: Mapping[str, str] | None = None,
        notices: tuple[str, ...] = (),
        status: int = 200,
    ) -> Response:
        """The page with what is found for what was asked; a wish that cannot be is refused beside its fields.

        starts, ticked: a day that was shown, and what of it is ticked. missing: of that what follows a load that is not
        ticked, and which. For the page's own script nothing, while what it shows is still so.
        """
        loads: tuple[TypedLoad, ...] = self.asked.loads
        try:
            wanted = self.wanted()
            loads = wanted.loads
            search = searched(self.request.app.state.jobs, wanted, self.stored.key, self._behind_at_most)
            mark = self._mark(search)
            if starts is None and wants_fragment(self.request) and self.asks.get("mark") == mark:
                return Response(status_code=204, headers=VARY)
            view = self._found(wanted, search, mark, starts, ticked, missing or {})
        except HouseholdFaults as refused:
            faults: dict[str, tuple[str, ...]] = {}
            for fault in refused.faults:
                name = field_of(fault.path, loads)
                faults[name] = (*faults.get(name, ()), fault.why)
            return self._rendered(None, faults, notices, 422)
        return self._rendered(view, {}, notices, 422 if view.cannot else status)

    def wanted(self) -> Wished:
        """What is to be searched.

        Raises HouseholdFaults.
        """
        return wished(self.resolved, self.asked, self._not_before)

    @cached_property
    def resolved(self) -> Resolved:
        """The plan as it is."""
        return planned(self.stored, self.scenario, with_sun=True).resolved

    @cached_property
    def asked(self) -> Typed:
        """What was typed."""
        return typed(self.resolved, self.asks, self._now.clock_s if self._is_today else None)

    @property
    def _behind_at_most(self) -> int:
        """One worker looks for everybody: who only reads must not keep it from those who plan."""
        return BEHIND_AT_MOST if may(self.request, "helper") else READER_BEHIND_AT_MOST

    @cached_property
    def state(self) -> str:
        """A name for the plan exactly as it is."""
        return state_of(self.resolved)

    def address(self, asked: Typed | None = None, **more: str) -> str:
        """This page with what was asked. asked: something else. more: what else the address says."""
        said = [*(asked or self.asked).address(), *more.items()]
        if self._not_before is not None and "find" in more:
            said.append(("now", self._not_before))
        return f"{self._href}?{urlencode(said)}"

    @cached_property
    def _now(self) -> Now:
        return now_at(self.request, ZoneInfo(self.stored.household.site.timezone))

    @property
    def _is_today(self) -> bool:
        return self.resolved.day.date == self._now.date

    @cached_property
    def _not_before(self) -> str | None:
        """From when on loads may begin: the next five minutes; as long as these are not over, what the address says."""
        if not self._is_today:
            return None
        next_s = min(-(-self._now.clock_s // SLOT_S) * SLOT_S, 86_400 - SLOT_S)
        said = self.asks.get("now", "")
        earlier = (next_s - SLOT_S * step for step in range(4) if next_s >= SLOT_S * step)
        faces = [f"{at // 3600:02d}:{at % 3600 // 60:02d}" for at in earlier]
        return said if said in faces else faces[0]

    def _mark(self, search: Searched) -> str:
        """A name for what is shown of a search: another one is shown when this is another."""
        job = search.job
        parts = (
            self.state,
            job and (job.state, job.stopped, job.again),
            search.state,
            sorted(search.starts.items()),
            round(float(search.best.get("cannot_be_below_wh", 0.0))),
            may(self.request, "helper"),
        )
        return hashlib.sha256(repr(parts).encode()).hexdigest()[:16]

    def _found(
        self,
        wanted: Wished,
        search: Searched,
        mark: str,
        starts: Mapping[str, str] | None,
        ticked: set[str] | None,
        missing: Mapping[str, str],
    ) -> FoundView:
        is_final = search.job is None or search.job.ended
        standing = self._standing(search, mark, goes_on=not is_final and starts is None)
        shown = dict(starts) if starts is not None else search.starts
        if not shown:
            easings = self._easings(wanted, search) if search.state == "stuck" else ()
            return FoundView(standing, None, (), Markup(), (), "", "", (), None, easings)
        runs, new = changes_of(self.resolved, wanted, shown)
        every = {*runs, *new}
        taken = every if ticked is None else ticked
        part, cannot = taken != every, tuple[str, ...]()
        try:
            proposed = then(self.resolved, wanted, shown, taken if not missing else every)
        except HouseholdFaults as refused:
            if not part:
                raise
            cannot = tuple(sentence_of(one.why) for one in refused.faults)
            proposed = then(self.resolved, wanted, shown, every)
        was = today(self.resolved, [load.key for load in wanted.loads] + [run.id for run in wanted.dropped])
        rows = self._rows(wanted, search, shown, proposed, every, taken, missing, is_final=is_final)
        is_whole = not part or bool(missing) or bool(cannot)
        taking = None
        if (is_final or starts is not None) and every and may(self.request, "helper"):
            taking = Taking(
                action=str(self.request.app.url_path_for("take_laundry", **self._keys)),
                wish=self._wish,
                state=self.state,
                revision=self.stored.revision,
                tab=secrets.token_hex(8),
                looked="" if is_whole else "\n".join(sorted(taken)),
            )
        return FoundView(
            standing=standing,
            verdict=verdict_of(proposed),
            figures=figures_of(was, proposed),
            chart=chart_of(was, proposed),
            rows=rows,
            takes=takes_words(rows),
            part="" if is_whole else words.PART,
            cannot=cannot,
            taking=taking,
            easings=(),
        )

    def _standing(self, search: Searched, mark: str, *, goes_on: bool) -> Standing:
        job, best = search.job, search.best
        notes: list[str] = []
        if job is None:
            notes.append(words.BUSY if search.busy else words.NO_WORKER)
        elif job.state == "failed":
            notes.append(words.FAILED)
        elif not job.ended and job.again:
            notes.append(words.INTERRUPTED)
        elif job.state == "lost":
            notes.append(words.NO_ANSWER)
        state = ("waiting" if search.busy else "done") if job is None else job.state
        if search.state == "found":
            lead, rest = words.standing(
                state,
                proven=bool(best["proven"]),
                stopped=job is not None and job.stopped,
                through_wh=float(best["through_bank_wh"]),
                bound_wh=float(best["cannot_be_below_wh"]),
            )
        elif search.state == "stuck" and (job is None or job.ended):
            names = load_names(self.asked.loads)
            lead = words.NO_DAY
            runs = [names[one] for one in best["runs"] if one in names]
            rest = words.stuck_sentence(best["limit"], runs, self.resolved.household)
        elif not search.busy and (job is None or job.ended):
            lead, rest = words.NO_DAY, words.NOTHING_FOUND
        else:
            lead, rest = words.LOOKING, words.FIRST_LOOK
        here = self.address(find="1")
        is_proven = search.state == "found" and bool(best["proven"])
        steers = job is not None and may(self.request, "helper")
        return Standing(
            lead=lead,
            rest=rest,
            notes=tuple(notes),
            job=search.key if job is not None else "",
            poll=f"{here}&mark={mark}" if goes_on else "",
            refresh=here if goes_on else "",
            can_stop=steers and goes_on and job is not None and not job.stopped,
            can_go_on=steers and job is not None and job.ended and search.state == "found" and not is_proven,
            steer=str(self.request.app.url_path_for("steer_search", **self._keys)),
            wish=self._wish,
        )

    def _rows(
        self,
        wanted: Wished,
        search: Searched,
        starts: Mapping[str, str],
        proposed: Compared,
        every: set[str],
        taken: set[str],
        missing: Mapping[str, str],
        *,
        is_final: bool,
    ) -> tuple[RowView, ...]:
        names = load_names(self.asked.loads)
        reasons: dict[str, str] = {}
        if is_final and search.state == "found" and dict(starts) == search.starts:
            whole = then(self.resolved, wanted, starts, every)
            reasons = {
                one.run: words.reason_sentence(one, whole.resolved, names) for one in why(wanted, search.best, whole)
            }
        rows = [
            RowView(
                id=f"take-{place}",
                key=load.key,
                name=names[load.key],
                was=load.run.start[:5] if load.run is not None else "",
                now=starts[load.key],
                reason=reasons.get(load.key, ""),
                stays=load.key not in every,
                ticked=load.key in taken,
                fault=words.UNTICKED.format(other=names[missing[load.key]]) if load.key in missing else "",
            )
            for place, load in enumerate(wanted.loads)
            if load.key in starts
        ]
        rows.sort(key=lambda row: row.now)
        for place, run in enumerate(wanted.dropped):
            appliance = self.resolved.appliance(run.appliance)
            name = appliance.name if appliance is not None else run.appliance
            rows.append(
                RowView(f"drop-{place}", run.id, name, run.start[:5], "", words.LEFT_OUT, False, run.id in taken, "")
            )
        return tuple(rows)

    def _easings(self, wanted: Wished, search: Searched) -> tuple[EasingView, ...]:
        names = load_names(self.asked.loads)
        found = []
        for one in search.best["easings"]:
            kind, run, clock = one["kind"], one["run"], one["clock"]
            asked = eased(self.asked, kind, run, clock, one["starts"])
            gone = [names[load.key] for load in wanted.loads if kind == "leave_off" and load.key not in one["starts"]]
            shown = LaundryPage(self.request, self.stored, self.scenario, QueryParams(urlencode(asked.address())))
            try:
                then_wanted = shown.wanted()
                runs, new = changes_of(self.resolved, then_wanted, dict(asked.begin))
                verdict = then(self.resolved, then_wanted, dict(asked.begin), {*runs, *new}).assessment.verdict
            except HouseholdFaults:
                continue  # it leads to nothing that could be taken
            says = words.easing_sentence(kind, gone or [names.get(run, "")], clock)
            href = f"{self.address(asked, find='1')}#found"
            found.append(EasingView(says, verdict, all_words.verdict_word(verdict), href))
        return tuple(found)

    @property
    def _is_of_form(self) -> bool:
        """The form was sent by the page's script; what a search under way asks for by itself is for another place."""
        return self.request.headers.get("hx-target") == "laundry"

    @property
    def _wish(self) -> str:
        """What was asked for, as an address says it."""
        now = [("now", self._not_before)] if self._not_before is not None else []
        return urlencode([*self.asked.address(), *now])

    @property
    def _keys(self) -> dict[str, str]:
        return {"household_key": self.stored.key, "scenario_key": self.scenario.key}

    @property
    def _href(self) -> str:
        return str(self.request.app.url_path_for(SCREEN, **self._keys))

    def _rendered(
        self,
        found: FoundView | None,
        faults: dict[str, tuple[str, ...]],
        notices: tuple[str, ...],
        status: int,
    ) -> Response:
        top = plan_head(self.request, self.stored, self.scenario, SCREEN)
        view = laundry_view(
            top,
            self._href,
            self.asked,
            faults,
            found,
            notices,
            apart=words.apart_words(self.resolved.household),
            apart_href=str(self.request.app.url_path_for("site", **self._keys)),
        )
        html = self.request.app.state.pages.render(PAGE, page=view)
        headers = dict(VARY)
        if wants_fragment(self.request) and self.request.method == "GET" and self._is_of_form:
            # What stands in the form stands in the address, without the button that was pressed.
            headers["HX-Push-Url"] = self.address(find="1") if "find" in self.asks else self.address()
        return HTMLResponse(html, status, headers=headers)
