"""Looking at one instant: what is on, what may still go on, what is left of every limit; and on to the next change."""

import json

import pytest

from app.household.demo import demo_text
from app.store.households import import_household, load
from tests.web.conftest import HTMX, House
from tests.web.markup import Element, Page

HOUR_MS = 3_600_000
STEPS = ("earlier-change", "later-change")


def panel(house: House, query: str, plan: str = "laundry") -> Page:
    """The panel alone, as the page's script asks for it."""
    answer = house.client.get(f"{house.address(plan)}?part=moment&{query}", headers=HTMX)
    assert answer.status_code == 200, answer.text
    return Page(answer.text)


def figures(element: Element) -> tuple[float, float]:
    """Watts and volt-amperes at the end of a line."""
    words = element.text.split()[-4:]
    sizes = [
        float(size) * (1000 if unit in ("kW", "kVA") else 1) for size, unit in zip(words[::2], words[1::2], strict=True)
    ]
    return sizes[0], sizes[1]


def test_the_page_first_shows_the_instant_the_verdict_is_about(house: House) -> None:
    """Nobody chose an instant yet, so the panel explains the verdict."""
    shown = house.page("shed").by_id("day-moment")

    assert shown["data-chosen"] == ""
    assert shown.text.startswith("On at 15:00")
    assert "Air compressor filling the tank, starting" in shown.text


@pytest.mark.parametrize("query", [f"at={11 * HOUR_MS}", "clock=11:00", "clock=11.00", "clock=1100"])
def test_any_instant_can_be_looked_at(house: House, query: str) -> None:
    """By its milliseconds or by a time as people type it, the panel shows that instant."""
    shown = panel(house, query).by_id("day-moment")

    assert shown["data-at"] == str(11 * HOUR_MS)
    assert shown["data-chosen"] == "1"
    assert shown.text.startswith("On at 11:00")


def test_the_next_morning_can_be_looked_at(house: House) -> None:
    """A plus before the time, or the next weekday, means the morning after."""
    for typed in ("%2B07:30", "Sun 07:30", "sun 7:30"):
        assert panel(house, f"clock={typed}").by_id("day-moment")["data-at"] == str(31 * HOUR_MS + HOUR_MS // 2)


@pytest.mark.parametrize("typed", ["25:00", "soon", "%2B13:00", "Tue 07:30", "11:61"])
def test_what_is_no_time_of_the_day_is_said_beside_the_field(house: House, typed: str, htmx: bool) -> None:
    """The typed text stays, with what would be right."""
    answer = house.client.get(f"{house.address()}?part=moment&clock={typed}", headers=HTMX if htmx else {})
    page = Page(answer.text)

    assert answer.status_code == 422
    assert page.by_id("moment-clock")["value"] == typed.replace("%2B", "+")
    assert "Give one as 15:04" in page.by_id("moment-fault").text


def test_the_draws_add_up_to_the_total(house: House) -> None:
    """What each line draws, in W and in VA, sums to what stands as together."""
    page = panel(house, f"at={11 * HOUR_MS}")
    lines = [figures(one) for one in page.all(kind="much") if one.parent and one.parent.tag == "li"]
    total = next(figures(one) for one in page.all(kind="much") if one.parent and one.parent.tag == "p")

    for unit in (0, 1):
        assert abs(sum(line[unit] for line in lines) - total[unit]) < 60 * len(lines)


def test_volt_amperes_that_are_fewer_than_watts_are_explained(house: House) -> None:
    """What draws no reactive power of its own has a part of the whole that is less than its watts."""
    page = panel(house, f"at={11 * HOUR_MS}")
    lines = [figures(one) for one in page.all(kind="much") if one.parent and one.parent.tag == "li"]

    assert any(volt_amperes < watts for watts, volt_amperes in lines)
    assert "its part of those together" in page.by_id("day-moment").text


def test_steps_go_over_the_exact_changes_and_back(house: House) -> None:
    """The change after an instant's change before is that instant again, to the millisecond."""
    here = panel(house, f"at={int(10.8 * HOUR_MS)}")
    at = here.by_id("day-moment")["data-at"]
    before = Page(house.client.get(here.by_id("earlier-change")["hx-get"], headers=HTMX).text)
    back = Page(house.client.get(before.by_id("later-change")["hx-get"], headers=HTMX).text)

    assert int(before.by_id("day-moment")["data-at"]) < int(at)
    assert back.by_id("day-moment")["data-at"] == at


def test_every_limit_at_the_instant_is_a_tap_away(house: House) -> None:
    """Unfolded, there is a line for each limit, with its use and room then."""
    folded = panel(house, f"at={11 * HOUR_MS}")
    count = int(folded.by_id("moment-limits").text.split()[1])
    rows = [
        one
        for one in panel(house, f"at={11 * HOUR_MS}&unfold=moment-limits").all("tr")
        if one.parent and one.parent.tag == "tbody"
    ]

    assert not folded.all("table")
    assert len(rows) == count


def test_it_says_what_may_go_on_then(house: House) -> None:
    """The kettle may not be on at 11:00 and may at 13:00, each until the time its sentence on the day says."""
    assert "Kettle not before 11:27" in panel(house, f"at={11 * HOUR_MS}").by_id("day-moment").text
    assert "Kettle may go on, until 18:15." in panel(house, f"at={13 * HOUR_MS}").by_id("day-moment").text


def test_a_refusal_by_time_names_no_start(house: House) -> None:
    """The kettle has none: it would stay above a level for too long; and so for what else could begin."""
    page = panel(house, "clock=18:15&unfold=moment-starts")

    assert "Kettle not before 18:23: Inverter, for a short time." in page.by_id("day-moment").text
    begins = page.by_id("moment-starts").text.replace("\u00a0", " ")
    assert "30 min are allowed" in begins
    assert "for a start" not in begins


def test_the_room_for_a_start_says_that_another_may_come(house: House) -> None:
    """Room to grow tells a start that comes alone, which is more; the panel keeps room for one that comes by itself."""
    said = panel(house, "clock=18:15", plan="ordinary").by_id("day-moment").text.replace("\u00a0", " ")
    growth = Page(house.client.get(f"{house.address('ordinary')}/growth").text).by_id("growth").text

    assert "3.2 kVA more for a start even if another comes at the same moment." in said
    assert "up to 6.0 kVA, where nothing else starts at the same moment." in growth.replace("\u00a0", " ")


def test_a_change_keeps_the_chosen_instant(house: House) -> None:
    """The script says with every command where it looks, and the answer's panel looks there too."""
    answer = house.client.post(
        f"{house.address()}/runs/{house.run_key('wash-1')}",
        data={"field": "on", "value": "off", "revision": 1, "tab": "t", "sequence": 1},
        headers=HTMX | {"Loadstead-At": str(11 * HOUR_MS)},
    )

    assert f'data-at="{11 * HOUR_MS}"' in answer.text


def of_a_long_day(house: House) -> str:
    """Another household's plan on the day on which clocks go back, with a run in the hour that comes twice."""
    document = json.loads(demo_text()) | {"name": "Another house"}
    document["scenarios"] = [{"id": "own", "name": "A long day", "date": "2026-10-25", "runs": []}]
    with house.database.session() as session:
        key = import_household(session, document, None)
        session.commit()
        stored = load(session, key)
    assert stored is not None
    return f"/h/{key}/{stored.scenarios[0].key}"


@pytest.mark.parametrize(
    ("typed", "hours"),
    [
        ("01:30", 1.5),
        ("01:30 (second)", 2.5),
        ("01:30\u00a0(second)", 2.5),
        ("01:30:15.250(second)", 2.5 + 15.25 / 3600),
        ("02:00", 3.0),
    ],
)
def test_an_hour_that_comes_twice_can_be_looked_at_both_times(house: House, typed: str, hours: float) -> None:
    """A time is taken as the page writes it: with (second) behind it, it is the one an hour later."""
    answer = house.client.get(of_a_long_day(house), params={"part": "moment", "clock": typed}, headers=HTMX)

    assert Page(answer.text).by_id("day-moment")["data-at"] == str(round(hours * HOUR_MS))


def test_a_time_that_comes_once_has_no_second(house: House) -> None:
    """Asking for the second 05:00 is refused beside the field."""
    answer = house.client.get(of_a_long_day(house), params={"clock": "05:00 (second)"}, headers=HTMX)

    assert answer.status_code == 422


def test_a_change_without_script_keeps_what_is_looked_at(house: House) -> None:
    """The form does not say it, so it is read from the address of the page on which it stood."""
    looked = f"?at={11 * HOUR_MS}&unfold=moment-limits,all-limits"
    house.client.headers["Referer"] = f"http://localhost{house.address()}{looked}"
    answer = house.send("wash-1", "on", "off")
    page = Page(house.client.get(answer.headers["location"]).text)

    assert answer.status_code == 303
    assert page.by_id("day-moment")["data-at"] == str(11 * HOUR_MS)
    assert page.by_id("moment-limits").get("open") is not None
    assert page.by_id("all-limits").get("open") is None  # which folds at every step, for it lies over the day


def test_a_refused_change_without_script_keeps_what_is_looked_at(house: House) -> None:
    """The page that says why shows the same instant, and so do its links."""
    house.client.headers["Referer"] = f"http://localhost{house.address()}?clock=11:00&unfold=moment-limits"
    answer = house.send("wash-1", "start", "never")
    page = Page(answer.text)

    assert answer.status_code == 422
    assert page.by_id("day-moment")["data-at"] == str(11 * HOUR_MS)
    assert "unfold=moment-limits" in page.by_id(f"close-{house.run_key('wash-1')}")["href"]


def test_a_second_form_after_a_refusal_without_script_keeps_what_is_looked_at(house: House) -> None:
    """The page that says why has the form's own address, so its forms carry what was looked at; the run stays open."""
    house.client.headers["Referer"] = f"http://localhost{house.address()}?clock=11:00&unfold=moment-limits"
    key = house.run_key("wash-1")
    address = f"{house.address()}/runs/{key}"
    sent = {"field": "start", "revision": house.stored.revision, "tab": "t1", "sequence": 1, "open": key}
    for typed in ("never", "not then either"):
        refused = house.client.post(address, data=sent | {"value": typed})
        page = Page(refused.text)
        address = page.by_id(f"type-{key}")["action"]
        house.client.headers["Referer"] = f"http://localhost{address}"

        assert refused.status_code == 422
        assert page.by_id("day-moment")["data-at"] == str(11 * HOUR_MS)
        assert page.by_id("moment-limits").get("open") is not None
        assert page.by_id(f"run-{key}")["formaction"] == page.by_id(f"remove-{key}")["formaction"].replace(
            "/remove", ""
        )
    done = house.client.post(address, data=sent | {"value": "9:00"}, follow_redirects=False)

    assert done.status_code == 303
    assert f"run={key}" in done.headers["location"]
    assert f"at={11 * HOUR_MS}" in done.headers["location"]
    assert "unfold=moment-limits" in done.headers["location"]


def test_the_instant_first_shown_is_one_that_people_would_type(house: House) -> None:
    """A limit that moves is tightest in the last millisecond of a stretch; shown is a second in that stretch."""
    for plan in ("ordinary", "laundry", "shed"):
        shown = house.page(plan)
        typed = shown.by_id("moment-clock")["value"]
        again = panel(house, f"clock={typed}", plan)

        assert int(shown.by_id("day-moment")["data-at"]) % 1000 == 0
        assert "." not in typed + shown.by_id("later-change").text
        assert again.by_id("day-moment")["data-at"] == shown.by_id("day-moment")["data-at"]
        assert [again.by_id(one).text for one in STEPS] == [shown.by_id(one).text for one in STEPS]
