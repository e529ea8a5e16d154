"""Laundry day on the demo household: what is offered, why, what cannot be, and what is said of a bad wish."""

import json
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from app.cli import main
from app.engine.assess import assess
from app.engine.day import lay_day
from app.engine.typical import typical_draw
from app.household.demo import demo_text
from app.household.errors import HouseholdFaults
from app.household.fields import wall_clock_s
from app.household.file import household_from
from app.household.household import Household
from app.household.moved import with_runs
from app.household.resolve import resolve
from app.planner.laundry.confirm import Confirmed
from app.planner.laundry.found import Proposal, Stuck
from app.planner.laundry.look import Looked
from app.planner.laundry.reading import length_ms, read_task
from app.planner.laundry.reasons import reasons
from app.planner.laundry.search import search
from app.planner.laundry.task import SLOT_MS
from app.planner.laundry.wish import Wish
from app.planner.laundry.work import laundry_work, wish_document, wish_from
from app.planner.ways import RED
from app.web.report import report
from tests.engine.home import house, load

LAUNDRY = ("wash-1", "wash-2", "dry-1", "dry-2", "dishes")


def demo(scenario: str = "laundry", **runs: dict[str, Any]) -> dict[str, Any]:
    """The demo's file, some runs of a plan changed."""
    document: dict[str, Any] = json.loads(demo_text())
    plan = next(one for one in document["scenarios"] if one["id"] == scenario)
    for run in plan["runs"]:
        run |= runs.get(run["id"].replace("-", "_"), {})
    return document


def look(document: dict[str, Any], wish: Wish, seconds: float = 0.5) -> Proposal | Stuck:
    return search(household_from(document), "laundry", wish, seconds=seconds, prove=False)


def found(document: dict[str, Any], wish: Wish, seconds: float = 0.5) -> Proposal:
    proposal = look(document, wish, seconds)
    assert isinstance(proposal, Proposal)
    return proposal


def faults_of(document: dict[str, Any], wish: Wish) -> dict[str, str]:
    with pytest.raises(HouseholdFaults) as refused:
        look(document, wish)
    return {fault.path: fault.why for fault in refused.value.faults}


def moved(document: dict[str, Any], proposal: Proposal) -> Household:
    return with_runs(household_from(document), "laundry", {run: {"start": at} for run, at in proposal.starts.items()})


def spans(household: Household, proposal: Proposal) -> dict[str, tuple[int, int]]:
    """When each run goes, in minutes."""
    resolved = resolve(household, "laundry")
    runs = {run.id: run for run in resolved.day.runs}
    begins = {run: wall_clock_s(at) // 60 for run, at in proposal.starts.items()}
    return {run: (begin, begin + length_ms(resolved, runs[run]) // 60_000) for run, begin in begins.items()}


def test_what_is_offered_is_what_assess_says() -> None:
    """The plan with the starts in it gets the very assessment that came with them, and it is not red."""
    document = demo()
    proposal = found(document, Wish(LAUNDRY))
    after = assess(moved(document, proposal), "laundry")
    assert after.verdict == proposal.assessment.verdict
    assert after.verdict not in RED
    assert [one.margin for one in after.limits] == [one.margin for one in proposal.assessment.limits]
    assert proposal.cannot_be_below_wh <= proposal.through_bank_wh


def test_everything_that_was_wanted_holds() -> None:
    """Windows, order, gaps, quiet hours, done by, one machine: of every run, whatever the seed."""
    document = demo()
    wish = Wish(LAUNDRY, quiet=(("12:30", "13:00"),), not_before="09:00", done_by="17:30")
    for seed in (1, 2):
        proposal = search(household_from(document), "laundry", wish, seconds=0.5, seed=seed, prove=False)
        assert isinstance(proposal, Proposal)
        at = spans(household_from(document), proposal)
        for begin, end in at.values():
            assert begin >= 9 * 60 and end <= 17 * 60 + 30
            assert end <= 12 * 60 + 30 or begin >= 13 * 60
        for wash, dry in (("wash-1", "dry-1"), ("wash-2", "dry-2")):
            assert 0 <= at[dry][0] - at[wash][1] <= 120
        for one, other in (("wash-1", "wash-2"), ("dry-1", "dry-2")):
            assert at[one][1] <= at[other][0] or at[other][1] <= at[one][0]


def test_less_goes_through_the_bank_than_before() -> None:
    """What it promises is what the engine counts: the bank gives less, and is emptied less far."""
    document = demo(wash_1={"start": "16:20"}, dry_1={"start": "17:40", "window": None}, dishes={"start": "10:00"})
    document["scenarios"][1]["runs"][2].pop("window")
    before = assess(household_from(document), "laundry")
    proposal = found(document, Wish(LAUNDRY), seconds=1.0)
    assert before.battery is not None and proposal.assessment.battery is not None
    assert proposal.assessment.battery.totals.out_of_bank_wh < before.battery.totals.out_of_bank_wh


def test_its_energy_is_the_engines() -> None:
    """What goes through the bank, from the engine's own typical draw of the plan it leads to."""
    import numpy as np

    document = demo()
    household = household_from(document)
    proposal = found(document, Wish(LAUNDRY))
    task, base = read_task(resolve(household, "laundry"), Wish(LAUNDRY))
    edges_ms = np.arange(len(task.room_w) + 1) * 300_000.0
    sun_w = task.room_w + typical_draw(base.laid).mean_on(edges_ms)
    drawn_w = typical_draw(lay_day(resolve(moved(document, proposal), "laundry")).laid).mean_on(edges_ms)
    wh = float(np.maximum(drawn_w - sun_w, 0.0).sum()) / 12
    assert proposal.through_bank_wh == pytest.approx(wh, rel=0.01)


def test_an_interlock_keeps_them_apart() -> None:
    """Washer and dryer that a switch keeps from being on together are not placed together."""
    document = demo()
    document["interlocks"] = [{"of": ["washer", "dryer"], "at_most": 1}]
    at = sorted(spans(household_from(document), found(document, Wish(LAUNDRY[:4]))).values())
    assert all(one[1] <= other[0] for one, other in pairwise(at))


def test_a_plan_that_could_cut_out_only_where_it_may() -> None:
    """The shed's saw and compressor could cut out: not offered unless that is allowed."""
    document = demo()
    shed = next(one for one in document["scenarios"] if one["id"] == "shed")
    runs = shed["changes"]["runs"]
    work = {run: given for run, given in runs.items() if given["appliance"] in ("bandsaw", "compressor")}
    for given in work.values():
        given["window"] = ["14:00", "16:05"]  # both must run at once
    household = household_from(document)
    assert isinstance(search(household, "shed", Wish(tuple(work)), seconds=0.5, prove=False), Stuck)
    allowed = search(household, "shed", Wish(tuple(work), chance=True), seconds=0.5, prove=False)
    assert isinstance(allowed, Proposal) and allowed.assessment.verdict == "chance"


def test_every_run_has_its_reason() -> None:
    """Ten minutes earlier something is worse, and it is the thing that is named."""
    document = demo()
    household = household_from(document)
    wish = Wish(LAUNDRY, not_before="09:30")
    proposal = found(document, wish)
    told = reasons(household, "laundry", wish, proposal)
    assert [one.run for one in told] == list(LAUNDRY)
    task, _ = read_task(resolve(household, "laundry"), wish)
    starts = [wall_clock_s(proposal.starts[run]) // 300 for run in LAUNDRY]
    for place, reason in enumerate(told):
        sooner = [at - 2 if one == place else at for one, at in enumerate(starts)]
        if reason.code == "bank":
            assert reason.after > reason.before
            assert task.through_bank_wh(sooner) == pytest.approx(reason.after)
        if reason.code == "margin":
            assert reason.after < reason.before
        if reason.code == "limit":
            run, at = LAUNDRY[place], sooner[place] * 5
            tried = with_runs(moved(document, proposal), "laundry", {run: {"start": f"{at // 60:02d}:{at % 60:02d}"}})
            assert assess(tried, "laundry").verdict in RED


@pytest.mark.parametrize(
    ("wish", "code"),
    [
        (Wish(("dishes",)), "window"),
        (Wish(("dishes",), not_before="11:00"), "now"),
        (Wish(("dishes",), quiet=(("07:00", "11:30"),)), "quiet"),
    ],
)
def test_what_bounds_a_run_is_its_reason(wish: Wish, code: str) -> None:
    """On a day so bright that it makes no difference, a run begins as soon as it may."""
    document = demo(dishes={"window": ["10:30", "15:00"]})
    document["supply"]["arrays"][0]["peak_w"] = 40000
    document["supply"]["arrays"][0].pop("controller_a")
    for run in document["scenarios"][1]["runs"]:
        run["on"] = run["id"] == "dishes"
    proposal = found(document, wish)
    (reason,) = reasons(household_from(document), "laundry", wish, proposal)
    assert reason.code == code


CROWDED = {one: {"window": ["09:00", "13:30"]} for one in ("wash_1", "wash_2", "dry_1", "dry_2")}


def test_nothing_fits_says_who_is_in_whose_way_and_what_would_help() -> None:
    """The named runs have no day together; without any one of them there is one; every offer is a real day."""
    document = demo(**CROWDED)
    stuck = look(document, Wish(LAUNDRY), seconds=1.5)
    assert isinstance(stuck, Stuck)
    assert set(stuck.runs) == {"wash-1", "wash-2", "dry-1", "dry-2"}
    assert {"window", "leave_off"} <= {one.kind for one in stuck.easings}
    for easing in stuck.easings:
        assert easing.proposal.assessment.verdict not in RED
        if easing.kind == "leave_off":
            assert easing.run is not None and easing.run not in easing.proposal.starts


def test_where_one_fewer_is_not_enough_several_are_left_off() -> None:
    """Three kilns that must all be on at ten, of which the inverter carries one."""
    kilns = ("one", "two", "three")
    document = house(*(load(kiln, 3500, 1800) for kiln in kilns), runs=dict.fromkeys(kilns, "10:00"))
    document["scenarios"][0]["id"] = "laundry"
    for run in document["scenarios"][0]["runs"]:
        run["window"] = ["10:00", "10:35"]
    stuck = look(document, Wish(tuple(f"run-{kiln}" for kiln in kilns)), seconds=1.5)
    assert isinstance(stuck, Stuck)
    (easing,) = [one for one in stuck.easings if one.kind == "leave_off"]
    assert len(easing.proposal.starts) == 1
    assert easing.run is not None and easing.run not in easing.proposal.starts
    assert easing.proposal.assessment.verdict not in RED


def test_no_run_ends_late_for_nothing() -> None:
    """No single run could begin elsewhere for the same energy and margin and let the day end sooner."""
    resolved, wish = resolve(household_from(demo()), "laundry"), Wish(("wash-1", "dry-1", "wash-2"))
    looked = Looked(resolved, wish, 1)
    assert looked.look(10, lambda _proposal, _bound: True, prove=False) is not None
    best, task = looked._local.best, looked.task
    assert best is not None

    def figures(starts: list[int]) -> tuple[float, float, int]:
        ends = [start * SLOT_MS + one.length_ms for start, one in zip(starts, task.loads, strict=True)]
        return task.through_bank_wh(starts), -task.tightest(starts), max(ends)

    through_wh, tight, end = figures(best)
    for place, one in enumerate(task.loads):
        for start in np.flatnonzero(one.begins).tolist():
            other = [*best[:place], start, *best[place + 1 :]]
            wh, used, done = figures(other)
            if done < end and wh <= through_wh + 1e-6 and used <= tight + 1e-9:
                assert not isinstance(looked._judge.judge(other), Confirmed), (one.run, start)


def test_one_that_is_too_much_by_itself_is_named_with_its_limit() -> None:
    """A load above all the inverter carries: nothing else is blamed."""
    document = demo(dishes={"window": ["08:00", "20:00"]})
    dishwasher = next(one for one in document["appliances"] if one["id"] == "dishwasher")
    for stage in dishwasher["stages"]:
        stage["watts"] = 9000
    stuck = look(document, Wish(("wash-1", "dishes")), seconds=1.5)
    assert isinstance(stuck, Stuck)
    assert stuck.runs == ("dishes",)
    assert stuck.limit is not None
    assert any(one.kind == "leave_off" and one.run == "dishes" for one in stuck.easings)


def test_later_helps_where_the_end_is_too_soon() -> None:
    """Both washes and their drying by 13:00 is too soon; the offer is the first later hour that works."""
    document = demo(wash_1={"window": ["09:00", "20:00"]}, wash_2={"window": ["09:00", "20:00"]},
                    dry_1={"window": ["09:00", "20:00"]}, dry_2={"window": ["09:00", "20:00"]})  # fmt: skip
    stuck = look(document, Wish(LAUNDRY[:4], done_by="13:30"), seconds=1.5)
    assert isinstance(stuck, Stuck)
    later = next(one for one in stuck.easings if one.kind == "done_by")
    assert later.clock is not None
    assert max(end for _, end in spans(household_from(document), later.proposal).values()) <= (
        wall_clock_s(later.clock) // 60
    )


def test_bad_wishes_are_refused_where_they_are_wrong() -> None:
    """Each fault names the run or the field, and says what would be right."""
    assert faults_of(demo(), Wish(()))["movable"] == "choose at least one load to be placed"
    assert "too many" in faults_of(demo(), Wish(tuple(f"r{n}" for n in range(40))))["movable"]
    assert "no such run" in faults_of(demo(), Wish(("gone",)))["gone.appliance"]
    short = faults_of(demo(wash_1={"window": ["10:00", "11:00"]}), Wish(("wash-1",)))
    assert "runs for 1 h 16 min" in short["wash-1.window"] and "only 1 h;" in short["wash-1.window"]
    circle = faults_of(demo(wash_1={"after": "dry-1"}), Wish(LAUNDRY))
    assert any("in a circle" in why for path, why in circle.items() if path.endswith(".after"))
    off = faults_of(demo(wash_1={"on": False}), Wish(("dry-1",)))
    assert "which is off" in off["dry-1.after"]
    assert "it is 15:00 already" in faults_of(demo(), Wish(LAUNDRY, not_before="15:00", done_by="14:00"))["done_by"]
    assert "only 45 min is left" in faults_of(demo(), Wish(("dishes",), not_before="13:15", done_by="14:00"))["done_by"]
    assert "quiet hours" in faults_of(demo(), Wish(("dishes",), quiet=(("06:00", "20:00"),)))["quiet"]
    assert "same leave no time" in faults_of(demo(), Wish(("dishes",), quiet=(("06:00", "06:00"),)))["quiet"]
    narrow, dry = {"window": ["10:00", "12:00"]}, {"on": False}
    machine = faults_of(demo(wash_1=narrow, wash_2=narrow, dry_1=dry, dry_2=dry), Wish(("wash-1", "wash-2")))
    assert "2 runs take 2 h 40 min" in machine["wash-2.appliance"]


@pytest.mark.parametrize(("within_s", "fits"), [(60, False), (180, False), (239, False), (240, True), (300, True)])
def test_what_has_to_follow_sooner_than_it_can_begin_is_refused(within_s: float, fits: bool) -> None:
    """A wash of 1 h 16 min is followed 4 minutes after its end at the soonest, for loads begin on full five minutes."""
    follows = demo(dry_1={"within_s": within_s})
    if fits:
        assert spans(household_from(follows), found(follows, Wish(LAUNDRY)))
    else:
        assert "4 min after its end" in faults_of(follows, Wish(LAUNDRY))["dry-1.within"]


def test_the_same_seed_finds_the_same_day() -> None:
    """A search that comes to its end, twice."""
    household = household_from(demo())
    wish = Wish(LAUNDRY[:2])
    days = [search(household, "laundry", wish, seconds=30.0, seed=3, prove=False) for _ in range(2)]
    assert isinstance(days[0], Proposal) and isinstance(days[1], Proposal)
    assert days[0].starts == days[1].starts


def test_a_proof_says_so() -> None:
    """With the prover in its other process: what it cannot be below is what it is."""
    proposal = search(household_from(demo()), "laundry", Wish(("dishes", "wash-1")), seconds=20.0)
    assert isinstance(proposal, Proposal) and proposal.proven


def test_as_a_job_it_reports_stops_and_goes_on() -> None:
    """JSON in and out; stopped, it keeps the best; from there it goes on and is never worse."""
    order: dict[str, Any] = {
        "household": demo(), "scenario": "laundry", "wish": wish_document(Wish(LAUNDRY)), "seconds": 20.0, "seed": 1,
        "begin": None,
    }  # fmt: skip
    assert wish_from(json.loads(json.dumps(order["wish"]))) == Wish(LAUNDRY)
    told: list[dict[str, Any]] = []

    def once(one: dict[str, Any]) -> bool:
        told.append(one)
        return False

    stopped = laundry_work(json.loads(json.dumps(order)), once)
    assert stopped["state"] == "found" and len(told) == 1 and told[0]["starts"] == stopped["starts"]
    went_on = laundry_work(json.loads(json.dumps(order | {"begin": stopped["starts"], "seconds": 0.5})), lambda _: True)
    assert went_on["through_bank_wh"] <= stopped["through_bank_wh"] + 1e-6
    order["wish"]["movable"] = []
    assert laundry_work(order, lambda _: True)["faults"] == [["movable", "choose at least one load to be placed"]]


def test_the_command_line_says_the_same(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Starts, energy, bound and the assessment of the day with them; a plan without windows is refused in words."""
    file = tmp_path / "house.json"
    file.write_text(json.dumps(demo()))
    assert main(["plan", str(file), "--scenario", "laundry", "--seconds", "0.5"]) == 0
    said = json.loads(capsys.readouterr().out)
    starts = {one["id"]: {"start": one["start"]} for one in said["runs"]}
    assert set(starts) == set(LAUNDRY)
    after = with_runs(household_from(demo()), "laundry", starts)
    assert said["assessment"] == json.loads(json.dumps(report(after, "laundry", assess(after, "laundry"))))
    assert said["cannot_be_below_wh"] <= said["through_bank_wh"]
    file.write_text(json.dumps(demo(**CROWDED)))
    assert main(["plan", str(file), "--scenario", "laundry", "--seconds", "2"]) == 0
    stuck = json.loads(capsys.readouterr().out)
    assert stuck["runs"] == [] and stuck["assessment"] is None and stuck["stuck"]["runs"]
    fixed = demo()
    for run in fixed["scenarios"][1]["runs"]:
        run.pop("window", None)
    file.write_text(json.dumps(fixed))
    assert main(["plan", str(file), "--scenario", "laundry"]) == 2
    assert "has a window" in capsys.readouterr().err
    file.write_text(json.dumps(demo(dry_1={"within_s": 120})))
    assert main(["plan", str(file), "--scenario", "laundry"]) == 2
    assert "dry-1.within: loads begin on full five minutes" in capsys.readouterr().err
    assert main(["plan", str(file), "--seconds", "-1"]) == 2
    assert "--seconds -1" in capsys.readouterr().err
