"""What every part of a day page needs to know: which plan, under which keys and addresses, who looks."""

from dataclasses import dataclass
from urllib.parse import urlencode

from app.household.resolve import Resolved
from app.store.stored import StoredHousehold, StoredScenario


@dataclass(frozen=True)
class About:
    """A plan on its page.

    page: the page's address. runs: the address that a run's key ends, where its commands go.
    open_run: key of the run that is being moved, or empty. tab: a name for this rendering of the page.
    moved: key of the run the present answer is about; what is typed at another one stays as it is.
    locked: who looks may not change anything. notice: one line of news, may be empty.
    unfolded: ids of what is unfolded on the page; what is folded stays unwritten, so that a tap has less to send.
    at_ms: the instant somebody looks at, None for the one that decides.
    """

    stored: StoredHousehold
    scenario: StoredScenario
    resolved: Resolved
    page: str
    runs: str
    open_run: str
    tab: str
    moved: str
    locked: bool
    notice: str
    unfolded: frozenset[str]
    at_ms: int | None

    def key_of(self, run_id: str) -> str:
        """The key of a run of this plan."""
        return self.stored.run_keys[self.scenario.id, run_id].key

    def revision_of(self, run_id: str) -> int:
        """The revision of a run of this plan."""
        return self.stored.run_keys[self.scenario.id, run_id].revision

    def action(self, key: str) -> str:
        """Where commands for a run go."""
        return f"{self.runs}{key}"

    def page_with(self, key: str) -> str:
        """The page with a run opened."""
        return f"{self.page}?{urlencode({'run': key})}"

    def unfold(self, dom_id: str, part: str) -> str:
        """The page with something unfolded; asked for by the page's script, that part of it alone."""
        return f"{self.page}?{urlencode({'part': part, 'unfold': dom_id})}#{dom_id}"
