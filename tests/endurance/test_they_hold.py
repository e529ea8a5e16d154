"""Small sizes of the long runs, and that the written results are of the code as it is."""

import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor

import pytest

from tests.endurance.child import Child, child
from tests.endurance.kills import survive
from tests.endurance.pages import hang
from tests.endurance.results import COVERS, fingerprint, kept


@pytest.fixture(scope="module")
def server() -> Iterator[Child]:
    """One server for both: most of what they take is its starts, and the second begins where the first left it."""
    with child() as started:
        yield started


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="reads the figures of a process as Linux has them")
def test_pages_that_wait_take_no_thread_and_hear_of_a_change(server: Child) -> None:
    """Eighty of them hang on one process through a change and a restart; each hears of both."""
    # In a thread of its own, for the browser's tests leave a running loop in theirs.
    with ThreadPoolExecutor(1) as apart:
        found = apart.submit(hang, 80, idle_s=0.3, server=server).result()

    assert found["heard"] == found["heard_after_restart"] == 80
    assert found["threads"] < 80


def test_whatever_was_acknowledged_survives_two_kills(server: Child) -> None:
    """Four write while the server is killed: nothing is lost, nothing is damaged, and no count is missing."""
    found = survive(2, server=server)

    assert found["acknowledged"] > 0
    assert (found["lost"], found["damaged"], found["gaps"], found["answered_otherwise"]) == (0, 0, 0, 0)


@pytest.mark.parametrize("name", COVERS)
def test_the_written_results_are_of_this_code(name: str) -> None:
    """What they are about was not changed since: `python -m tests.endurance` writes them anew."""
    results = kept()[name]

    assert results["of"] == fingerprint(name)
    if name == "kills":
        assert results["kills"] >= 50
        assert (results["lost"], results["damaged"], results["gaps"]) == (0, 0, 0)
    else:
        assert results["heard"] == results["heard_after_restart"] == results["pages"] >= 200
