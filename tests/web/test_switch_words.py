"""Sentences about switching on: what is left and until when; go, ask and not now with their reasons."""

from typing import Any

import pytest

from app.engine.answers import MaySwitch, OnNow, Room, Switching
from app.household.demo import demo_text
from app.household.file import household_from, read_document
from app.household.resolve import Resolved, resolve
from app.web.words import partner
from app.web.words.switch_on import ago, legs_line, may_figures, may_line, room_headline, short_names

TEN_MS = 36_000_000
NOON_MS = 43_200_000


@pytest.fixture(scope="module")
def plan() -> Resolved:
    return resolve(household_from(read_document(demo_text())), "laundry")


def plain(text: str) -> str:
    return text.replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("now_w", "then_w", "because", "sentence"),
    [
        (1400, 3300, "hob", "Room for 1.4 kW more until 10:00. Then 3.3 kW, with Induction hob off."),
        (2930, 2850, "kettle", "Room for 2.93 kW more until 10:00. Then 2.85 kW, with Kettle on."),
        (-500, 900, "hob", "500 W too much for hours until 10:00. Then room for 900 W more, with Induction hob off."),
        (
            -500,
            -900,
            "hob",
            "500 W too much for hours until 10:00. Then 900 W too much for hours, with Induction hob on.",
        ),
        (20, 600, "hob", "No room for more until 10:00. Then room for 600 W more, with Induction hob off."),
        (900, 10, "hob", "Room for 900 W more until 10:00. Then no room for more, with Induction hob on."),
        (2800, 2500, None, "Room for 2.8 kW more. By 10:00 it will be 2.5 kW, as it gets warmer."),
        (
            -500,
            -200,
            None,
            "500 W too much for hours. By 10:00 it will be 200 W too much for hours, as it gets cooler.",
        ),
        (300, None, None, "Room for 300 W more for the rest of today."),
    ],
)
def test_what_is_left(plan: Resolved, now_w: float, then_w: float | None, because: str | None, sentence: str) -> None:
    """How much, until when, what then and who does it."""
    until_ms = None if then_w is None else TEN_MS
    room = Room(now_w, 0, 0, until_ms, then_w, because, None, (then_w or 0) < now_w, False, False, None)

    assert plain(room_headline(plan, room).sentence) == sentence


def test_a_stage_that_ends_is_not_the_machine_and_a_generator_is_no_weather(plan: Resolved) -> None:
    """Of a stage that is called by none of the usual names."""
    on = Room(
        1000, 0, 0, TEN_MS, 2500, "hob", "high", begins=False, goes_on=True, by_generator=False, to_reserve_h=None
    )
    assert plain(room_headline(plan, on).sentence).endswith("Then 2.5 kW, once Induction hob draws less.")
    off = on._replace(because=None, goes_on=False, by_generator=True)
    assert plain(room_headline(plan, off).sentence).endswith("Then 2.5 kW, once the generator has stopped.")
    runs = off._replace(then_w=300)
    assert plain(room_headline(plan, runs).sentence).endswith("Then 300 W, once the generator runs.")


def test_a_partner_is_told_until_when_to_ask() -> None:
    """Before it is refused."""
    plan = resolve(household_from(read_document(demo_text())), "laundry")
    asked = may(**ASK, until_ms=NOON_MS + 500, then="not_now")

    assert partner.not_now(plan, asked, None) == "ask first, and before 12:00"


def test_where_the_bank_gives_less_than_the_inverter_it_is_told_first() -> None:
    """2.3 kW of the inverter are no room beside 560 W of the bank."""
    plan = resolve(household_from(read_document(demo_text())), "laundry")
    room = Room(2275, 0, 12.4, NOON_MS, 4100, "hob", None, False, False, False, None, (), 561.7)

    assert (
        plain(room_headline(plan, room).sentence) == "Room for 562 W more now: the bank gives no more, at its reserve."
    )


def test_what_is_not_known_of_later_is_not_told_as_no() -> None:
    """Beside a generator that is followed only so far."""
    plan = resolve(household_from(read_document(demo_text())), "laundry")
    switching = Switching(TEN_MS, Room(0, 0, 0, None, None, None, None, False, False, False, None), (), ())
    refused = may(answer="not_now", verdict="over", limit="generator", at_ms=NOON_MS, later_unknown=True)

    assert (
        may_line(plan, may(until_ms=NOON_MS, then="not_now", later_unknown=True), switching) == " until 12:00 at least."
    )
    assert may_line(plan, refused, switching).startswith(", and later today is not known yet: the generator runs")
    assert partner.not_now(plan, refused, None) == "not now"


def test_of_two_legs_each_is_told() -> None:
    """A thing hangs on one of them."""
    room = Room(2730, 0, 0, None, None, None, None, False, False, False, None, (("A", 1380.0), ("B", -200.0)))

    assert plain(legs_line(room)) == (
        "Of both legs together. For hours, one leg alone has 1.4 kW left on A, 200 W too much on B."
    )
    assert legs_line(room._replace(legs_w=())) == ""


def may(**given: Any) -> MaySwitch:
    fields: dict[str, Any] = {
        "appliance": "iron", "answer": "go", "verdict": "fits", "limit": None, "at_ms": None, "use": None,
        "most": None, "unit": None, "until_ms": None, "then": None, "because": None, "because_stage": None,
        "alone_too_much": False, "lasts_ms": 1_800_000,
    }  # fmt: skip
    return MaySwitch(**(fields | given))


HEATS = {"because": "washer", "because_stage": "heat"}
ASK = {"answer": "ask", "verdict": "chance", "limit": "inverter_continuous", "at_ms": NOON_MS}
OVER = {"answer": "not_now", "verdict": "over", "limit": "inverter_continuous", "at_ms": TEN_MS}


@pytest.mark.parametrize(
    ("given", "line"),
    [
        ({}, " for the rest of today."),
        ({"verdict": "tight"}, " for the rest of today, but only just."),
        ({"until_ms": NOON_MS} | HEATS, " until 12:00: then Washing machine heats."),
        ({"until_ms": NOON_MS, "because": "vacuum"}, " until 12:00: Vacuum cleaner on then."),
        ({"until_ms": NOON_MS}, " until 12:00."),
        ({"until_ms": NOON_MS + 59_000} | HEATS, " until 12:00: then Washing machine heats."),
        (ASK | {"until_ms": NOON_MS + 500, "then": "go"}, ": could cut out at 12:00. GO from 12:01."),
        (OVER | HEATS | {"until_ms": NOON_MS + 500, "then": "go"}, " until 12:01: Washing machine heats."),
        (ASK, ": could cut out at 12:00."),
        (ASK | {"until_ms": NOON_MS, "then": "go"}, ": could cut out at 12:00. GO from 12:00."),
        (ASK | {"until_ms": NOON_MS + 500, "then": "not_now"}, ": could cut out at 12:00. NOT NOW from 12:00."),
        (ASK | {"verdict": "short_time"}, ": fine only for a while at 12:00."),
        (
            ASK | {"verdict": "short_time", "use": 4400, "most": 4000, "unit": "W", "above_s": 480, "allowed_s": 1800},
            ": 400 W too much for 8 min from 12:00; 30 min are allowed.",
        ),
        (
            ASK | {"verdict": "short_time", "use": 4400, "most": 4000, "unit": "W", "above_s": 0.4, "allowed_s": 60},
            ": 400 W too much for a moment at 12:00.",
        ),
        (ASK | {"limit": "reserve"}, ": the charge would go below the reserve."),
        (ASK | {"limit": "cold_restart"}, ": after a power cut it would be too much at once."),
        (
            ASK | {"limit": None, "caution": "interlocked_at_once", "because": "hob"},
            ": only one of them may be on, so not together with Induction hob.",
        ),
        (OVER | HEATS | {"until_ms": NOON_MS, "then": "go"}, " until 12:00: Washing machine heats."),
        (OVER | HEATS | {"until_ms": NOON_MS, "then": "ask"}, " until 12:00, then ask: Washing machine heats."),
        (
            OVER | {"until_ms": NOON_MS, "then": "go", "at_ms": TEN_MS + 600_000, "because": "hob"},
            " until 12:00: too much for “Inverter, for hours” at 10:10.",
        ),
        (OVER | {"until_ms": NOON_MS, "then": "go"}, " until 12:00: too much for “Inverter, for hours” at 10:00."),
        (
            OVER | HEATS | {"until_ms": NOON_MS, "then": "go", "instead_ms": (TEN_MS,), "is_missed": True},
            " until 12:00: too much for “Inverter, for hours” at 10:00 without its run at 10:00.",
        ),
        (
            ASK | {"instead_ms": (TEN_MS, NOON_MS), "is_missed": True},
            ": could cut out at 12:00 without its runs at 10:00 and 12:00.",
        ),
        (OVER, " any more today: too much for “Inverter, for hours” at 10:00."),
        (OVER | {"alone_too_much": True}, ": too much alone, whatever else is off."),
    ],
)
def test_an_answer_is_one_line(plan: Resolved, given: dict[str, Any], line: str) -> None:
    """What follows GO, ASK or NOT NOW."""
    washer = OnNow("washer", "wash-1", "heat", NOON_MS, NOON_MS, True, False, False, 2050, 2050)
    then = Switching(TEN_MS, Room(0, 0, 0, None, None, None, None, False, False, False, None), (washer,), ())

    assert plain(may_line(plan, may(**given), then)) == line


def test_what_is_too_much_even_without_it_says_so(plan: Resolved) -> None:
    """A lamp beside a pump whose start is too much by itself: it is not the lamp's doing."""
    nothing_on = Switching(TEN_MS, Room(0, 0, 0, None, None, None, None, False, False, False, None), (), ())

    line = plain(may_line(plan, may(**OVER), nothing_on, anyway=True))
    assert line == " any more today: too much for “Inverter, for hours” at 10:00, even without it."
    assert plain(may_line(plan, may(**ASK), nothing_on, anyway=True)) == ": could cut out at 12:00, even without it."


def test_the_reserve_that_is_passed_anyway_says_so(plan: Resolved) -> None:
    """It is not its doing."""
    nothing_on = Switching(TEN_MS, Room(0, 0, 0, None, None, None, None, False, False, False, None), (), ())
    below = may(answer="ask", verdict="over", limit="reserve", at_ms=NOON_MS)

    assert plain(may_line(plan, below, nothing_on)) == ": the charge would go below the reserve."
    assert plain(may_line(plan, below, nothing_on, anyway=True)) == (
        ": the charge goes below the reserve even without it."
    )


def test_what_has_no_length_is_answered_for_an_hour(plan: Resolved) -> None:
    """It is asked about for that; on it stays until somebody says off."""
    nothing_on = Switching(TEN_MS, Room(0, 0, 0, None, None, None, None, False, False, False, None), (), ())
    open_ended = next(one.id for one in plan.household.appliances if one.stages[0].duration_s is None)

    go = may(appliance=open_ended, answer="go", lasts_ms=3_600_000)
    assert plain(may_line(plan, go, nothing_on)) == " for the rest of today, 1 h at a time."


def test_what_it_would_do_to_the_generator(plan: Resolved) -> None:
    """While it is on itself it is refused; what would come later is asked about, with who is on then by name."""
    nothing_on = Switching(TEN_MS, Room(0, 0, 0, None, None, None, None, False, False, False, None), (), ())
    later = may(answer="ask", verdict="over", limit="generator", at_ms=NOON_MS, because="washer", because_stage="heat")

    refused = later._replace(answer="not_now", until_ms=NOON_MS * 2 - 60_000, then="go")
    assert plain(may_line(plan, refused, nothing_on)) == (
        " until 23:59: the generator runs at 12:00, and this is too much beside its charging."
    )
    assert plain(may_line(plan, later, nothing_on)) == (
        ": the generator would run at 12:00 while Washing machine heats, too much for it."
    )
    unknown = later._replace(until_ms=NOON_MS, then="go", later_unknown=True, because=None)
    assert plain(may_line(plan, unknown, nothing_on)) == (
        ": the generator would run at 12:00, too much for it. GO from 12:00 at the latest."
    )
    assert plain(may_line(plan, unknown._replace(answer="not_now", then="ask"), nothing_on)).startswith(
        " until 12:00 at the latest, then ask: the generator runs at 12:00"
    )
    assert plain(may_line(plan, later._replace(because=None), nothing_on)) == (
        ": the generator would run at 12:00, too much for it."
    )


def test_figures_stand_behind_an_answer(plan: Resolved) -> None:
    """The limit, how much of it, when; and how long it would run."""
    ceiling = may(**ASK | {"use": 5210.0, "most": 4308.0, "unit": "W"})
    floor = may(**ASK | {"limit": "battery_voltage", "use": 45.1, "most": 46.0, "unit": "V"})

    assert [plain(line) for line in may_figures(plan, ceiling)] == [
        "Inverter, for hours: 5.2 kW of 4.3 kW at 12:00.",
        "It would run for 30 min.",
    ]
    assert plain(may_figures(plan, floor)[0]) == "Battery voltage: 45.1 V, not below 46.0 V at 12:00."
    assert may_figures(plan, may(**ASK))[0] == "Inverter, for hours decides, by how long it lasts."
    spent = may(**ASK | {"limit": "reserve", "most": 20.0, "unit": "%"})
    assert plain(may_figures(plan, spent)[0]) == "Battery reserve: not below 20 %."


@pytest.mark.parametrize(
    ("on", "at_ms"),
    [
        (OnNow("pump", None, None, NOON_MS * 3, NOON_MS * 3, False, True, True, 700, 700), TEN_MS),
        (OnNow("pump", None, None, NOON_MS, NOON_MS, True, False, False, 700, 700), NOON_MS + 600_000),
    ],
)
def test_who_may_be_on_or_is_off_by_then_is_no_reason(plan: Resolved, on: OnNow, at_ms: int) -> None:
    """The pump stands on the page; what is in the way comes later, or may not come: the limit is told."""
    then = Switching(TEN_MS, Room(0, 0, 0, None, None, None, None, False, False, False, None), (on,), ())
    line = plain(may_line(plan, may(**OVER | {"until_ms": NOON_MS * 2, "at_ms": at_ms, "because": "pump"}), then))

    assert "too much for “Inverter, for hours” at" in line
    assert " is on" not in line


def test_names_are_short_where_that_tells_them_apart() -> None:
    """What follows a comma goes, but not where two machines would be called alike."""
    document = read_document(demo_text())
    names = {"fridge": "Fridge, kitchen", "freezer": "Fridge, cellar", "iron": "Iron, steam"}
    for one in document["appliances"]:
        one["name"] = names.get(one["id"], one["name"])
    short = short_names(resolve(household_from(document), "laundry"))

    assert (short["fridge"], short["freezer"], short["iron"]) == ("Fridge, kitchen", "Fridge, cellar", "Iron")


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(0, "just now"), (59, "just now"), (60, "a minute ago"), (750, "12 minutes ago"), (3600, "an hour ago"),
     (9000, "2 hours ago")],
)  # fmt: skip
def test_how_long_ago(seconds: float, words: str) -> None:
    """In the one unit that matters."""
    assert ago(seconds) == words
