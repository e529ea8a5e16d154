"""Room to grow on its page: the headline, both charts with their table, and the machines that may be looked for."""

import json
import re
from collections.abc import Iterator

import pytest

from app.engine.assess import assess
from app.engine.day import lay_day
from app.engine.moment import Inspection
from app.household.demo import demo_text
from app.household.file import household_from
from app.household.resolve import resolve
from app.planner.growth.largest import largest
from app.store.commands import RemovePlan, apply
from app.store.session import Database
from app.web.figures import SPACE
from app.web.forms.typed import FIND_AT_MOST
from app.web.growth_day import growth_day
from app.web.words.growth import largest_lines, no_more
from tests.application import assess_day_once
from tests.databases import sqlite_url
from tests.households import with_plans
from tests.web.conftest import House, houses
from tests.web.markup import Page

PLANS = ("ordinary", "shed")


@pytest.fixture(scope="module")
def seen(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """One household for all of them."""
    database = Database(sqlite_url(tmp_path_factory.mktemp("growth")))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("app.web.planned.assess_day", assess_day_once)
        yield houses(database, with_plans(*PLANS))("owner")
    database.close()


def page(house: House, plan: str = "ordinary", status: int = 200, **asked: str) -> Page:
    answer = house.client.get(f"{house.address(plan)}/growth", params=asked)
    assert answer.status_code == status, answer.text
    return Page(answer.text)


def text(found: Page) -> str:
    return found.all("main")[0].text.replace(SPACE, " ")


def test_the_page_tells_the_largest_with_its_hours_its_cost_and_every_hour_in_figures(seen: House) -> None:
    """What is told is what was worked out, never rounded up; 24 hours in the table and in either chart."""
    found = page(seen)
    said = text(found)
    scenario = next(one for one in seen.stored.scenarios if one.id == "ordinary")
    worked_out = growth_day(seen.stored, scenario).largest
    assert worked_out.best is not None

    for span in (worked_out.best, worked_out.all_day):
        assert no_more(span.steady_w, "W").replace(SPACE, " ") in said
        assert no_more(span.start_va, "VA").replace(SPACE, " ") in said
    assert "sun that nobody uses now" in said
    assert len(found.all("tbody")[0].text.split("Inverter, for hours")) == 25
    charts = [one["aria-label"] for one in found.all("svg", kind="hour-bars")]
    assert [one.partition(" by the hour")[0].partition(":")[0] for one in charts] == [
        "For hours", "Sun to spare", "For a start", "Sun to spare",
    ]  # fmt: skip
    assert "licensed person" in said
    assert "cable and breaker are not in" in said


def test_machines_come_with_hours_and_reasons_and_are_found_by_other_names(seen: House) -> None:
    """What fits first; looked for by a word of theirs; nothing found says what to do."""
    every = page(seen, "shed")
    names = [one["id"] for one in every.all("li") if (one.get("id") or "").startswith("machine-")]
    words = [one.text for one in every.all("p", kind="word")]
    assert len(names) == len(words) > 20
    assert words[0] == "It fits"
    assert words[-1] == "Too much"
    assert "Too much alone, whatever else is off" in text(every)

    saws = page(seen, "shed", find="wood saw")
    some = [one["id"] for one in saws.all("li") if (one.get("id") or "").startswith("machine-")]
    assert "machine-band-saw" in some
    assert some == [one for one in names if one in some]  # in the same order
    assert saws.by_id("find")["value"] == "wood saw"
    assert re.search(r"from \d\d:\d\d to \d\d:\d\d", text(saws))
    assert "Try another word" in text(page(seen, find="gramophone"))
    for nonsense in ("<script>", "\x00", "'; DROP TABLE link; --", "\ud7ff", " ", "9" * FIND_AT_MOST):
        asked = page(seen, find=nonsense)
        assert asked.by_id("find")["value"] == nonsense.strip()


def test_too_long_a_word_is_said_beside_its_field(seen: House) -> None:
    """422 with the whole list still there."""
    refused = page(seen, status=422, find="saw" * FIND_AT_MOST)
    field = refused.by_id("find")
    assert field["aria-invalid"] == "true"
    assert str(FIND_AT_MOST) in refused.by_id(field["aria-describedby"]).text
    assert len(refused.all("p", kind="word")) > 20


def test_a_second_look_costs_nothing_new(seen: House, monkeypatch: pytest.MonkeyPatch) -> None:
    """What was worked out is kept with the stored state."""
    page(seen)

    def never(*_: object) -> None:
        raise AssertionError("worked out again")

    monkeypatch.setattr("app.web.growth_day.largest", never)
    monkeypatch.setattr("app.web.growth_day.machines", never)
    page(seen, find="drill")


@pytest.mark.parametrize(
    ("start", "rated_w", "said"),
    [
        (0.4, 3000, "All day long no more than 100 W: “Generator” decides."),
        (0.4, 3000, "Where “Generator” decides, more would have it run while too much is on."),
        (0.33, 1900, "The plan itself has more on at 06:30 than the generator gives: whatever is added may have it"),
    ],
)
def test_what_the_generator_decides_is_said(start: float, rated_w: float, said: str) -> None:
    """An ordinary day that begins with little charge, beside a generator that is small."""
    document = json.loads(demo_text())
    generator = {"rated_w": rated_w, "charger_w": 1500, "start_below": 0.3, "stop_above": 0.6}
    document["supply"]["generator"] = generator
    document["scenarios"][0]["start_state_of_charge"] = start
    household = household_from(document)
    resolved = resolve(household, "ordinary")
    inspection = Inspection(lay_day(resolved), assess(household, "ordinary"))

    _, lines = largest_lines(resolved.frame, largest(inspection), household)
    assert said in " ".join(lines).replace(SPACE, " ")


def test_a_plan_that_is_gone_is_said_over_another_plans_page(seen: House) -> None:
    """410; the last test, for it changes the household."""
    gone = seen.address("shed")
    key = gone.rpartition("/")[2]
    with seen.database.session() as session:
        apply(session, RemovePlan(household_key=seen.key, scenario_key=key, tab="t", sequence=1, link_key=None))
        session.commit()
    answer = seen.client.get(f"{gone}/growth")
    assert answer.status_code == 410
    assert "was deleted" in text(Page(answer.text))
    assert seen.client.get(f"{gone[:-4]}none/growth").status_code == 404
