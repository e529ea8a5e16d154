"""The sentence changes when the time, an appliance or a stage it names does: tried on every story."""

import copy
import re
from datetime import datetime, timedelta

import pytest

from tests.households import assessed
from tests.stories.golden import demo_plans, stories
from tests.stories.thornbeck import Document

PLANS: dict[str, tuple[Document, str | None]] = {
    **{name: (document, None) for name, document in stories().items()},
    **demo_plans(),
}


def said(document: Document, scenario: str | None) -> str:
    """The sentence of a plan."""
    return str(assessed(document, scenario)["sentence"])


def library(document: Document) -> list[Document]:
    """Every appliance of a household, those that its plans bring included."""
    brought = [one for plan in document["scenarios"] for one in plan.get("changes", {}).get("appliances", [])]
    return [*document["appliances"], *brought]


@pytest.mark.parametrize("name", PLANS)
def test_it_names_the_appliances_and_changes_with_their_names(name: str) -> None:
    """Each appliance named in the sentence, called otherwise, is named otherwise."""
    document, scenario = PLANS[name]
    sentence = said(document, scenario)
    named = [one["id"] for one in library(document) if one["name"] in sentence]

    assert named
    for appliance_id in named:
        renamed = copy.deepcopy(document)
        for one in library(renamed):
            if one["id"] == appliance_id:
                one["name"] = "Thingummy"
        assert "Thingummy" in said(renamed, scenario)


@pytest.mark.parametrize("name", PLANS)
def test_it_names_the_stages_and_changes_with_their_names(name: str) -> None:
    """Each stage named in brackets, called otherwise, is named otherwise; a start is called starting."""
    document, scenario = PLANS[name]
    sentence = said(document, scenario)
    stages = set(re.findall(r"\(([^)]*)\)", sentence)) & {
        stage.get("name") for one in library(document) for stage in one["stages"]
    }

    assert stages or "(starting)" in sentence
    for stage_name in stages:
        renamed = copy.deepcopy(document)
        for one in library(renamed):
            for stage in one["stages"]:
                if stage.get("name") == stage_name:
                    stage["name"] = "whirring"
        assert "(whirring)" in said(renamed, scenario)


@pytest.mark.parametrize("name", PLANS)
def test_it_names_the_time_and_changes_with_it(name: str) -> None:
    """With every run a quarter of an hour later it says a later time."""
    document, scenario = PLANS[name]
    later = copy.deepcopy(document)
    for plan in later["scenarios"]:
        placed = plan.get("changes", {}).get("runs", {}).values()
        for run in [*plan.get("runs", []), *placed]:
            start = datetime.strptime(run["start"], "%H:%M") + timedelta(minutes=15)
            run["start"] = start.strftime("%H:%M")
    before, after = (re.search(r"\d\d:\d\d", said(one, scenario)) for one in (document, later))

    assert before and after
    assert after[0] > before[0]


@pytest.mark.parametrize("name", PLANS)
def test_whatever_is_too_much_ends_in_something_to_do_and_a_time(name: str) -> None:
    """Could cut out and too much say what to move, leave off or switch off, and when."""
    document, scenario = PLANS[name]
    report = assessed(document, scenario)
    if report["verdict"] in ("chance", "over"):
        last = report["sentence"].rstrip(".").rpartition(". ")[2]
        assert re.search(r"\d\d:\d\d", last)
        assert re.search(r"\b(move|leave|switch)\b", last.lower())
