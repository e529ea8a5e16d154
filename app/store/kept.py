"""The few households read last, so that a page and the tap after it check the household once."""

from collections import OrderedDict
from threading import Lock

from app.store.stored import StoredHousehold

KEPT_AT_MOST = 8


class Kept:
    """Stored households by the id of their last change, which names their exact content."""

    def __init__(self) -> None:
        self._by_change: OrderedDict[str, StoredHousehold] = OrderedDict()
        self._lock = Lock()

    def get(self, change_id: str) -> StoredHousehold | None:
        """The household as that change left it, if it is still kept."""
        with self._lock:
            if change_id in self._by_change:
                self._by_change.move_to_end(change_id)
            return self._by_change.get(change_id)

    def put(self, change_id: str, stored: StoredHousehold) -> None:
        """Keep a household; the one longest unread goes."""
        with self._lock:
            self._by_change[change_id] = stored
            self._by_change.move_to_end(change_id)
            while len(self._by_change) > KEPT_AT_MOST:
                self._by_change.popitem(last=False)

    def drop(self, change_id: str) -> None:
        """Keep a household no longer, as one that was only tried: what was really stored has its place."""
        with self._lock:
            self._by_change.pop(change_id, None)


KEPT = Kept()
