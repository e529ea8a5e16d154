"""Compiled loops: made ready for what comes, the same as they are written, and at work where nothing can be kept."""

import errno
import importlib.util
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numba.core.errors import TypingError

from app.engine import flows
from app.engine.assess import assess_day
from app.engine.compiled import compiled
from app.engine.day import PlannedDay, lay_day
from app.engine.odds import block, by_state, entries, evenly, first_step, lasting, passing, past, trips
from app.engine.odds.odds import OddsOfDay
from app.engine.odds.passing import Passing
from app.engine.ready import get_ready
from app.engine.sun import suns_of
from app.household.file import household_from
from app.household.resolve import resolve
from tests.benchmarks.odds import LIMITS, everything, household

LOOPS: tuple[tuple[Any, str], ...] = (
    (by_state, "follow_all"),
    (entries, "instants"),
    (evenly, "places_reached"),
    (entries, "by_place"),
    (entries, "climbed"),
    (block, "first_less"),
    (first_step, "first_steps"),
    (passing, "moved_per_day"),
    (past, "walk_back"),
    (trips, "nothing_before"),
    (flows, "followed"),
)


def test_made_ready_nothing_is_compiled_any_more() -> None:
    """Odds of days of some kinds meet each loop in the kinds of numbers for which it was made ready."""
    get_ready()
    for document in (household(12, supply=1.15), household(8, seed=3), household(5)):
        day = lay_day(resolve(household_from(document)))
        assess_day(day, suns_of(day.resolved))
        everything(day)

    for module, loop in LOOPS:
        assert len(getattr(module, loop).in_machine_code().signatures) == 1, loop


def test_compiled_as_written(monkeypatch: pytest.MonkeyPatch) -> None:
    """The loops run by Python itself, number by number, come to the same figures; of fewer moments than usual."""
    few = {lasting: ("LEAST", "MOST_SURE", "MOST_FINE", "PER_PASSING_A_DAY"), trips: ("FEWEST", "MOST")}
    for module, names in few.items():
        for name in names:
            monkeypatch.setattr(module, name, 100)
    day = lay_day(resolve(household_from(household(5))))
    fast = everything(day)
    for module, loop in LOOPS:
        monkeypatch.setattr(module, loop, getattr(module, loop).__wrapped__)

    assert everything(day) == pytest.approx(fast, rel=1e-9)
    assert min(fast["broken inverter_overload"], fast["broken battery_peak"]) > 0


def test_without_a_place_to_keep_it() -> None:
    """A loop of no file, as in a read-only installation, is compiled each time."""
    scope: dict[str, Any] = {}
    exec("def twice(figure):\n    return 2 * figure", scope)

    assert compiled(scope["twice"])(21) == 42


@pytest.fixture
def twice(tmp_path: Path) -> Any:
    """A loop in a file of its own."""
    file = tmp_path / "loops.py"
    file.write_text("def twice(figure):\n    return 2 * figure\n")
    spec = importlib.util.spec_from_file_location("loops", file)
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.twice


@pytest.mark.parametrize("suffix", ["nbi", "nbc"])
@pytest.mark.parametrize("left", [0, 0.5])
def test_what_a_power_cut_left_of_it_is_made_anew(twice: Any, tmp_path: Path, suffix: str, left: float) -> None:
    """Half a file, or none of it: it is compiled, and the next start finds a whole one."""
    assert compiled(twice)(21) == 42
    (kept,) = tmp_path.rglob(f"*.{suffix}")
    whole = kept.read_bytes()
    kept.write_bytes(whole[: int(left * len(whole))])

    again = compiled(twice)
    assert (again(21), again(4)) == (42, 8)
    assert not list(tmp_path.rglob("*.nb?"))
    assert compiled(twice)(21) == 42
    assert len(kept.read_bytes()) == len(whole)


def test_without_room_to_keep_it(twice: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """A full disk: it runs all the same, and what is wrong with a call itself is still said."""

    def full(*_: Any) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("numba.core.caching.IndexDataCacheFile.save", full)
    run = compiled(twice)
    assert (run(21), run(2.5)) == (42, 5)
    with pytest.raises(TypingError):
        run(None)


def light_beside(heavy: int, light: int, on_s: float, off_s: float, allowed_s: float) -> PlannedDay:
    """Heavy loads that pass a level only all together, and light ones that decide nothing."""
    document = household(heavy + light, supply=1.0)
    *loads, machine = document["appliances"]
    machine["stages"] = [{"duration_s": 80_000, "watts": 100}]
    for number, one in enumerate(loads):
        is_heavy = number < heavy
        cycle = {"on_s": 800 + 100 * number, "period_s": 4800 + 1100 * number}
        if not is_heavy:
            cycle = {"on_s": on_s * (1 + 0.02 * number), "period_s": (on_s + off_s) * (1 + 0.02 * number)}
        one["stages"] = [{"duration_s": None, "watts": 2000 if is_heavy else 2, "cycle": cycle}]
    inverter = document["supply"]["inverter"]
    inverter |= {"rated_va": 2000 * heavy - 400, "continuous_w": [[25, 2000 * heavy - 400]]}
    inverter["overload"] = [[9000 * heavy, allowed_s]]
    return lay_day(resolve(household_from(document)))


def lasting_of(day: PlannedDay) -> tuple[float, float]:
    """How often a day the first level is passed, and how often for too long."""
    under = OddsOfDay(day, LIMITS)._house.under
    passed = Passing(under, under.rule.of_store(0))
    return passed.per_day, lasting.lasting(passed, under.rule.allowed_s[0]).per_day


@pytest.mark.parametrize(("off_s", "allowed_s"), [(600, 300), (60, 30)])
def test_loads_that_decide_nothing_make_nothing_rougher(off_s: int, allowed_s: int) -> None:
    """Two heavy loads, worked out by hand, are told the same alone and with twelve light ones beside them."""
    on_ms, off_ms = np.array([800, 900]) * 1000.0, np.array([4000, 5000]) * 1000.0
    long = light_beside(2, 12, off_s / 10, off_s, allowed_s)
    alone = light_beside(2, 0, 1, 1, allowed_s)
    share, allowed_ms = on_ms / (on_ms + off_ms), allowed_s * 1000
    # Each comes on while the other is on, which stays so by how much of its time is left at random.
    both = sum(
        86_400_000 / (on_ms[one] + off_ms[one]) * share[1 - one] * (1 - allowed_ms / on_ms[1 - one]) for one in (0, 1)
    )

    assert lasting_of(alone)[1] == pytest.approx(both, rel=1e-3)
    assert lasting_of(long)[1] == pytest.approx(lasting_of(alone)[1], rel=1e-3)


@pytest.mark.parametrize("interlocked", [False, True])
def test_what_is_not_followed_to_its_end_is_taken_to_last(
    *, interlocked: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A heavy load that stays on far longer than is allowed, beside some that change many times a second."""
    monkeypatch.setattr("app.engine.odds.lasting.by_state", lambda _: not interlocked)
    monkeypatch.setattr("app.engine.odds.followed.MOST_EVENTS", 50)
    per_day, long = lasting_of(light_beside(1, 3, 0.06, 0.06, 60))

    assert long == pytest.approx(per_day, rel=1e-6)
