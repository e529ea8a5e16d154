"""What plans have whole, brought along when what they are built on changes."""

from typing import Any

import pytest

from app.household.carrying import carried

Document = dict[str, Any]
HOUSE = {"id": "house", "breaker_a": 16}
YARD = {"id": "yard", "breaker_a": 10, "fed_from": "house"}
SHED = {"id": "shed", "breaker_a": 20}
LAMP = {"id": "lamp"}


def file_of(circuits: list[Document] | None, **plans: Any) -> Document:
    """A file with some circuits; plans by id, each what it is built on and its own circuits."""
    scenarios: list[Document] = []
    for plan, (parent, own) in plans.items():
        changes = {} if own == () else {"changes": {"supply": {"circuits": own, "dc_load_w": 5}}}
        scenarios.append({"id": plan, "parent": parent} | changes)
    return {"supply": {"circuits": circuits}, "appliances": [], "scenarios": scenarios}


def lists(file: Document) -> dict[str, Any]:
    """The plans' own circuits, by the plans' ids."""
    return {plan["id"]: plan["changes"]["supply"]["circuits"] for plan in file["scenarios"] if "changes" in plan}


@pytest.mark.parametrize(
    ("before", "after", "own", "becomes"),
    [
        ([HOUSE], [HOUSE, LAMP], [HOUSE, SHED], [HOUSE, SHED, LAMP]),  # one comes
        (None, [LAMP], [SHED], [SHED, LAMP]),  # the first comes
        ([HOUSE, LAMP], [HOUSE], [HOUSE, SHED, LAMP], [HOUSE, SHED]),  # one goes
        ([HOUSE, LAMP], [HOUSE], [LAMP | {"breaker_a": 6}], [LAMP | {"breaker_a": 6}]),  # the plan has it otherwise
        ([HOUSE, LAMP], [HOUSE, LAMP | {"leg": "A"}], [HOUSE], [HOUSE]),  # the plan has taken it out
        ([HOUSE], [HOUSE | {"breaker_a": 25}], [HOUSE, SHED], [HOUSE | {"breaker_a": 25}, SHED]),  # it follows
        # The plan has one figure otherwise: that stays, the others follow.
        (
            [YARD],
            [{"id": "yard", "breaker_a": 13}],
            [YARD | {"breaker_a": 6}],
            [{"id": "yard", "breaker_a": 6}],
        ),
        ([HOUSE], [HOUSE, SHED | {"breaker_a": 32}], [HOUSE, SHED], [HOUSE, SHED]),  # a name that the plan has already
        ([HOUSE], [HOUSE, LAMP], [], []),  # none at all, on purpose
        ([HOUSE], [HOUSE, {"breaker_a": 6}], [SHED], [SHED]),  # one without a name: nobody can tell which is which
    ],
)
def test_a_list_follows_piece_by_piece(before: Any, after: Any, own: Any, becomes: Any) -> None:
    """What the plan has otherwise stays; nothing it was given is changed in place."""
    files = file_of(before, plan=(None, own)), file_of(after, plan=(None, own))
    assert lists(carried(*files)) == {"plan": becomes}
    assert files == (file_of(before, plan=(None, own)), file_of(after, plan=(None, own)))


def test_down_a_line_of_plans() -> None:
    """Through a plan that says nothing, to a child that stands before its parents in the file."""
    plans = {"child": ("middle", [HOUSE, SHED, YARD]), "middle": ("old", ()), "old": (None, [HOUSE, SHED])}
    told = carried(file_of([HOUSE], **plans), file_of([HOUSE, LAMP], **plans))
    assert lists(told) == {"child": [HOUSE, SHED, YARD, LAMP], "old": [HOUSE, SHED, LAMP]}
    assert [plan["id"] for plan in told["scenarios"]] == ["child", "middle", "old"]
    # A change of the plan in the middle of a line is for those below it alone.
    larger = [HOUSE, SHED | {"breaker_a": 32}]
    told = carried(file_of([HOUSE], **plans), file_of([HOUSE], **(plans | {"old": (None, larger)})))
    assert lists(told) == {"child": [HOUSE, larger[1], YARD], "old": larger}


def test_parents_in_a_circle_stay_as_they_are() -> None:
    """The circle is told by whoever checks the file."""
    plans = {"one": ("two", [HOUSE]), "two": ("one", [HOUSE])}
    assert lists(carried(file_of([HOUSE], **plans), file_of([LAMP], **plans))) == {"one": [HOUSE], "two": [HOUSE]}


def test_appliances_follow_down_a_line_of_plans() -> None:
    """A plan in the middle changes one figure, its child another; each keeps its own, and hears of the rest."""

    def saw(watts: int, start_va: int, on_s: int) -> Document:
        stage = {"duration_s": 600, "watts": watts, "start": {"va": start_va, "power_factor": 0.5, "duration_s": 0.5}}
        return {"id": "saw", "name": "Saw", "stages": [stage, {"duration_s": on_s, "watts": 50}]}

    def file(own: Document, middle: Document) -> Document:
        plans = [
            {"id": "child", "parent": "middle", "changes": {"appliances": [saw(900, 4000, 60)]}},
            {"id": "middle", "parent": None, "changes": {"appliances": [middle]}},
        ]
        return {"supply": {}, "appliances": [own], "scenarios": plans}

    before = file(saw(800, 3000, 60), saw(800, 4000, 60))
    told = carried(before, file(saw(800, 3000, 90), saw(800, 4000, 60)))
    assert [plan["changes"]["appliances"] for plan in told["scenarios"]] == [[saw(900, 4000, 90)], [saw(800, 4000, 90)]]
    told = carried(before, file(saw(800, 3000, 60), saw(800, 4500, 60)))
    assert [plan["changes"]["appliances"] for plan in told["scenarios"]] == [[saw(900, 4500, 60)], [saw(800, 4500, 60)]]
