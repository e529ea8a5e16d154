"""What every part of a day page needs to know: which plan, under which keys and addresses, who looks."""

from dataclasses import dataclass
from urllib.parse import urlencode

from app.household.resolve import Resolved
from app.store.stored import StoredHousehold, StoredScenario


@dataclass(frozen=True, slots=True)
class Attempt:
    """A change of a run that could not be done: of which field, what was typed for it, and why it was refused."""

    field: str
    typed: str
    messages: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Adding:
    """A run that could not be put on the day: of which appliance, what was typed for it, and why it was refused."""

    appliance: str
    start: str
    length: str | None
    messages: tuple[str, ...]


@dataclass(frozen=True)
class About:
    """A plan on its page.

    page: the page's address. runs: the address that a run's key ends, where its commands go.
    open_run: key of the run that is being moved, or empty. tab: a name for this rendering of the page.
    locked: who looks may not change anything. notice: one line of news, may be empty.
    unfolded: ids of what is unfolded on the page; what is folded stays unwritten, so that a tap has less to send.
    at_ms: the instant somebody looks at, None for the one that decides. find: what is looked for among the appliances.
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

    def key_of(self, run_id: str) -> str:
        """The key of a run of this plan."""
        return self.stored.run_keys[self.scenario.id, run_id].key

    def action(self, key: str) -> str:
        """Where commands for a run go."""
        return f"{self.runs}{key}"

    def page_with(self, key: str) -> str:
        """The page with a run opened."""
        return f"{self.page}?{urlencode({'run': key})}"

    def part(self, name: str, **more: str | int) -> str:
        """The page; asked for by the page's script, one part of it alone."""
        return f"{self.page}?{urlencode({'part': name, **more})}"

    def unfold(self, dom_id: str, part: str) -> str:
        """The page with something unfolded."""
        return f"{self.part(part, unfold=dom_id)}#{dom_id}"
