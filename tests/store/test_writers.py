"""Several writers at once."""

import threading
from collections.abc import Callable
from dataclasses import replace

from app.household.resolve import resolve
from app.store.commands import AddRun, apply
from app.store.errors import Stale
from app.store.history import recent
from app.store.links import find_link
from tests.store.doing import done, envelope, plan_key, steps_of, undone
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


def test_of_two_changes_to_one_field_the_later_stands(mill: Mill) -> None:
    """Two tabs that move the same run from the same state are both stored, one after the other."""
    move = mill.switch("wash", "first", field="start")

    def mover(start: str) -> Callable[[], None]:
        def move_it() -> None:
            with mill.database.session() as session:
                apply(session, replace(move, tab=start, value=start))
                session.commit()

        return move_it

    at_once(mover("09:05"), mover("09:10"))

    with mill.database.session() as session:
        last, first, _ = recent(session, mill.key, 10)
    assert last.inverse["value"] == first.command["value"]
    assert mill.exported()["scenarios"][0]["runs"][1]["start"] == last.command["value"]


def test_two_runs_added_at_once_are_two(mill: Mill) -> None:
    """Each gets an id of its own, and both stand."""
    about = envelope(mill) | {"scenario_key": plan_key(mill, "bare")}

    def adder(tab: str, start: str) -> Callable[[], None]:
        def add() -> None:
            done(mill, AddRun(**(about | {"tab": tab}), document={"appliance": "pump", "start": start}))

        return add

    at_once(adder("kitchen", "09:00"), adder("phone", "10:00"))

    runs = mill.stored().days["bare"].runs
    assert [run.id for run in runs] == ["pump-1", "pump-2"]
    assert {run.start for run in runs} == {"09:00", "10:00"}


def test_of_two_undos_of_one_step_one_is_stale(mill: Mill) -> None:
    """Two phones that undo the same change at once take back that one and no other."""
    done(mill, mill.switch("wash", "first"))
    done(mill, mill.switch("wash", "second", sequence=2))
    step = steps_of(mill, "wash").undo
    assert step is not None
    stale: list[Stale] = []

    def undoer(tab: str) -> Callable[[], None]:
        def undo_it() -> None:
            try:
                undone(mill, "wash", change_id=step.id, tab=tab)
            except Stale as refused:
                stale.append(refused)

        return undo_it

    at_once(undoer("kitchen"), undoer("phone"))

    assert len(stale) == 1
    assert [run.on for run in mill.stored().days["wash"].runs] == [True, False, True]


def test_readers_do_not_wait_for_a_writer(mill: Mill) -> None:
    """While a change is not yet committed, others read the state before it."""
    with mill.database.session() as writing:
        apply(writing, mill.switch("wash", "first"))
        assert mill.stored().revision == 1
        writing.commit()
    assert mill.stored().revision == 2
