"""The quick answers of "Switch on" against the whole plan assessed with the run in it."""

import copy
from collections.abc import Iterator

import pytest
from hypothesis import given

import app.engine.assess as assessing
from app.engine.answers import Answer, MaySwitch
from app.engine.asking import GO_HOLDS_MS
from app.engine.later_on import NOTICED
from app.engine.moment import Inspection
from app.engine.results import Verdict
from app.engine.switching import switching
from app.household.clocks import clock_of
from app.household.fields import wall_clock_s
from tests.engine.generator_truth import without_moved
from tests.engine.home import Document
from tests.engine.test_moment import inspected
from tests.engine.trying import ABOUT_LATER, Trial, as_tapped, could_start
from tests.oracle.crowded import ASKED_AT_S, crowded
from tests.oracle.profiles import examples
from tests.oracle.strategies import households

HOUR_S = 3600.0
ANSWER: dict[Verdict, Answer] = {
    "fits": "go", "tight": "go", "short_time": "ask", "chance": "ask", "over": "not_now",
}  # fmt: skip
STRICTNESS = {"go": 0, "ask": 1, "not_now": 2}
MOST_STRICTER = 0.10


@pytest.fixture(scope="module", autouse=True)
def worst_case_alone() -> Iterator[None]:
    """Readings as the worst case has them, however seldom it comes: that is what the answers are about."""
    patch = pytest.MonkeyPatch()
    patch.setattr(assessing, "talked_down", lambda reading, _odds: reading)
    yield
    patch.undo()


def with_guests(household: Document) -> Document:
    """More that is off: a heater, a motor, something that comes and goes, and a twin of the first machine."""
    document = copy.deepcopy(household)
    circuits = [circuit["id"] for circuit in document["supply"]["circuits"]]
    wired = {"circuit": circuits[0]} if circuits else {}
    start = {"va": 1500, "power_factor": 0.4, "duration_s": 1.0}
    motor = {"duration_s": 30, "watts": 300, "power_factor": 0.8, "start": start}
    comes = {"duration_s": 200, "watts": 600, "cycle": {"on_s": 20, "period_s": 60}}
    twin = copy.deepcopy(next(one for one in document["appliances"] if one["id"] == "machine 0"))
    document["appliances"] += [
        {"id": "heater", "name": "Heater", "stages": [{"duration_s": 90, "watts": 900}], **wired},
        {"id": "motor", "name": "Motor", "uncertainty": 0.1, "stages": [motor], **wired},
        {"id": "comes", "name": "Comes and goes", "stages": [comes]},
        {**twin, "id": "twin", "name": "Twin"},
    ]
    document["scenarios"] = document["scenarios"][:1]
    return document


def instants(inspection: Inspection, document: Document) -> Iterator[int]:
    """Before the first run, and at some instants after it began; whole seconds of the plan's clock."""
    runs = document["scenarios"][0]["runs"]
    hour, minute = (int(part) for part in runs[0]["start"].split(":")[:2]) if runs else (10, 0)
    for after_s in (-60, 37, 190):
        second = hour * 3600 + minute * 60 + after_s
        if 0 <= second < 86_400:
            at_ms = inspection.day.resolved.frame.at_ms(second)
            if clock_of(inspection.day.resolved, at_ms) is not None:
                yield at_ms


def tried(inspection: Inspection, appliance_id: str, at_ms: int) -> Trial:
    """The whole plan with the run in it."""
    appliance = inspection.day.resolved.appliance(appliance_id)
    assert appliance is not None
    open_ended = any(stage.duration_s is None for stage in appliance.stages)
    return could_start(inspection, appliance_id, at_ms, HOUR_S if open_ended else None, own_doing=True)


def wanted(trial: Trial) -> Answer:
    """What a trial comes to: what is about later asks at most."""
    assert trial.verdict is not None
    answer = ANSWER[trial.verdict]
    return "ask" if answer == "not_now" and trial.limit in ABOUT_LATER else answer


def only_another_pattern(inspection: Inspection, trial: Trial) -> bool:
    """What breaks the limit is a worst pattern that begins with the run, and nothing the run draws is part of it.

    What comes and goes may do so in any order; the more begins, the more orders a trial tries.
    """
    was, trace = inspection.assessment.limit(trial.limit or ""), trial.trace
    if was is None or was.verdict not in ("short_time", "chance") or trial.verdict != "chance" or trace is None:
        return False
    inside = trace.t_ms[(trace.t_ms > trial.begin_ms) & (trace.t_ms < trial.end_ms)]
    return not any(trace.at(at_ms).beyond for at_ms in (trial.begin_ms, *inside.tolist()))


def passed_anyway(inspection: Inspection, may: MaySwitch) -> bool:
    """The plan passes the limit by itself: what a run makes of that is not told by the whole day's verdict."""
    reading = None if may.limit is None else inspection.assessment.limit(may.limit)
    return reading is not None and reading.verdict not in ("fits", "tight")


def not_noticed(inspection: Inspection, trial: Trial) -> bool:
    """Of the charge the run takes less than a day is followed to."""
    if trial.limit != "reserve":
        return False
    appliance = inspection.day.resolved.appliance(trial.appliance)
    assert appliance is not None
    battery = inspection.day.resolved.household.supply.battery
    shares = [1.0 if stage.cycle is None else stage.cycle.on_s / stage.cycle.period_s for stage in appliance.stages]
    each = zip(appliance.stages, shares, strict=True)
    wh = sum(share * stage.watts * (stage.duration_s or HOUR_S) for stage, share in each) / HOUR_S
    return wh < NOTICED * battery.modules * battery.module_ah * battery.module_v


def never_laxer(inspection: Inspection, at_ms: int) -> Iterator[tuple[MaySwitch, Trial, int]]:
    """Answers that could be tried, how, and by how many steps they ask for more than the whole plan does."""
    for may in switching(inspection, at_ms).may:
        # A planned run of its own is this one, moved.
        trial = (as_tapped if may.instead_ms else tried)(inspection, may.appliance, at_ms)
        if trial.verdict is None:
            continue
        stricter = STRICTNESS[may.answer] - STRICTNESS[wanted(trial)]
        may_be = only_another_pattern(inspection, trial) or not_noticed(inspection, trial)
        assert stricter >= 0 or may_be, (may, trial)
        yield may, trial, stricter


def test_never_laxer_than_the_whole_plan_with_the_run_and_seldom_stricter() -> None:
    """Of all answers one in ten at most asks for more than the whole plan does."""
    counted = {"all": 0, "stricter": 0}

    @examples(40)
    @given(households())
    def compare(household: Document) -> None:
        document = with_guests(household)
        inspection = inspected(document)
        for at_ms in instants(inspection, document):
            for may, trial, stricter in never_laxer(inspection, at_ms):
                # A trial names one limit: what is about later may hide another that is broken.
                meant = may.caution is not None or (trial.verdict == "over" and may.answer == "not_now")
                counted["all"] += 1
                counted["stricter"] += stricter > 0 and not meant and not passed_anyway(inspection, may)

    compare()
    assert counted["all"] > 300
    assert counted["stricter"] <= MOST_STRICTER * counted["all"]


def test_never_laxer_where_what_leads_makes_up_for_what_lags() -> None:
    """On crowded feeders, also where the run is a planned one, put on sooner."""
    counted = {"all": 0, "moved": 0, "go": 0}

    @examples(60)
    @given(crowded())
    def compare(document: Document) -> None:
        inspection = inspected(document)
        for at_s in ASKED_AT_S:
            at_ms = inspection.day.resolved.frame.at_ms(at_s)
            for may, _, _ in never_laxer(inspection, at_ms):
                counted["all"] += 1
                counted["go"] += may.answer == "go"
                counted["moved"] += bool(may.instead_ms)

    compare()
    assert counted["all"] > 300
    assert counted["go"] > 100
    assert counted["moved"] > 50


def test_a_planned_run_that_is_put_on_sooner_is_as_if_it_had_not_been_planned() -> None:
    """Asked for before it, and when it would just meet it, in plans that pass nothing: with it and without it."""
    moved = 0

    def passes_nothing(inspection: Inspection) -> bool:
        return all(one.verdict in ("fits", "tight") for one in inspection.assessment.limits)

    @examples(60)
    @given(households())
    def compare(household: Document) -> None:
        nonlocal moved
        inspection = inspected(with_guests(household))
        if not passes_nothing(inspection):
            return
        pieces, frame = inspection.assessment.pieces, inspection.day.resolved.frame
        for run in inspection.day.resolved.day.runs:
            own = [piece for piece in pieces if (piece.run, piece.appliance) == (run.id, run.appliance)]
            if not own:
                continue
            begin_ms, lasts_ms = own[0].begin_ms, max(piece.end_ms for piece in own) - own[0].begin_ms
            for at_ms in (begin_ms - lasts_ms, begin_ms - lasts_ms // 2 // 1000 * 1000, begin_ms - 1000):
                if not at_ms >= 0 or frame.at_ms(wall_clock_s(clock_of(inspection.day.resolved, at_ms) or "")) != at_ms:
                    continue
                may = next((one for one in switching(inspection, at_ms).may if one.appliance == run.appliance), None)
                without = without_moved(inspection, run.appliance, at_ms)
                if may is None or not passes_nothing(without):
                    continue
                plain = next(one for one in switching(without, at_ms).may if one.appliance == run.appliance)
                moved += len(without.day.resolved.day.runs) < len(inspection.day.resolved.day.runs)
                assert (may.answer, may.verdict, may.limit, may.above_s) == (
                    plain.answer, plain.verdict, plain.limit, plain.above_s
                )  # fmt: skip

    compare()
    assert moved > 15


def changes_to(inspection: Inspection, may: MaySwitch) -> tuple[MaySwitch, MaySwitch]:
    """The answers before and just after the instant at which one is said to change; what goes does so for a minute."""
    assert may.until_ms is not None
    second = 1000
    earlier, later = may.until_ms // second * second, -(-may.until_ms // second) * second
    worse = STRICTNESS[may.then or "go"] > STRICTNESS[may.answer]
    before, after = (earlier - GO_HOLDS_MS, earlier + second) if worse else (later - second, later)

    def at(at_ms: int) -> MaySwitch:
        return next(one for one in switching(inspection, at_ms).may if one.appliance == may.appliance)

    return at(before), at(after)


def test_the_answer_changes_when_it_is_said_to() -> None:
    """Until then what goes still goes; what waits is better then, but for one answer in fifty at most.

    Where two limits refuse one after the other, "until" can name the end of the first: seldom, and nothing goes for it.
    """
    counted = {"all": 0, "too_soon": 0}

    @examples(40)
    @given(households())
    def compare(household: Document) -> None:
        document = with_guests(household)
        inspection = inspected(document)
        for at_ms in instants(inspection, document):
            for may in switching(inspection, at_ms).may:
                if may.until_ms is None or may.until_ms + 1000 >= inspection.assessment.day_ms:
                    continue
                on_then = {one.appliance for one in switching(inspection, may.until_ms + 1000).on}
                own = [run for run in inspection.day.resolved.day.runs if run.appliance == may.appliance and run.on]
                if may.appliance in on_then or own or may.limit == "reserve":
                    continue
                before, after = changes_to(inspection, may)
                if may.answer == "go":
                    assert before.answer == "go", (may, before)
                    continue
                if STRICTNESS[may.then or "go"] > STRICTNESS[may.answer]:
                    assert before.answer != "not_now" or may.until_ms - at_ms < GO_HOLDS_MS, (may, before)
                    continue
                counted["all"] += 1
                counted["too_soon"] += STRICTNESS[after.answer] >= STRICTNESS[may.answer]

    compare()
    assert counted["all"] > 50
    assert counted["too_soon"] <= counted["all"] / 50


def test_it_is_no_better_in_any_minute_before() -> None:
    """Every whole minute between: what waits waits all the while, unless it would be better for less than a minute."""
    counted = {"minutes": 0, "better": 0}

    @examples(25)
    @given(households())
    def compare(household: Document) -> None:
        document = with_guests(household)
        kept_apart = {name for interlock in document["interlocks"] for name in interlock["of"]}
        stages = [stage for one in document["appliances"] for stage in one["stages"]]
        if kept_apart & {call["appliance"] for stage in stages for call in stage.get("sets_off", [])}:
            return  # strict for the whole day where the plan has a part of the guest that is in an interlock
        inspection = inspected(document)
        for at_ms in list(instants(inspection, document))[:2]:
            minutes = range(-(-at_ms // 60_000) * 60_000, inspection.assessment.day_ms, 60_000)
            waits = {one.appliance: one for one in switching(inspection, at_ms).may if one.answer == "not_now"}
            own = {run.appliance for run in inspection.day.resolved.day.runs if run.on}
            for name in (*own, *(name for name, one in waits.items() if one.alone_too_much)):
                waits.pop(name, None)
            for minute_ms in list(minutes)[:240:3]:
                for one in switching(inspection, minute_ms).may:
                    waiting = waits.get(one.appliance)
                    if waiting is None or (waiting.until_ms is not None and minute_ms + 60_000 > waiting.until_ms):
                        continue
                    counted["minutes"] += 1
                    lasts = one.until_ms is None or one.until_ms >= minute_ms + 60_000
                    counted["better"] += one.answer != "not_now" and lasts

    compare()
    assert counted["minutes"] > 500
    assert counted["better"] == 0


def with_breaks(document: Document) -> Document:
    """The same, but for a second before dawn and one in the evening that break everything there is to break."""
    broken = copy.deepcopy(document)
    circuits = [circuit["id"] for circuit in document["supply"]["circuits"]]
    stage = {"duration_s": 1.0, "watts": 60_000, "start": {"va": 90_000, "power_factor": 0.9, "duration_s": 0.5}}
    kiln = {"id": "kiln", "name": "Kiln", "stages": [stage], "after_cut": "stays_off"}
    broken["appliances"].append({**kiln, **({"circuit": circuits[0]} if circuits else {})})
    for clock in ("03:00", "20:00"):
        broken["scenarios"][0]["runs"].append({"id": f"kiln {clock}", "appliance": "kiln", "start": clock})
    return broken


def test_what_is_broken_at_other_hours_changes_no_answer() -> None:
    """Neither earlier today nor later: what is asked is what becomes of switching on now."""
    counted = {"all": 0, "not go": 0}

    @examples(30)
    @given(households())
    def compare(household: Document) -> None:
        document = with_guests(household)
        plan, with_kiln = inspected(document), inspected(with_breaks(document))
        assert with_kiln.assessment.verdict == "over"
        for at_ms in instants(plan, document):
            answers = ({one.appliance: one for one in switching(of, at_ms).may} for of in (plan, with_kiln))
            alone, beside = answers
            for appliance, may in alone.items():
                told = beside[appliance]
                if "reserve" in (may.limit, told.limit):  # a second of it takes its part of the charge
                    continue
                assert (told.answer, told.verdict) == (may.answer, may.verdict), (told, may)
                counted["all"] += 1
                counted["not go"] += may.answer != "go"

    compare()
    assert counted["all"] > 200
    assert counted["not go"] > 50
