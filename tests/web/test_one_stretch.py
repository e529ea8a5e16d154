"""Where time above a level decides, everything on the page is about one time: sentence, panel, close-up."""

import random
import re

import pytest

from app.store.households import import_household, load
from tests.engine.home import house as document_of
from tests.engine.home import load as appliance
from tests.web.conftest import House
from tests.web.markup import Page


def morning(seed: int) -> dict[str, object]:
    """Ten appliances, forty runs between six and noon; six of the ten come and go."""
    figures = random.Random(seed)
    appliances, runs = [], []
    for place in range(10):
        cycle = {"cycle": {"on_s": figures.choice((120, 300)), "period_s": 900}} if place < 6 else {}
        watts, length_s = figures.choice((300, 700, 1100, 1900)), figures.choice((600, 900, 1500))
        appliances.append(appliance(f"load-{place}", watts, length_s, **cycle))
        for turn in range(4):
            minutes = 6 * 60 + turn * 90 + figures.randrange(50)
            start = f"{minutes // 60:02d}:{minutes % 60:02d}"
            runs.append({"id": f"run-{place}-{turn}", "appliance": f"load-{place}", "start": start})
    return document_of(*appliances, day={"runs": runs})


def page_of(house: House, document: dict[str, object]) -> Page:
    """The page of a household's only plan."""
    with house.database.session() as session:
        key = import_household(session, document, None)
        session.commit()
        stored = load(session, key)
    assert stored is not None
    answer = house.client.get(f"/h/{key}/{stored.scenarios[0].key}")
    assert answer.status_code == 200, answer.text
    return Page(answer.text)


def times_in(text: str) -> list[str]:
    """In the order of the text; times of one day and one length sort as they follow each other."""
    return re.findall(r"\d\d:\d\d", text)


@pytest.mark.parametrize("seed", range(12))
def test_sentence_panel_and_close_up_are_of_one_time(house: House, seed: int) -> None:
    """The panel is of the instant something is to be done by, and the close-up shows every time the sentence names."""
    page = page_of(house, morning(seed))
    told = times_in(" ".join(one.text for one in page.all("p") if {"verdict", "why"} & set(one.classes)))
    panel, *_ = times_in(page.by_id("day-moment").text)
    from_time, to_time, *_ = times_in(page.by_id("day-chart").text)

    assert told[0] <= panel
    assert len(told) == 1 or told[-1] == panel
    assert all(from_time <= one <= to_time for one in (*told, panel))
