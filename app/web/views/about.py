"""What every part of a day page needs to know: which plan, under which keys and addresses, who looks."""

from dataclasses import dataclass
from functools import cached_property
from urllib.parse import urlencode

from app.household.resolve import Resolved
from app.store.stored import StoredHousehold, StoredScenario

# What links do not keep unfolded: what is tried one by one takes a while, and is another's at another instant; every
# limit lies over other things on a desk, and would again after each step.
FOLDED_AGAIN = frozenset({"moment-starts", "all-limits"})


@dataclass(frozen=True, slots=True)
class Attempt:
    """A change of a run that could not be done: of which field, what was typed for it, and why it was refused."""

    field: str
    typed: str
    messages: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Adding:
    """A run that could not be put on the day: of which appliance, what was typed for it, and why it was refused.

    find: what had been looked for when it was found.
    """

    appliance: str
    start: str
    length: str | None
    messages: tuple[str, ...]
    find: str = ""


@dataclass(frozen=True)
class About:
    """A plan on its page.

    page: the page's address. runs: the address that a run's key ends, where its commands go.
    open_run: key of the run that is being moved, or empty. tab: a name for this rendering of the page.
    locked: who looks may not change anything. notice: one line of news, may be empty.
    unfolded: ids of what is unfolded on the page; what is folded stays unwritten, so that a tap has less to send.
    at_ms: the instant somebody looks at, None for the one that decides. find: what is looked for among the appliances.
    carries: links keep what is opened, looked at and unfolded, as they must where no script says so by itself.
    """

    stored: StoredHousehold
    scenario: StoredScenario
    resolved: Resolved
    page: str
    runs: str
    open_run: str
    tab: str
    locked: bool
    notice: str
    unfolded: frozenset[str]
    at_ms: int | None
    find: str = ""
    typed_at: str = ""
    fault_at: str = ""
    carries: bool = True

    def key_of(self, run_id: str) -> str:
        """The key of a run of this plan."""
        return self.stored.run_keys[self.scenario.id, run_id].key

    def action(self, key: str) -> str:
        """Where commands for a run go."""
        return f"{self.runs}{key}"

    def page_with(self, key: str) -> str:
        """The page with a run opened; with none for an empty key."""
        return self._address(run=key)

    def part(self, name: str, **more: str | int) -> str:
        """The page; asked for by the page's script, one part of it alone."""
        return self._address(part=name, **more)

    def unfold(self, dom_id: str, part: str) -> str:
        """The page with something more unfolded."""
        return f"{self._address(part=part, **self.kept_with(dom_id))}#{dom_id}"

    @cached_property
    def kept(self) -> dict[str, str]:
        """How the page is looked at, as its links and forms keep it, by the names its address has for it."""
        if not self.carries:
            return {}
        at = "" if self.at_ms is None else str(self.at_ms)
        unfolded = ",".join(sorted(one for one in self.unfolded - FOLDED_AGAIN if one))
        return {name: value for name, value in (("run", self.open_run), ("at", at), ("unfold", unfolded)) if value}

    @property
    def looked_at(self) -> str:
        """The same for forms, which say themselves which run is open: the end of an address, empty for nothing."""
        asked = {name: value for name, value in self.kept.items() if name != "run"}
        return f"?{urlencode(asked, safe=',')}" if asked else ""

    def kept_with(self, dom_id: str) -> dict[str, str]:
        """The same with something more unfolded."""
        unfolded = self.kept.get("unfold", "").split(",")
        return self.kept | {"unfold": ",".join(dict.fromkeys([*filter(None, unfolded), dom_id]))}

    def _address(self, **asked: str | int) -> str:
        given = {name: value for name, value in (self.kept | asked).items() if value != ""}
        return f"{self.page}{'?' if given else ''}{urlencode(given, safe=',')}"
