"""Long work: asked for once, watched, stopped with its best, taken up again when its worker is gone."""

import stat
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from app.jobs.jobs import AGAIN_AT_MOST, LOST_S, Busy, Jobs, look, take_up
from app.jobs.shelf import PARTS, Shelf
from app.jobs.work import KEPT_S, Found, Work, tidy, work_on, work_once

Report = Callable[[Found], bool]


class Clock:
    """A clock that stands until it is moved."""

    def __init__(self) -> None:
        self.now_s = 1_800_000_000.0

    def __call__(self) -> float:
        return self.now_s


class Desk:
    """A page's side and a worker's side of one place, and a kind of work that says what it was asked."""

    def __init__(self, place: str) -> None:
        self.clock = Clock()
        self.hired: list[str] = []
        self.jobs = Jobs(place, self.hired.append, self.clock)
        self.shelf = Shelf(place)
        self.begun: list[tuple[dict[str, Any], Found | None]] = []
        self.kinds: dict[str, Work] = {"count": self.count, "fail": self.fail}

    def count(self, order: dict[str, Any], report: Report, best: Found | None) -> Found:
        """Counts from its best to `to`, and ends where it is told to."""
        self.begun.append((order, best))
        at = best["at"] if best else 0
        while at < order["to"]:
            at += 1
            if not report({"at": at}):
                break
        return {"at": at}

    def fail(self, order: dict[str, Any], report: Report, best: Found | None) -> Found:
        """Reports once, and then cannot go on."""
        report({"at": 1})
        raise RuntimeError("no more")


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Desk]:
    desk = Desk(str(tmp_path / "deeper" / "jobs.sqlite3"))
    monkeypatch.setattr("app.jobs.work.time.time", desk.clock)
    yield desk
    desk.jobs.close()
    desk.shelf.close()


def test_what_is_asked_for_is_done_and_found(desk: Desk) -> None:
    """It waits, a worker is seen to, it is done, and its result is there for whoever asks."""
    key = desk.jobs.ask("count", {"to": 3})
    waiting = desk.jobs.look(key)
    assert waiting is not None
    assert (waiting.state, waiting.best, waiting.ended) == ("waiting", None, False)
    assert len(desk.hired) == 2

    assert work_once(desk.shelf, desk.kinds)
    done = desk.jobs.look(key)
    assert done is not None
    assert (done.state, done.best, done.ended) == ("done", {"at": 3}, True)
    assert not work_once(desk.shelf, desk.kinds)
    assert desk.jobs.look("0" * 64) is None


def test_the_same_is_never_worked_out_twice(desk: Desk) -> None:
    """Whoever asks for the same, in whatever order its fields stand, finds the same job, done or not."""
    key = desk.jobs.ask("count", {"to": 2, "for": "Ö"})
    assert desk.jobs.ask("count", {"for": "Ö", "to": 2}) == key
    while work_once(desk.shelf, desk.kinds):
        pass
    assert desk.jobs.ask("count", {"for": "Ö", "to": 2}) == key
    assert not work_once(desk.shelf, desk.kinds)
    assert len(desk.begun) == 1
    assert desk.jobs.ask("count", {"for": "Ö", "to": 3}) != key


def test_stopped_it_keeps_its_best_and_can_go_on(desk: Desk) -> None:
    """A job that is stopped ends at its next report; let on, it begins where it was."""
    key = desk.jobs.ask("count", {"to": 5})
    desk.jobs.stop(key)
    work_once(desk.shelf, desk.kinds)
    stopped = desk.jobs.look(key)
    assert stopped is not None
    assert (stopped.state, stopped.stopped, stopped.best) == ("done", True, {"at": 1})

    desk.jobs.go_on(key)
    desk.jobs.go_on(key)  # pressed twice
    while work_once(desk.shelf, desk.kinds):
        pass
    done = desk.jobs.look(key)
    assert done is not None
    assert (done.state, done.stopped, done.best) == ("done", False, {"at": 5})
    assert [best for _, best in desk.begun] == [None, {"at": 1}]


def test_of_what_nobody_asked_for_nothing_is_kept(desk: Desk) -> None:
    """Stopping a job that is not there, or letting it on, leaves nothing behind."""
    desk.jobs.stop("1" * 64)
    desk.jobs.go_on("1" * 64)
    assert desk.shelf.jobs() == []
    assert desk.shelf.get("1" * 64, "stop") is None


def interrupted(desk: Desk) -> str:
    """A job that was at three of nine when its worker went."""
    key = desk.jobs.ask("count", {"to": 9})
    assert desk.shelf.next() == key
    desk.shelf.put(key, "state", {"state": "working", "again": 0, "at": desk.clock()})
    desk.shelf.put(key, "best", {"at": 3})
    desk.shelf.put(key, "beat", desk.clock())
    return key


def test_a_job_nobody_is_heard_of_is_lost_and_goes_on_from_its_best(desk: Desk) -> None:
    """While its worker is heard of it is under way; later it is lost, is queued once, and ends."""
    key = interrupted(desk)
    working = desk.jobs.look(key)
    assert working is not None
    assert (working.state, working.best) == ("working", {"at": 3})
    desk.clock.now_s += LOST_S + 1
    lost = [desk.jobs.look(key) for _ in range(3)]
    assert [one.state for one in lost if one is not None] == ["lost", "waiting", "waiting"]
    while work_once(desk.shelf, desk.kinds):
        pass
    done = desk.jobs.look(key)
    assert done is not None
    assert (done.state, done.best, done.again) == ("done", {"at": 9}, 1)
    assert desk.begun == [({"to": 9}, {"at": 3})]


def test_the_next_worker_begins_with_what_was_under_way(desk: Desk) -> None:
    """Nobody need look at a page for that; what another is at is left to it."""
    key = interrupted(desk)
    tidy(desk.shelf, desk.clock())
    assert not work_once(desk.shelf, desk.kinds)
    desk.clock.now_s += LOST_S + 1
    work_on(desk.shelf, desk.kinds, idle_s=0.3)
    done = desk.jobs.look(key)
    assert done is not None
    assert (done.state, done.best) == ("done", {"at": 9})


def test_a_beat_that_is_still_to_come_is_not_heard(desk: Desk) -> None:
    """After a power cut a clock may begin an hour early: what nobody is at goes on at once, not an hour later."""
    key = interrupted(desk)
    waits = desk.jobs.ask("count", {"to": 1})
    desk.shelf.put("workers", "beat", desk.clock())
    desk.clock.now_s -= 3600
    lost = [desk.jobs.look(one) for one in (key, waits)]
    assert [one.state for one in lost if one is not None] == ["lost", "lost"]
    while work_once(desk.shelf, desk.kinds):
        pass
    assert [job.state for one in (key, waits) if (job := desk.jobs.look(one))] == ["done", "done"]


def test_of_two_who_find_a_job_lost_one_takes_it_up(desk: Desk) -> None:
    """It lies in the queue once."""
    key = interrupted(desk)
    desk.clock.now_s += LOST_S + 1
    assert desk.shelf.claim(key, "beat")  # as another, between this one's look and its own try
    take_up(desk.shelf, key, desk.clock())
    assert desk.shelf.next() is None


def test_what_kills_every_worker_is_given_up(desk: Desk) -> None:
    """After so many beginnings the page is told that it failed, with what there was."""
    key = interrupted(desk)
    for _ in range(AGAIN_AT_MOST + 1):
        desk.clock.now_s += LOST_S + 1
        desk.jobs.look(key)
        if desk.shelf.next() == key:
            kept = desk.shelf.get(key, "state")
            desk.shelf.put(key, "state", kept | {"state": "working"})
    job = desk.jobs.look(key)
    assert job is not None
    assert (job.state, job.best) == ("failed", {"at": 3})


def test_behind_others_a_job_is_not_lost(desk: Desk) -> None:
    """As long as some worker is heard of it waits its turn; with none it is lost."""
    key = desk.jobs.ask("count", {"to": 1})
    desk.clock.now_s += 5 * LOST_S
    desk.shelf.put("workers", "beat", desk.clock() - 1)
    waiting = look(desk.shelf, key, desk.clock())
    assert waiting is not None
    assert waiting.state == "waiting"
    desk.clock.now_s += LOST_S
    lost = look(desk.shelf, key, desk.clock())
    assert lost is not None
    assert lost.state == "lost"


def test_a_job_that_fails_says_so_and_takes_nobody_with_it(desk: Desk, caplog: pytest.LogCaptureFixture) -> None:
    """Its best is kept, the next job is done, and an unknown kind fails alike; asked to go on it is tried again."""
    keys = [desk.jobs.ask("fail", {"n": 1}), desk.jobs.ask("unknown", {}), desk.jobs.ask("count", {"to": 1})]
    while work_once(desk.shelf, desk.kinds):
        pass
    jobs = [desk.jobs.look(key) for key in keys]
    assert [one.state for one in jobs if one is not None] == ["failed", "failed", "done"]
    assert jobs[0] is not None
    assert jobs[0].best == {"at": 1}
    assert "no more" in caplog.text
    desk.jobs.go_on(keys[0])
    assert work_once(desk.shelf, desk.kinds)


def test_old_results_are_not_kept_for_ever(desk: Desk) -> None:
    """After two weeks nothing of a job is left."""
    key = desk.jobs.ask("count", {"to": 1})
    work_once(desk.shelf, desk.kinds)
    tidy(desk.shelf, desk.clock() + KEPT_S - 60)
    assert desk.shelf.jobs() == [key]
    tidy(desk.shelf, desk.clock() + KEPT_S + 60)
    assert desk.shelf.jobs() == []
    assert desk.jobs.look(key) is None


def test_without_a_place_the_jobs_go_with_the_process() -> None:
    """Nothing is opened before somebody asks, and nothing stays."""
    places: list[str] = []
    jobs = Jobs("", places.append)
    jobs.close()
    assert places == []
    jobs.ask("count", {"to": 1})
    assert Path(places[0]).exists()
    jobs.close()
    assert not Path(places[0]).exists()


def test_what_is_forgotten_leaves_nothing_not_even_while_it_is_done(desk: Desk) -> None:
    """Everything that was asked about one thing goes; what is under way ends at its next report."""
    done = desk.jobs.ask("count", {"to": 2, "of": "a"})
    while work_once(desk.shelf, desk.kinds):
        pass
    under_way, other = desk.jobs.ask("count", {"to": 9, "of": "a"}), desk.jobs.ask("count", {"to": 3, "of": "b"})
    counted = desk.count

    def count(order: dict[str, Any], report: Report, best: Found | None) -> Found:
        report({"at": 1})
        desk.jobs.forget("a")
        return counted(order, report, {"at": 1})

    desk.kinds["count"] = count
    work_once(desk.shelf, desk.kinds)
    assert desk.shelf.jobs() == [other]
    assert not any(desk.shelf.get(key, part) for key in (done, under_way) for part in PARTS)


def test_more_than_one_would_wait_behind_is_refused_but_not_what_is_there(desk: Desk) -> None:
    """Nothing of a refused job is kept; one that waits or is done is found by whoever asks."""
    keys = [desk.jobs.ask("count", {"to": to}, behind_at_most=1) for to in (1, 2)]
    desk.hired.clear()
    with pytest.raises(Busy):
        desk.jobs.ask("count", {"to": 3}, behind_at_most=1)
    assert desk.hired  # what waits is worked on all the same
    assert desk.shelf.jobs() == sorted(keys)
    assert desk.jobs.ask("count", {"to": 2}, behind_at_most=1) == keys[1]
    work_once(desk.shelf, desk.kinds)
    assert desk.jobs.ask("count", {"to": 3}, behind_at_most=1) not in keys


def test_a_storage_that_cannot_be_used_is_told_as_such(tmp_path: Path) -> None:
    """A folder where the file should be: one kind of error, whatever the storage's own is."""
    jobs = Jobs(str(tmp_path), lambda _: None)
    with pytest.raises(OSError, match="file of long work"):
        jobs.ask("count", {"to": 1})
    with pytest.raises(OSError, match="file of long work"):
        jobs.forget("a")


class Away:
    """A storage that is out of reach for some of what is asked of it."""

    def __init__(self, desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
        self.parts: dict[str, int] = {}
        self.asked: list[str] = []
        monkeypatch.setattr("app.jobs.work.BEAT_S", 0.01)
        put = desk.shelf.put

        def reach(key: str, part: Any, value: Any) -> None:
            self.asked.append(f"{key}.{part}")
            if self.parts.get(part, 0) > 0:
                self.parts[part] -= 1
                raise OSError("the file of long work cannot be used: database is locked")
            put(key, part, value)

        monkeypatch.setattr(desk.shelf, "put", reach)


def test_a_worker_is_heard_of_again_after_a_moment_in_which_nothing_could_be_written(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """So what waits behind its work is not told as lost, and is not given up."""
    away = Away(desk, monkeypatch)

    def count(order: dict[str, Any], report: Report, best: Found | None) -> Found:
        away.parts["beat"] = 4
        away.asked.clear()
        ends_s = time.monotonic() + 30
        while away.parts["beat"] or away.asked.count("workers.beat") < 9:
            assert time.monotonic() < ends_s
            time.sleep(0.005)
        return {"at": 1}

    desk.kinds["count"] = count
    first, second = (desk.jobs.ask("count", {"to": to}) for to in (1, 2))
    work_on(desk.shelf, desk.kinds, idle_s=0.2)
    assert [job.state for one in (first, second) if (job := desk.jobs.look(one))] == ["done", "done"]


@pytest.mark.parametrize("part", ["state", "best"])
def test_what_was_worked_for_outlives_a_moment_in_which_nothing_could_be_written(
    desk: Desk, monkeypatch: pytest.MonkeyPatch, part: str
) -> None:
    """Neither the report nor the end of a job fails for it."""
    away = Away(desk, monkeypatch)
    key = desk.jobs.ask("count", {"to": 3})
    away.parts[part] = 2
    work_on(desk.shelf, desk.kinds, idle_s=0.2)
    done = desk.jobs.look(key)
    assert done is not None
    assert (done.state, done.best, done.again) == ("done", {"at": 3}, 0)


def test_a_storage_that_stays_out_of_reach_ends_the_worker(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever started it by hand is told; what it was at is taken up by the next."""
    monkeypatch.setattr("app.jobs.work.PATIENCE_S", 0.05)
    away = Away(desk, monkeypatch)
    desk.jobs.ask("count", {"to": 3})
    away.parts["state"] = 10_000
    with pytest.raises(OSError, match="locked"):
        work_on(desk.shelf, desk.kinds, idle_s=60)


def test_the_file_of_jobs_is_its_owners_alone(desk: Desk, tmp_path: Path) -> None:
    """It holds whole households. Its folder is made so, too."""
    folder = tmp_path / "deeper"
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert {stat.S_IMODE(one.stat().st_mode) for one in folder.iterdir()} == {0o600}
