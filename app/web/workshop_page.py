"""The workshop's page, put together: what was chosen, what would come of it, who looks."""

import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from urllib.parse import urlencode

from starlette.datastructures import QueryParams
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from app.household.errors import Fault, HouseholdFaults
from app.household.names import free_name
from app.household.resolve import Resolved
from app.household.whatif import plan_of_id
from app.household.workshop import Made, Taken, make_workshop
from app.store.stored import StoredHousehold, StoredScenario
from app.web.access import may
from app.web.addresses import plan_head
from app.web.customs import customs_of
from app.web.forms.typed import FIND_AT_MOST
from app.web.laundry_day import state_of
from app.web.planned import planned
from app.web.reply import VARY
from app.web.views.workshop import workshop_view
from app.web.views.workshop_look import LookView, MakingView, look_view
from app.web.words import workshop as words
from app.web.words.plain import listed
from app.web.workshop_asked import MACHINES_AT_MOST, Typed, typed, with_size
from app.web.workshop_look import Look, look_at, plan_path, taken
from app.web.workshop_wish import Choices, choices_of, field_of, said_of

PAGE, SCREEN = "workshop/page.html", "side_by_side"


@dataclass(frozen=True)
class WorkshopPage:
    """asks: what the address says."""

    request: Request
    stored: StoredHousehold
    scenario: StoredScenario
    asks: QueryParams

    def answer(
        self,
        notices: tuple[str, ...] = (),
        status: int = 200,
        *,
        name: str | None = None,
        name_faults: tuple[str, ...] = (),
    ) -> Response:
        """The page. name, name_faults: what was typed for the new plan, and what is wrong with it."""
        faults: dict[str, tuple[str, ...]] = {}
        view: LookView | None = None
        if self.asked.machines:
            try:
                look = self._look()
                view = self._look_view(look, name, name_faults)
            except HouseholdFaults as refused:
                faults = self.placed(refused)
        notices = (*notices, *(words.UNKNOWN.format(key=key) for key in self.asked.unknown))
        if self.asked.left_out:
            notices = (*notices, words.LEFT_OUT.format(names=listed(self.asked.left_out)))
        if len(self.asked.find) > FIND_AT_MOST:
            faults["find"] = (words.TOO_LONG.format(most=FIND_AT_MOST),)
        if status == 200 and (faults or self.asked.unknown or self.asked.left_out):
            status = 422
        keys = self._keys
        page = workshop_view(
            top=plan_head(self.request, self.stored, self.scenario, "workshop", SCREEN),
            hrefs=(self._href, str(self.request.app.url_path_for("what_if", **keys))),
            resolved=self.resolved,
            asked=self.asked,
            faults=faults,
            look=view,
            notices=notices,
        )
        return HTMLResponse(self.request.app.state.pages.render(PAGE, page=page), status, headers=VARY)

    def made(self) -> Made:
        """The documents that were chosen.

        Raises HouseholdFaults, each at its field.
        """
        choices = self._choices
        found = [Fault(name, why) for name, lines in choices.messages.items() for why in lines]
        found += [Fault(f"machine:{key}", words.TWICE) for key in self.asked.twice]
        if (over := len(self.asked.machines) - MACHINES_AT_MOST) > 0:
            count = over + MACHINES_AT_MOST
            found.append(Fault("machines", words.TOO_MANY.format(count=count, most=MACHINES_AT_MOST, over=over)))
        try:
            made = make_workshop(self.resolved, choices.uses, choices.wiring, self._taken)
        except HouseholdFaults as refused:
            # What could not be read is missing there: it is told once.
            found += [one for one in refused.faults if one.path not in choices.messages]
            raise HouseholdFaults(found) from refused
        if found:
            raise HouseholdFaults(found)
        return made

    def placed(self, refused: HouseholdFaults, made: Made | None = None) -> dict[str, tuple[str, ...]]:
        """Faults by the field they are about; made: what was refused by the household."""
        faults: dict[str, tuple[str, ...]] = {}
        for fault in refused.faults:
            name = fault.path if made is None else field_of(fault, plan_path(self.stored), made)
            said = said_of(name, fault.why)
            faults[name] = tuple(dict.fromkeys((*faults.get(name, ()), said)))
        return faults

    @cached_property
    def resolved(self) -> Resolved:
        """The plan as it is."""
        return planned(self.stored, self.scenario, with_sun=True).resolved

    @cached_property
    def asked(self) -> Typed:
        """What was typed."""
        return typed(self.resolved, self.asks)

    @cached_property
    def state(self) -> str:
        """A name for the plan exactly as it is."""
        return state_of(self.resolved)

    @property
    def adds_to(self) -> str:
        """The name of the plan if it is a what-if, which the workshop may be added to; else empty."""
        is_what_if = plan_of_id(self.stored.household, self.scenario.id).parent is not None
        return self.scenario.name if is_what_if else ""

    @property
    def offered_name(self) -> str:
        """A name for the plan that would be made."""
        return free_name(words.plan_name(self.scenario.name), [one.name for one in self.stored.scenarios])

    @cached_property
    def _choices(self) -> Choices:
        return choices_of(self.resolved, self.asked)

    @cached_property
    def _taken(self) -> Taken:
        return taken(self.stored)

    @property
    def _keys(self) -> Mapping[str, str]:
        return {"household_key": self.stored.key, "scenario_key": self.scenario.key}

    @property
    def _href(self) -> str:
        return str(self.request.app.url_path_for("workshop", **self._keys))

    def _address(self, asked: Typed) -> str:
        return f"{self._href}?{urlencode([('shown', '1'), *asked.address()])}"

    def _look(self) -> Look:
        made = self.made()
        try:
            return look_at(self.stored, self.scenario, made, customs_of(self.resolved.household))
        except HouseholdFaults as refused:
            placed = self.placed(refused, made)
            raise HouseholdFaults(Fault(name, why) for name, lines in placed.items() for why in lines) from refused

    def _look_view(self, look: Look, name: str | None, name_faults: tuple[str, ...]) -> LookView:
        before = planned(self.stored, self.scenario, with_sun=True).assessment.verdict
        making = None
        if may(self.request, "helper"):
            making = MakingView(
                action=str(self.request.app.url_path_for("make_workshop", **self._keys)),
                wish=urlencode([("shown", "1"), *self.asked.address()]),
                state=self.state,
                revision=self.stored.revision,
                tab=secrets.token_hex(8),
                name=self.offered_name if name is None else name,
                add_to=self.adds_to,
                faults=name_faults,
            )
        return look_view(
            look,
            (self.scenario.name, before),
            self.asked.machines,
            lambda size: self._address(with_size(self.asked, size)),
            making,
        )
