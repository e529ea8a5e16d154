"""The workshop: chosen in an address, looked at, and made a what-if as one step."""

from collections.abc import Iterator, Sequence
from typing import Any

import pytest

from app.household import library
from app.store.session import Database
from app.web.words.limits import apart
from tests.application import assess_day_once
from tests.databases import sqlite_url
from tests.households import with_plans
from tests.web.conftest import House, houses
from tests.web.markup import Page

Said = list[tuple[str, str]]
PLANS = ("ordinary", "shed")


@pytest.fixture(scope="module")
def looked(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """A house in which nothing changes, so that all looks share it."""
    database = Database(sqlite_url(tmp_path_factory.mktemp("workshop")))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("app.web.planned.assess_day", assess_day_once)
        make = houses(database, with_plans(*PLANS))
        house = make("owner")
        house.reader = make("reader")  # type: ignore[attr-defined]
        yield house
    database.close()


def machine(key: str, how: str, sets: str = "", **texts: str) -> Said:
    """One machine as an address says it."""
    told = {"how": how, "sets": sets, "from": "10:00", "for": "2 h"} | texts
    return [("machine", key), *((f"{name.replace('__', '.')}:{key}", text) for name, text in told.items())]


def circuit(**texts: str) -> Said:
    """A new circuit as an address says it."""
    told = {"name": "Shop", "cable_m": "60", "conductor_mm2": "2.5", "breaker_a": "20", "cable_a": "27"} | texts
    return [("circuit", "new"), *told.items()]


# Story 5: a bandsaw with its extractor, which start as gently as they run, and a compressor by itself.
SAW = machine(
    "band-saw", "whole", "dust-extractor", watts="1100", power_factor="0.75", start__va="1467",
    start__power_factor="0.75", start__duration_s="0.5", uncertainty="0",
)  # fmt: skip
DUST = machine(
    "dust-extractor", "follows", watts="900", power_factor="0.8", start__va="1126", start__power_factor="0.8",
    start__duration_s="0.5", uncertainty="0",
)  # fmt: skip
AIR = machine(
    "air-compressor", "bursts", watts="1100", power_factor="0.75", start__va="7333", start__power_factor="0.6",
    start__duration_s="1.2", cycle__on_s="1 min", cycle__period_s="10 min", uncertainty="0",
)  # fmt: skip


def ask(house: House, *said: Sequence[tuple[str, str]], plan: str = "ordinary", status: int = 200) -> Page:
    """The page at an address."""
    asked = [("shown", "1"), *(pair for one in said for pair in one)]
    answer = house.client.get(f"{house.address(plan)}/workshop", params=asked)
    assert answer.status_code == status, answer.text
    return Page(answer.text)


def drops(page: Page) -> dict[str, tuple[str, str]]:
    """Starting and running, by wire size."""
    rows = [one for one in page.all("tr") if one.inside(page.by_id("sizes"))][1:]
    found = {}
    for row in rows:
        size, *figures = [one.text for one in page.elements if one.tag in ("th", "td") and one.inside(row)]
        found[size] = (figures[0], figures[1])
    return found


def test_the_cable_table_is_that_of_story_5(looked: House) -> None:
    """Voltage lost on 60 m, running and at the compressor's start, worked by hand after IEC 60364-5-52, Annex G."""
    found = drops(ask(looked, SAW, DUST, AIR, circuit()))

    assert {size: found[size] for size in ("2.5 mm²", "4 mm²", "6 mm²")} == {
        "2.5 mm²": ("13.2 %", "6.4 %"), "4 mm²": ("8.3 %", "4.0 %"), "6 mm²": ("5.6 %", "2.7 %"),
    }  # fmt: skip
    alone = drops(ask(looked, AIR, circuit()))
    assert [alone[size][0] for size in ("2.5 mm²", "4 mm²", "6 mm²")] == ["9.1 %", "5.7 %", "3.8 %"]  # 3.849


@pytest.mark.parametrize(
    ("cable_m", "conductor_mm2", "watts", "power_factor", "percent"),
    [("25", "2.5", "3680", "1", "3.1 %"), ("40", "6", "5888", "0.8", "3.4 %"), ("60", "10", "7820", "0.85", "4.1 %")],
)
def test_the_table_is_that_of_iec_60364_5_52(
    looked: House, cable_m: str, conductor_mm2: str, watts: str, power_factor: str, percent: str
) -> None:
    """Annex G for 16, 32 and 40 A, as in tests/published/test_iec_60364_5_52.py, to the decimal that is shown."""
    gun = machine("heat-gun", "whole", watts=watts, power_factor=power_factor, uncertainty="0")
    wires = circuit(cable_m=cable_m, conductor_mm2=conductor_mm2, breaker_a="", cable_a="")
    found = drops(ask(looked, gun, wires))

    assert found[f"{conductor_mm2} mm²"] == (percent, percent)


@pytest.mark.parametrize(
    ("watts", "left", "running", "word"),
    [
        ("3650", "4.97 % of 5.00 % 0.03 points left", "4.97 %", "Only just"),
        ("3690", "5.02 % of 5.00 % 0.02 points too much", "5.02 %", "Too much"),
        ("3720", "5.1 % of 5.0 % 0.1 points too much", "5.1 %", "Too much"),
    ],
)
def test_figures_that_decide_are_told_apart(looked: House, watts: str, left: str, running: str, word: str) -> None:
    """A cable just over what is allowed, or just under: use and limit read differently, what is left is not nought."""
    gun = machine("heat-gun", "whole", watts=watts, power_factor="1", uncertainty="0")
    page = ask(looked, gun, circuit(cable_m="40", breaker_a="", cable_a=""))
    (row,) = [one.text for one in page.all("tr") if one.text.startswith("Cable to Shop, running")]
    (size,) = [one.text for one in page.all("tr") if one.text.startswith("2.5 mm²")]

    assert (left in row, row.endswith(word)) == (True, True)
    assert (drops(page)["2.5 mm²"][1], size.endswith(word)) == (running, True)


@pytest.mark.parametrize(
    ("difference", "unit", "says"),
    [
        (0, "A", "0.0 A"),
        (-0.04, "A", "0.04 A"),
        (0.0001, "V", "less than 0.001 V"),
        (-0.4, "VA", "less than 1 VA"),
        (-30, "VA", "30 VA"),
        (2345, "W", "2.3 kW"),
        (33.3, "%", "33 %"),
    ],
)
def test_what_is_apart_never_reads_as_nought(difference: float, unit: str, says: str) -> None:
    """With more decimals, or as less than the last of them."""
    assert apart(difference, unit).replace("\u00a0", " ") == says


def test_it_says_what_decides_and_what_would_help(looked: House) -> None:
    """The limit with the least left first; a wire that is enough; cautions where it can hurt."""
    page = ask(looked, SAW, DUST, AIR, circuit())
    text = page.by_id("look").text

    rows = [one.text for one in page.all("tr") if "deciders" in (one.parent.parent.classes if one.parent else [])]  # type: ignore[union-attr]
    assert "Cable to Shop" in rows[1] or "Inverter" in rows[1]
    helped = ask(looked, SAW, DUST, circuit(cable_m="90")).by_id("look").text
    assert "4 mm² would lose" in helped
    for caution in ("no-volt release", "Voltage drop is not cable sizing", "may darken the house", "factor of two"):
        assert caution in text
    reader = ask(looked.reader, SAW, DUST, circuit())  # type: ignore[attr-defined]
    assert not reader.all("form", method="post")


@pytest.mark.parametrize(
    ("said", "field", "why"),
    [
        ((machine("band-saw", "whole", "band-saw"), circuit()), "sets", "No machine sets itself off"),
        (
            (machine("band-saw", "whole", "table-saw"), machine("table-saw", "whole", "band-saw"), circuit()),
            "sets",
            "circle",
        ),
        ((machine("dust-extractor", "follows"), circuit()), "how", "Nothing sets it off"),
        ((SAW, DUST, circuit(cable_m="nonsense")), "cable_m", "nonsense"),
        ((SAW, DUST, circuit(conductor_mm2="-3")), "conductor_mm2", "too small"),
        ((SAW, DUST, circuit(conductor_mm2="")), "conductor_mm2", ""),
        ((SAW, DUST, circuit(name="boat shed")), "name", "already"),
        ((machine("band-saw", "whole", **{"from": "25:99"}), circuit()), "from", ""),
        ((machine("band-saw", "whole", **{"for": "99 h"}), circuit()), "for", ""),
        ((machine("band-saw", "whole", watts="a lot"), circuit()), "watts", "a lot"),
        ((SAW, DUST, [("machine", "dust-extractor")], circuit()), "machine", "It is picked twice"),
        ((SAW, DUST, circuit(breaker_a="32")), "breaker_a", "A breaker of 32 A does not protect"),
        ((machine("band-saw", "whole", start__va="900"), circuit()), "start.va", "at least what the stage draws"),
        (
            (machine("band-saw", "bursts", "own:vacuum"), machine("own:vacuum", "follows"), circuit()),
            "how",
            "by itself; say how it is used",
        ),
        (
            (machine("band-saw", "bursts", "own:kettle"), machine("own:kettle", "follows"), circuit()),
            "how",
            "at any time",
        ),
        (
            (machine("band-saw", "bursts", "pottery-kiln"), machine("pottery-kiln", "programme"), circuit()),
            "sets",
            "several stages",
        ),
        ((machine("own:vacuum", "whole", **{"from": "11:40"}), circuit()), "from", "is one machine"),
    ],
)
def test_nonsense_is_said_beside_its_field_and_stays(
    looked: House, said: tuple[Said, ...], field: str, why: str
) -> None:
    """422, the reason beside the field, and everything that was typed still there."""
    page = ask(looked, *said, status=422)
    told = [one.text for one in page.all("p", kind="fault")]

    assert told
    assert any(why in one for one in told), told
    typed = {one.get("value") for one in page.all("input")}
    for name, text in (pair for one in said for pair in one):
        if name.partition(":")[0] == field and text and field not in ("sets", "how"):
            assert text in typed


def test_what_is_no_machine_is_named_and_a_link_preselects_one(looked: House) -> None:
    """Room to grow leads here with a machine, which brings what it sets off."""
    answer = looked.client.get(f"{looked.address('ordinary')}/workshop", params={"machine": "band-saw"})
    assert (answer.status_code, "Dust extractor" in answer.text) == (200, True)
    page = ask(looked, [("machine", "no-such")], status=422)
    assert "‘no-such’" in page.by_id("wrong").text
    assert looked.client.get(f"/h/{looked.key}/{'0' * 32}/workshop").status_code == 404


def make(house: House, page: Page, status: int = 303, **typed: Any) -> Any:
    """Press the button under a look."""
    form = page.by_id("make")
    fields = page.form(form) | {"name": page.by_id("plan-name")["value"], "do": "new"} | typed
    answer = house.client.post(form["action"], data=fields, follow_redirects=False)
    assert answer.status_code == status, answer.text
    return answer


def test_it_is_made_a_what_if_and_undone_as_one_step(house: House) -> None:
    """Built on the plan, of the same day; the household stays as it is; what was looked at is what is made."""
    before = house.document
    page = ask(house, SAW, DUST, AIR, circuit())
    for typed, why in (("", "name"), ("An ordinary day", "already")):
        again = Page(make(house, page, 422, name=typed).text)
        assert why in again.by_id("why-plan-name").text
    there = make(house, page, name="With a workshop").headers["location"]

    plan = next(one for one in house.document["scenarios"] if one["name"] == "With a workshop")
    assert (plan["parent"], plan["date"]) == ("ordinary", "2026-05-12")
    assert [one["id"] for one in plan["changes"]["appliances"]] == ["band-saw", "dust-extractor", "air-compressor"]
    assert plan["changes"]["supply"]["circuits"][-1]["cable_m"] == 60
    assert house.document["appliances"] == before["appliances"]
    shown = Page(house.client.get(there).text)
    undo = shown.by_id("undo").parent
    assert undo is not None
    house.client.post(undo["action"], data=shown.form(undo) | {"way": "undo"})
    assert house.document == before
    stale = make(house, page, 409, state="other")
    assert Page(stale.text).by_id("wrong").text


def test_it_is_added_to_a_what_if(house: House) -> None:
    """One step of that plan, which keeps what it had."""
    before = next(one for one in house.document["scenarios"] if one["id"] == "shed")
    page = ask(house, AIR, [("circuit", "shed")], plan="shed")
    make(house, page, do="add")
    after = next(one for one in house.document["scenarios"] if one["id"] == "shed")

    assert len(after["changes"]["appliances"]) == len(before["changes"]["appliances"]) + 1
    assert after["changes"]["appliances"][-1]["circuit"] == "shed"
    assert set(after["changes"]["runs"]) > set(before["changes"]["runs"])


MANY = [one.id for one in library.search("") if len(one.appliance.stages) == 1][:30]


def test_more_machines_than_a_workshop_takes_are_shown_and_told(looked: House) -> None:
    """None is left out silently: those that cannot be shown are named, and what was typed of the others stays."""
    picked = [machine(key, "whole", name=f"My {key}") for key in MANY[:13]]
    page = ask(looked, *picked, circuit(), status=422)
    assert page.by_id("why-machines").text == "There are 13 machines here; a workshop takes 12 at most. Take out 1."
    assert [one["value"] for one in page.all("input") if one.get("name") == "machine"] == MANY[:13]
    assert f"My {MANY[12]}" in [one.get("value") for one in page.all("input")]
    assert not [one for one in page.elements if one.get("id") in ("look", "make")]
    asked = [("shown", "1"), *(pair for one in picked for pair in one), *circuit(), ("drop", MANY[0])]
    fewer = Page(looked.client.get(f"{looked.address('ordinary')}/workshop", params=asked).text)
    assert "why-machines" not in [one.get("id") for one in fewer.elements]
    every = ask(looked, *(machine(key, "whole") for key in MANY), circuit(), status=422)
    shown = [one["value"] for one in every.all("input") if one.get("name") == "machine"]
    told = every.by_id("wrong").text
    left_out = [library.entry(key).name for key in MANY[24:]]
    assert [name for name in left_out if name not in told.partition("Left out: ")[2]] == []
    assert shown == MANY[:24]


@pytest.mark.parametrize("field", ["name", "watts", "from", "for", "uncertainty"])
def test_what_is_typed_too_long_stays_and_is_told_beside_it(looked: House, field: str) -> None:
    """Nothing is cut: a name above 200 letters, a figure of a thousand digits."""
    text = "9" * 1000
    page = ask(looked, machine("band-saw", "whole", **{field: text}), circuit(), status=422)
    typed = next(one for one in page.all("input") if one.get("name") == f"{field}:band-saw")
    assert (typed["value"], typed.get("maxlength")) == (text, None)
    assert page.by_id(f"why-{typed['id']}").text


def test_a_long_name_for_the_circuit_the_plan_and_the_search(looked: House) -> None:
    """Each says so at its field and stays as it was typed; nothing is stored."""
    long = "Shop " * 60
    page = ask(looked, SAW, DUST, circuit(name=long), status=422)
    assert (page.by_id("name")["value"], "200" in page.by_id("why-name").text) == (long.strip(), True)
    page = ask(looked, SAW, DUST, circuit(), [("find", long)], status=422)
    assert (page.by_id("find")["value"], "100 letters" in page.by_id("why-find").text) == (long.strip(), True)
    before = looked.document
    form = page.by_id("make")
    fields = page.form(form) | {"name": long}
    answer = looked.client.post(form["action"], data=fields)
    made = Page(answer.text)
    assert (answer.status_code, made.by_id("plan-name")["value"]) == (422, long.strip())
    assert "200" in made.by_id("why-plan-name").text
    assert looked.document == before
