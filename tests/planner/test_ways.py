"""Ways out of a plan that does not fit: each is what it claims to be, and the nearest of its kind."""

import json
from typing import Any

import pytest

from app.engine.assess import assess
from app.household.demo import demo_text
from app.household.file import household_from
from app.household.moved import with_run
from app.planner.ways import RED, Way
from tests.application import ways_out_once


def demo(**runs: dict[str, Any]) -> dict[str, Any]:
    """The demo household's document, some runs of its laundry day changed."""
    document: dict[str, Any] = json.loads(demo_text())
    laundry = next(one for one in document["scenarios"] if one["id"] == "laundry")
    for run in laundry["runs"]:
        run |= runs.get(run["id"].replace("-", "_"), {})
    return document


def found(document: dict[str, Any], plan: str) -> tuple[Way, ...]:
    household = household_from(document)
    return ways_out_once(household, plan, assess(household, plan))


# The second wash, the dishes and the dryer heat at once.
CROWDED = demo(wash_2={"start": "11:40"}, dry_1={"start": "11:30"}, dishes={"start": "11:35"})


@pytest.mark.parametrize(("document", "plan"), [(demo(), "shed"), (CROWDED, "laundry")], ids=["shed", "crowded"])
def test_a_way_out_is_what_the_engine_says_of_the_changed_plan(document: dict[str, Any], plan: str) -> None:
    """Carrying out a way gives the very assessment it came with, and that is not red."""
    household = household_from(document)
    ways = found(document, plan)

    assert ways
    for way in ways:
        fields = {"on": False} if way.start is None else {"start": way.start}
        again = assess(with_run(household, plan, way.run_id, fields), plan)
        assert again.verdict not in RED
        assert [(one.id, one.margin) for one in again.limits] == [(one.id, one.margin) for one in way.assessment.limits]


def test_a_plan_that_fits_needs_no_way_out() -> None:
    """Nothing is offered where nothing is red."""
    assert found(demo(), "ordinary") == ()


def test_the_nearest_time_is_offered() -> None:
    """No time nearer than the offered one, in steps of five minutes within the hour, is better than red."""
    household = household_from(CROWDED)
    way = next(one for one in found(CROWDED, "laundry") if one.start is not None)
    runs = next(one for one in household.scenarios if one.id == "laundry").runs
    before = next(run.start for run in runs if run.id == way.run_id)
    distance = abs(minutes(way.start or "") - minutes(before))

    for nearer in range(5, min(distance, 61), 5):
        for start in (minutes(before) + nearer, minutes(before) - nearer):
            tried = with_run(household, "laundry", way.run_id, {"start": f"{start // 60:02d}:{start % 60:02d}"})
            assert assess(tried, "laundry").verdict in (*RED, "short_time")


def test_a_window_is_kept() -> None:
    """A run with a window is only moved inside it; without one the wash would be offered 11:25."""
    document = demo(
        wash_2={"start": "11:40", "window": ["11:30", "12:30"]}, dry_1={"start": "11:30"}, dishes={"start": "11:35"}
    )
    laundry = next(one for one in document["scenarios"] if one["id"] == "laundry")
    at_once = [one for one in laundry["runs"] if one["id"] in ("wash-2", "dry-1", "dishes")]
    laundry["runs"] = [{name: one[name] for name in one if name not in ("after", "within_s")} for one in at_once]
    offered = {way.run_id: way.start for way in found(document, "laundry")}

    assert 11 * 60 + 30 <= minutes(offered["wash-2"] or "") <= 12 * 60 + 30


def test_a_run_of_a_plan_with_a_parent_is_moved_among_its_changes() -> None:
    """A plan that inherits its runs gets ways out as well."""
    document = demo()
    document["scenarios"].append(
        {"id": "child", "name": "Child", "date": "2026-05-17", "parent": "laundry",
         "changes": {"runs": {"wash-2": {"start": "11:40"}, "dry-1": {"start": "11:30"}, "dishes": {"start": "11:35"}}}}
    )  # fmt: skip

    assert found(document, "child")


def minutes(wall_clock: str) -> int:
    return int(wall_clock[:2]) * 60 + int(wall_clock[3:5])
