"""Sun and bank on the day page: the sentences case by case, the pending part, the table, and what the report says."""

import json
import re
from collections.abc import Callable
from typing import Any

import pytest

from app.charts.energy import energy_chart
from app.charts.energy_svg import charge_svg
from app.engine import sun
from app.engine.assess import assess
from app.engine.charge import BankDay, Dark
from app.household.demo import demo_text
from app.household.file import household_from, read_document
from app.household.resolve import Resolved, resolve
from app.store.households import import_household
from app.web import words
from app.web.report import report
from tests.charts.banks import HOUR_MS, bank_day, lowest, spell
from tests.web.conftest import HTMX, House
from tests.web.markup import Page

SUNNY = ([0.5] * 37, [0.0] * 8 + [2000.0] * 8 + [0.0] * 20)
PARTS = ("day-rows", "day-verdict", "day-ways", "day-moment", "day-limits", "day-chart", "day-cautions")


def resolved_with(supply: dict[str, Any] | None = None, day: dict[str, Any] | None = None) -> Resolved:
    """The demo's ordinary day, Tue 12 May, with another supply and other values."""
    document = json.loads(demo_text())
    document["supply"] |= supply or {}
    document["scenarios"][0] |= day or {}
    return resolve(household_from(read_document(json.dumps(document))), "ordinary")


def plain(text: str) -> str:
    return text.replace("\u00a0", " ")


def sunny(**more: Any) -> BankDay:
    return bank_day(*SUNNY, **more)


@pytest.mark.parametrize(
    ("bank", "says"),
    [
        (
            sunny(
                expected=lowest(0.41, 30 + 50 / 60),
                spare=(spell(12 + 10 / 60, 16.5, 5200),),
                then_dark=Dark(round(52 * HOUR_MS), None),
            ),
            "Lowest 41 % at Wed 06:50; 5.2 kWh of sun to spare between 12:10 and 16:30;"
            " two dark days after this and the reserve is reached Thu 04:00.",
        ),
        (
            sunny(expected=lowest(0.6, 6)),
            "Lowest 60 % at 06:00; no sun to spare; two dark days after this and the reserve still holds.",
        ),
        (
            sunny(
                expected=lowest(0.6, 6),
                spare=(spell(10, 11, 400), spell(13, 15, 1900), spell(33, 36, 3000)),
                then_dark=Dark(None, round(30 * HOUR_MS)),
            ),
            "Lowest 60 % at 06:00; 400 Wh of sun to spare between 10:00 and 11:00, 1.9 kWh between 13:00 and 15:00"
            " and 3.0 kWh from Wed 09:00 on; two dark days after this and the generator starts Wed 06:00.",
        ),
        (
            sunny(expected=lowest(0.6, 6), spare=tuple(spell(hour, hour + 0.5, 200) for hour in (9, 11, 13, 15))),
            "Lowest 60 % at 06:00; 800 Wh of sun to spare in 4 spells between 09:00 and 15:30;"
            " two dark days after this and the reserve still holds.",
        ),
        (
            sunny(expected=lowest(0.0, 31, 25.5, 30), end_state_of_charge=0.3, then_dark=Dark(26 * HOUR_MS, None)),
            "Lowest 0 % at Wed 07:00, below the reserve of 25 % from Wed 01:30, the house dark from Wed 06:00;"
            " no sun to spare; two dark days after this and the reserve is reached Wed 02:00.",
        ),
        (
            sunny(expected=lowest(0.246, 0, 0), end_state_of_charge=0.2),
            "Lowest 24.6 % at 00:00, below the reserve of 25.0 % from the start; no sun to spare;"
            " two dark days after this would begin below the reserve.",
        ),
        (
            bank_day([0.8, 0.7], expected=lowest(0.7, 36)),
            "Lowest 70 % at Wed 12:00; two dark days after this and the reserve still holds.",
        ),
    ],
    ids=["as the issue says", "nothing to spare", "three spells", "four spells", "dark", "from the start", "no sun"],
)  # fmt: skip
def test_the_typical_case_in_a_sentence(bank: BankDay, says: str) -> None:
    """The lowest charge, the sun to spare, and two dark days, whatever they come to."""
    said = plain(words.typical_sentence(resolved_with(), bank))

    assert said == says


@pytest.mark.parametrize(
    ("bank", "says"),
    [
        (sunny(), "With more cloud and every draw at its upper end: lowest 36 % at Wed 07:00."),
        (sunny(oktas=8.0), "With every draw at its upper end: lowest 36 % at Wed 07:00."),
        (bank_day([0.5, 0.4]), "With every draw at its upper end: lowest 36 % at Wed 07:00."),
        (
            sunny(pessimistic=lowest(0.1, 31, 20, 30.5)),
            "With more cloud and every draw at its upper end: lowest 10 % at Wed 07:00, below the reserve of 25 %"
            " from 20:00, the house dark from Wed 06:30.",
        ),
    ],
    ids=["cloudier", "overcast already", "no sun", "dark"],
)
def test_the_darker_day_in_a_sentence(bank: BankDay, says: str) -> None:
    """It says what makes it darker, and no more than that."""
    assert plain(words.darker_sentence(resolved_with(), bank)) == says


GENERATOR = {"generator": {"rated_w": 5000, "charger_w": 2000, "start_below": 0.3, "stop_above": 0.6}}
MEASURED = {
    "source": "Harbour station", "on": "2019-05-12", "utc_offset_h": 0, "step_s": 3600,
    "ghi_w_m2": [100] * 24, "dni_w_m2": [0] * 24, "dhi_w_m2": [100] * 24,
}  # fmt: skip


@pytest.mark.parametrize(
    ("supply", "day", "bank", "says"),
    [
        ({}, {}, sunny(), []),
        ({"arrays": []}, {}, bank_day([0.5, 0.4]), ["No panels yet: the house lives on the battery alone."]),
        (
            {"arrays": []} | GENERATOR, {}, bank_day([0.5, 0.4]),
            ["No panels yet: the house lives on the battery and the generator alone."],
        ),
        ({}, {}, bank_day([0.5, 0.4]), ["The panels give nothing on this day."]),
        (
            {}, {"expected_yield_wh": 4200}, bank_day([0.5, 0.4], unreached_wh=4200.0, oktas=None),
            ["The 4.2 kWh you expect of the panels cannot be: no sun reaches them on this day, and none is counted."],
        ),
        (
            {}, {"expected_yield_wh": 9100}, sunny(oktas=5.63),
            ["Sun as much as the 9.1 kWh you expect: as dim as with mostly cloudy, 5.6 of 8."],
        ),
        (
            {}, {"measured_day": MEASURED}, sunny(oktas=8.0),
            ["Sun as on Sun 12 May 2019 (Harbour station): as dim as with overcast, 8 of 8."],
        ),
        (
            {}, {"measured_day": MEASURED, "expected_yield_wh": 9100}, sunny(oktas=0.0),
            ["Sun as on Sun 12 May 2019 (Harbour station), as much as the 9.1 kWh you expect:"
             " as dim as with clear sky, 0 of 8."],
        ),
        (
            {}, {}, sunny(cold_until_ms=round(10.5 * HOUR_MS)),
            ["Too cold to charge until 10:30: sun the house does not draw is lost."],
        ),
        (
            {}, {"expected_yield_wh": 52000}, sunny(oktas=0.0, yield_wh=52000.0, clear_wh=26000.0),
            ["Sun as much as the 52.0 kWh you expect: more than a clear sky gives there on that day, which is about"
             " 26.0 kWh."],
        ),
        (
            {}, {}, sunny(cold_from_ms=round(16.5 * HOUR_MS), cold_until_ms=round(19.25 * HOUR_MS)),
            ["Too cold to charge from 16:30 until 19:15: sun the house does not draw is lost."],
        ),
        (
            {}, {}, sunny(cold_until_ms=36 * HOUR_MS),
            ["Too cold to charge all the time: sun the house does not draw is lost."],
        ),
        (
            GENERATOR, {}, sunny(generator=(spell(18, 19.5, 4500),), generator_starts=1),
            ["The generator runs from 18:00 to 19:30, 4.5 kWh: it starts below 30 % and stops at 60 %."],
        ),
        (
            GENERATOR, {},
            sunny(generator=(*(spell(h, h + 1, 1500) for h in (1, 5, 9, 13)), spell(35, 36, 3000)),
                  generator_starts=5),
            ["The generator runs from 01:00 to 02:00, from 05:00 to 06:00, from 09:00 to 10:00 and 2 more, 9.0 kWh in"
             " 5 starts: it starts below 30 % and stops at 60 %."],
        ),
        (
            GENERATOR, {}, sunny(generator=(spell(35, 36, 3000),), generator_starts=1),
            ["The generator runs from Wed 11:00 on, 3.0 kWh: it starts below 30 % and stops at 60 %."],
        ),
    ],
    ids=["nothing", "no panels", "no panels, generator", "polar night", "yield that cannot be", "yield", "measured",
         "measured and yield",
         "cold", "more than clear", "cold in the evening", "cold all day", "generator", "five times", "to the end"],
)  # fmt: skip
def test_what_else_there_is_to_say(supply: dict[str, Any], day: dict[str, Any], bank: BankDay, says: list[str]) -> None:
    """Each in a sentence, and only where it is so."""
    assert [plain(note) for note in words.energy_notes(resolved_with(supply, day), bank)] == says


@pytest.mark.parametrize(
    ("supply", "day", "bank", "about"),
    [
        ({}, {}, sunny(), ["live in daylight"]),
        ({}, {}, bank_day([0.5, 0.4]), []),
        ({}, {"ambient_c": [[5, -9], [15, 2]]}, sunny(), ["at or below 0 °C", "live in daylight"]),
        ({}, {}, sunny(cold_until_ms=HOUR_MS), ["at or below 0 °C", "live in daylight"]),
        ({}, {}, sunny(generator=(spell(1, 2, 100),)), ["live in daylight"]),
        (GENERATOR, {}, sunny(), ["live in daylight"]),
        (GENERATOR, {}, sunny(generator=(spell(1, 2, 100),)), ["carbon monoxide", "live in daylight"]),
        (
            {"arrays": [{"peak_w": 1000, "tilt_deg": 30, "azimuth_deg": 180, "coupling": "ac"}]}, {}, sunny(),
            ["able to throttle", "live in daylight"],
        ),
    ],
)  # fmt: skip
def test_cautions_stand_only_at_their_hazard(
    supply: dict[str, Any], day: dict[str, Any], bank: BankDay, about: list[str]
) -> None:
    """Short ones, for what this day meets."""
    cautions = [plain(one) for one in words.energy_cautions(resolved_with(supply, day), bank)]

    assert len(cautions) == len(about)
    assert all(hazard in caution for hazard, caution in zip(about, cautions, strict=True))


def test_lead_acid_gasses() -> None:
    """A bank that gives off gas says so; that of lithium does not."""
    battery = json.loads(demo_text())["supply"]["battery"] | {"chemistry": "lead_acid"}
    cautions = words.energy_cautions(resolved_with({"battery": battery}), sunny())

    assert ["ventilation" in caution for caution in cautions] == [True, False]


@pytest.mark.parametrize(
    ("at_h", "says"),
    [
        (0, "Bank 50 %, no sun"),
        (8.5, "Bank 50 %, sun 2.0 kW"),
        (12.5, "Bank 50 %, sun 2.0 kW, 400 W to spare"),
        (35.9, "Bank 50 %, no sun"),
    ],
)
def test_an_instant_in_words(at_h: float, says: str) -> None:
    """The step the instant lies in."""
    bank = bank_day(*SUNNY, [0.0] * 12 + [400.0] * 4 + [0.0] * 20)

    assert plain(words.energy_at(bank, round(at_h * HOUR_MS))) == says


def figures_of(house: House, plan: str = "ordinary") -> dict[str, Any]:
    """What the report says of the bank."""
    household = household_from(read_document(json.dumps(house.document)))
    return dict(report(household, plan, assess(household, plan))["battery"])


def shown(house: House, plan: str = "ordinary", unfold: str = "") -> Page:
    """The page with sun and bank worked out."""
    answer = house.client.get(house.address(plan), params={"part": "sun"} | ({"unfold": unfold} if unfold else {}))
    assert answer.status_code == 200
    return Page(answer.text)


def test_the_chart_agrees_with_the_report(house: House) -> None:
    """Lowest charge and when, sun used, sun to spare and when."""
    bank, part = figures_of(house), shown(house).by_id("energy").text

    assert f"lowest {bank['lowest_state_of_charge'] * 100:.0f} %, {bank['lowest_at'][11:16]}" in part
    used, spare = bank["sun_used_wh"], bank["spare_sun_wh"]
    assert f"{used / 1000:.1f} kWh used of {(used + spare) / 1000:.1f} kWh" in part
    first = bank["spare"][0]
    assert f"{first['wh'] / 1000:.1f} kWh of sun to spare between {first['from'][11:16]}" in part
    assert f"reserve is reached Thu {bank['then_dark'][11:16]}" in part
    assert f"upper end: lowest {bank['lowest_pessimistic'] * 100:.0f} %" in part


def test_the_table_says_the_same_hour_by_hour(house: House) -> None:
    """From midnight to noon; the day's hours come to the day's energy, and charge at the hour is the report's."""
    page, bank = shown(house, unfold="energy-table"), figures_of(house)
    table = page.by_id("energy-table")
    rows = [
        [cell.text for cell in page.elements if cell.tag in ("th", "td") and cell.inside(row)]
        for row in page.all("tr")
        if row.inside(table)
    ]

    def watts(cell: str) -> float:
        number, unit = cell.split(" ")
        return float(number) * (1000 if unit == "kW" else 1)

    assert rows[0] == ["From", "Charge", "Sun used", "To spare", "House"]
    assert len(rows) == 1 + 36
    assert sum(watts(row[2]) for row in rows[1:25]) == pytest.approx(bank["sun_used_wh"], abs=24 * 50)
    assert sum(watts(row[3]) for row in rows[1:25]) == pytest.approx(bank["spare_sun_wh"], abs=24 * 50)
    charge = bank["series"]["state_of_charge"][::12]
    assert [row[1] for row in rows[1:]] == [f"{100 * one:.0f} %" for one in charge]


def test_the_table_stays_unwritten_until_it_is_asked_for(house: House) -> None:
    """With a link that shows it, in the part of the chart alone for the script."""
    page = shown(house)
    link = next(one for one in page.all("a", "unfold") if one.inside(page.by_id("energy-table")))
    fragment = Page(house.client.get(link["href"], headers=HTMX).text)

    assert not [one for one in page.all("td") if one.inside(page.by_id("energy-table"))]
    assert [one for one in fragment.all("td") if one.inside(fragment.by_id("energy-table"))]
    assert not [one for one in fragment.elements if one.get("id") == "day-rows"]


@pytest.fixture
def not_at_hand(monkeypatch: pytest.MonkeyPatch) -> None:
    """The sun has not been worked out, and what works it out is not loaded."""
    monkeypatch.setattr(sun, "is_at_hand", lambda: False)
    monkeypatch.setattr(sun, "_SUNS", type(sun._SUNS)())


def test_a_page_does_not_wait_for_the_sun(house: House, not_at_hand: None) -> None:
    """It says that sun and bank are being worked out; its script asks for them, a link waits for them without one."""
    page = house.page("ordinary")
    part = page.by_id("energy")
    (asks,) = [one for one in page.elements if one.get("hx-get") and one.inside(part)]
    (link,) = [one for one in page.all("a") if one.inside(part)]

    assert "Working out sun and bank" in part.text
    assert "load" in asks["hx-trigger"]
    assert page.all("details", id="energy-table") == []
    waited = Page(house.client.get(link["href"]).text)
    assert "Working out" not in waited.by_id("energy").text
    assert waited.all("svg", "charge")


def test_the_answer_brings_all_that_an_assessment_shows(house: House, not_at_hand: None) -> None:
    """For the reserve may decide; and from then on nothing is pending."""
    asks = next(one for one in house.page("ordinary").elements if "part=sun" in (one.get("hx-get") or ""))
    answer = Page(house.client.get(asks["hx-get"], headers=HTMX).text)

    assert {*PARTS} <= {one.get("id") for one in answer.elements}
    assert answer.all("svg", "sun")
    assert not [one for one in house.page("ordinary").elements if "part=sun" in (one.get("hx-get") or "")]


def test_a_change_made_meanwhile_is_not_held_up(house: House, not_at_hand: None, htmx: bool) -> None:
    """It is stored and answered without the sun, which is asked for once more."""
    answer = house.send("film", "start", "20:30", "ordinary", htmx=htmx)

    assert answer.status_code in (200, 303)
    assert house.start_of("film", "ordinary") == "20:30"
    if htmx:
        assert "Working out sun and bank" in answer.text


def test_without_panels_nothing_is_waited_for(house_of: Callable[..., House], not_at_hand: None) -> None:
    """The bank alone is shown at once, with the way to where panels are put in for who may put them in."""
    house = house_of("owner")
    document = json.loads(demo_text()) | {"name": "Without"}
    document["supply"]["arrays"] = []
    with house.database.session() as session:
        house.key = import_household(session, document, None)
        session.commit()
    page = house.page("ordinary")
    part = page.by_id("energy")
    (link,) = [one for one in page.all("a") if one.inside(part)]

    assert "No panels yet" in part.text
    assert [one["class"] for one in page.all("svg") if one.inside(part) and "plot" in one.classes] == ["plot charge"]
    supply = house.client.get(link["href"])
    assert supply.status_code == 200
    assert Page(supply.text).by_id(link["href"].split("#")[1])
    reader = House(house.database, house_of("reader").client, house.key).page("ordinary")
    assert not [one for one in reader.all("a") if one.inside(reader.by_id("energy"))]


def test_the_reserve_is_read_at_typical_draw(house_of: Callable[..., House]) -> None:
    """Where it decides its ruler says when and by which draw, the panel shows that instant, no stretch is marked."""
    house = house_of("owner")
    document = json.loads(demo_text()) | {"name": "Low"}
    document["scenarios"][0] |= {"start_state_of_charge": 0.28, "date": "2026-03-12"}
    with house.database.session() as session:
        house.key = import_household(session, document, None)
        session.commit()
    page = shown(house, unfold="all-limits")
    rulers = [one.text for one in page.all("li") if one.inside(page.by_id("day-limits"))]
    at = next(text for text in rulers if "Lowest charge" in text).split(",")[1].split()[0]
    rows = [one.text for one in page.all("tr") if one.inside(page.by_id("day-limits"))]

    assert any("not below 25 %, typical draw" in text for text in rulers)
    assert any(text.startswith("Battery reserve") and "typical draw" in text for text in rows)
    assert "below the reserve" in page.by_id("energy").text
    assert page.by_id("moment-title").text == f"On at {at} Battery reserve"
    assert "Nothing draws anything" not in page.by_id("day-moment").text
    assert re.search(r"Bank \d+ %, sun", page.by_id("day-moment").text)
    assert page.all("path", "mark") == []


def test_what_is_left_of_a_share_is_told_in_points(house: House) -> None:
    """27 points of charge above the reserve are no 27 per cent of anything; the sentence and the tables say so."""
    page = shown(house, unfold="all-limits")
    rows = [one.text for one in page.all("tr") if one.text.startswith(("Battery reserve", "Voltage lost"))]

    assert rows
    assert all(re.search(r"\d points", text) for text in rows)


def test_an_instant_shows_charge_and_sun(house: House) -> None:
    """As the report has them then."""
    series = figures_of(house)["series"]
    shown(house)
    page = Page(house.client.get(house.address("ordinary"), params={"clock": "10:00", "part": "moment"}).text)
    at = 10 * 12

    assert f"Bank {100 * series['state_of_charge'][at]:.0f} %, sun {series['sun_w'][at] / 1000:.1f} kW" in (
        page.by_id("day-moment").text
    )


@pytest.mark.parametrize(("date", "hours"), [("2026-03-29", 35), ("2026-10-25", 37)])
def test_days_of_other_lengths_have_all_their_hours(house_of: Callable[..., House], date: str, hours: int) -> None:
    """When clocks change the table has an hour less or more, and the axis too."""
    house = house_of("owner")
    document = json.loads(demo_text()) | {"name": "Clocks"}
    document["scenarios"][0]["date"] = date
    with house.database.session() as session:
        house.key = import_household(session, document, None)
        session.commit()
    page = shown(house, unfold="energy-table")

    assert len([one for one in page.all("tr") if one.inside(page.by_id("energy-table"))]) == 1 + hours
    assert page.by_id("day-chart")["data-horizon"] == str(hours * HOUR_MS)


def test_what_the_display_shows_now_is_where_the_bank_begins(house: House, htmx: bool) -> None:
    """At 14:05 there are 30 %: from then on it is followed; before that nothing is said of it."""
    fields = {"field": "start_state_of_charge", "value": "30", "at": "14.05"}
    sent = {"revision": house.stored.revision, "tab": "t1", "sequence": 1}
    shown(house)
    answer = house.client.post(
        f"{house.address('ordinary')}/plan", data=sent | fields, headers=HTMX if htmx else {}, follow_redirects=False
    )
    plan = house.document["scenarios"][0]
    page = shown(house, unfold="energy-table")
    part = page.by_id("energy").text
    early, late = (
        house.client.get(house.address("ordinary"), params={"clock": at, "part": "moment"}).text
        for at in ("11:00", "15:00")
    )

    assert answer.status_code == (200 if htmx else 303)
    assert (plan["start_state_of_charge"], plan["state_of_charge_at"]) == (0.3, "14:05")
    assert "From 14:05 on: lowest 30 % at 14:05" in part
    assert figures_of(house)["series"]["from"].startswith("2026-05-12T14:05")
    assert next(one for one in page.all("tr") if one.inside(page.by_id("energy-table")) and "14:" in one.text)
    assert [bool(re.search(r"Bank \d+", text)) for text in (early, late)] == [False, True]
    assert "Battery back to 70 % at midnight" in page.by_id("day-steps").text


def test_a_charge_at_no_time_is_refused_beside_it(house: House, htmx: bool) -> None:
    """Nothing is stored, and both are still there."""
    sent = {"revision": house.stored.revision, "tab": "t1", "sequence": 1}
    answer = house.client.post(
        f"{house.address('ordinary')}/plan",
        data=sent | {"field": "start_state_of_charge", "value": "30", "at": "soon"},
        headers=HTMX if htmx else {},
    )
    page = Page(answer.text)

    assert answer.status_code == 422
    assert page.by_id("fault-start_state_of_charge").text == (
        "‘soon’ is not a time of this day; give the time at which it is so, as 14:05."
    )
    assert (page.by_id("value-start_state_of_charge")["value"], page.by_id("at-start_state_of_charge")["value"]) == (
        "30",
        "soon",
    )
    assert house.document["scenarios"][0]["start_state_of_charge"] == 0.7


@pytest.mark.parametrize("hour", range(24))
def test_the_bank_may_begin_at_any_hour(house: House, hour: int) -> None:
    """The page is there whenever the charge was read, and says nothing of the time before."""
    document = house.document["scenarios"][0] | {"start_state_of_charge": 0.55, "state_of_charge_at": f"{hour:02d}:30"}
    chart = energy_chart(
        assess(household_from(house.document | {"scenarios": [document]})).battery, 24 * HOUR_MS, 36 * HOUR_MS
    )

    assert charge_svg(chart, "Charge", "reserve 25 %", "55 %", "100 %")
    assert chart.at[0] == pytest.approx((hour + 0.5) / 36)


def test_a_house_that_goes_dark_is_too_much_whatever_the_reserve(house: House) -> None:
    """Nothing is below a reserve of nothing; an empty bank is dark all the same, also after two dark days."""
    document = house.document
    document["supply"]["battery"]["reserve"] = 0
    document["scenarios"] = [document["scenarios"][0] | {"start_state_of_charge": 0.1, "cloud_oktas": 8}]
    household = household_from(document)
    assessment, resolved = assess(household), resolve(household)
    reserve = assessment.limit("reserve")
    assert reserve is not None
    assert assessment.battery is not None

    assert (reserve.verdict, reserve.charge.below_ms) == ("over", None)  # type: ignore[union-attr]
    assert "the reserve still holds" not in words.typical_sentence(resolved, assessment.battery)
    assert "the house goes dark" in words.typical_sentence(resolved, assessment.battery)


def test_advice_is_about_what_is_still_to_come(house: House) -> None:
    """At half past six in the evening nobody can leave off the oven of the morning."""
    document = house.document
    evening = {"start_state_of_charge": 0.28, "state_of_charge_at": "18:30", "cloud_oktas": 8}
    document["scenarios"] = [document["scenarios"][0] | evening]
    household = household_from(document)
    said = words.sentence(resolve(household), assess(household))

    assert said.startswith("Too much.")
    assert "08:15" not in said


def test_a_page_without_the_sun_does_not_pass_for_the_whole(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    """As long as sun and bank are not worked out, verdict and title say so."""
    monkeypatch.setattr(sun, "is_at_hand", lambda: False)
    monkeypatch.setattr(sun, "known_suns", lambda resolved: None)
    page = house.page("ordinary")

    assert "Sun and bank are not in this yet" in page.by_id("day-verdict").text
    assert "sun and bank not counted yet" in page.by_id("day-steps")["data-title"]
