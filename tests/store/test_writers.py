"""Several writers at once."""

import threading
from collections.abc import Callable
from dataclasses import replace

from app.household.resolve import resolve
from app.store.commands import apply
from app.store.errors import Stale
from app.store.history import recent
from app.store.links import find_link
from tests.store.sample import Mill

TAPS = 15


def at_once(*jobs: Callable[[], None]) -> None:
    """Run jobs in threads that begin together; what any of them raises is raised here."""
    raised: list[BaseException] = []
    gate = threading.Barrier(len(jobs))

    def run(job: Callable[[], None]) -> None:
        try:
            gate.wait()
            job()
        except BaseException as error:  # handed to the test's own thread
            raised.append(error)

    threads = [threading.Thread(target=run, args=(job,)) for job in jobs]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    if raised:
        raise raised[0]


def test_two_writers_lose_nothing(mill: Mill) -> None:
    """Two people who tap two runs as fast as they can both find all their taps stored, in one order."""

    def tap(run: str) -> Callable[[], None]:
        first = mill.switch("wash", run, tab=run)

        def taps() -> None:
            for number in range(1, TAPS + 1):
                with mill.database.session() as session:
                    # As every request does: something is read first, on a state that soon is old.
                    assert find_link(session, "nobody's") is None
                    command = replace(first, value=number % 2 == 0, sequence=number, revision=10_000)
                    apply(session, command)
                    session.commit()

        return taps

    at_once(tap("first"), tap("second"))

    stored = mill.stored()
    with mill.database.session() as session:
        log = recent(session, mill.key, 1000)
    assert stored.revision == 1 + 2 * TAPS
    assert [change.revision for change in log] == list(range(1 + 2 * TAPS, 0, -1))
    runs = {run.id: run.on for run in resolve(stored.household, "wash").day.runs}
    assert runs == {"first": False, "second": False, "pump": True}


def test_of_two_changes_to_one_field_one_is_stale(mill: Mill) -> None:
    """Two tabs that move the same run from the same state: one is stored, the other told so."""
    move = mill.switch("wash", "first", field="start")
    stored: list[str] = []
    stale: list[str] = []

    def mover(start: str) -> Callable[[], None]:
        def move_it() -> None:
            with mill.database.session() as session:
                try:
                    apply(session, replace(move, tab=start, value=start))
                    session.commit()
                except Stale:
                    stale.append(start)
                else:
                    stored.append(start)

        return move_it

    at_once(mover("09:05"), mover("09:10"))

    assert len(stored) == len(stale) == 1
    assert mill.exported()["scenarios"][0]["runs"][1]["start"] == stored[0]


def test_readers_do_not_wait_for_a_writer(mill: Mill) -> None:
    """While a change is not yet committed, others read the state before it."""
    with mill.database.session() as writing:
        apply(writing, mill.switch("wash", "first"))
        assert mill.stored().revision == 1
        writing.commit()
    assert mill.stored().revision == 2
