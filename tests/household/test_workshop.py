"""A workshop made of choices is what a person would have written by hand."""

import json
from typing import Any

import pytest

from app.household.day import day_frame
from app.household.demo import demo_text
from app.household.errors import HouseholdFaults
from app.household.file import household_from
from app.household.resolve import resolve
from app.household.workshop import make_workshop, taken_in
from app.household.workshop_choices import Use, Wiring, missing_hour

DEMO: dict[str, Any] = json.loads(demo_text())
SHED = next(one for one in DEMO["scenarios"] if one["id"] == "shed")
MACHINES = {one["id"]: one for one in SHED["changes"]["appliances"]}


def bare(machine: str) -> dict[str, Any]:
    """A machine of the demo as a library would have it: no circuit, nothing set off, no cycle."""
    document = {name: value for name, value in MACHINES[machine].items() if name not in ("circuit", "stages")}
    (stage,) = MACHINES[machine]["stages"]
    return document | {"stages": [{key: value for key, value in stage.items() if key not in ("sets_off", "cycle")}]}


def made(uses: list[Use], wiring: Wiring) -> dict[str, Any]:
    """What the choices make on the demo's ordinary day, where no plan has a workshop yet."""
    household = household_from(DEMO | {"scenarios": [one for one in DEMO["scenarios"] if one["id"] != "shed"]})
    return make_workshop(resolve(household, "ordinary"), uses, wiring, taken_in(household)).changes


def demo_uses() -> list[Use]:
    """How the demo's boat shed is used."""

    def cycle(machine: str) -> dict[str, Any]:
        return {f"cycle.{name}": value for name, value in MACHINES[machine]["stages"][0]["cycle"].items()}

    return [
        Use(
            "saw",
            bare("bandsaw"),
            how="bursts",
            figures=cycle("bandsaw"),
            sets_off="dust",
            start="15:00",
            length_s=7200,
        ),
        Use("dust", bare("extractor"), how="follows"),
        Use("air", bare("compressor"), how="bursts", figures=cycle("compressor"), start="15:00", length_s=7200),
    ]


def test_the_demos_boat_shed_is_made_of_choices() -> None:
    """The same stages, cycles, follow-ons, circuit and runs as the demo's file has them."""
    changes = made(demo_uses(), Wiring("shed"))

    assert "supply" not in changes
    for entry in changes["appliances"]:
        own = MACHINES[entry["id"]]
        assert entry["stages"] == [
            {name: value for name, value in one.items() if value is not None} for one in own["stages"]
        ]
        assert entry["circuit"] == own["circuit"]
    assert [one["id"] for one in changes["appliances"]] == list(MACHINES)
    assert [(run["appliance"], run["start"]) for run in changes["runs"].values()] == [
        ("bandsaw", "15:00"), ("compressor", "15:00"),
    ]  # fmt: skip


def test_a_new_circuit_stands_after_those_there_are() -> None:
    """With what was given of it, under an id that nothing has."""
    figures = {"name": "Boat shed, far end", "cable_m": 60, "conductor_mm2": 4, "breaker_a": 20, "fed_from": "shed"}
    changes = made(demo_uses(), Wiring(figures=figures))

    *before, new = changes["supply"]["circuits"]
    assert before == DEMO["supply"]["circuits"]
    assert new == {"id": "boat-shed-far-end", "name": "Boat shed, far end"} | {
        name: figures[name] for name in ("cable_m", "conductor_mm2", "breaker_a", "fed_from")
    }
    assert {one["circuit"] for one in changes["appliances"]} == {"boat-shed-far-end"}


def test_what_has_a_name_or_an_id_already_gets_another() -> None:
    """On the plan that has a bandsaw, a second one is another machine, and so is its run."""
    household = household_from(DEMO)
    uses = demo_uses()
    changes = make_workshop(resolve(household, "shed"), uses, Wiring("shed"), taken_in(household)).changes

    assert [one["id"] for one in changes["appliances"]] == ["bandsaw-2", "extractor-2", "compressor-2"]
    assert changes["appliances"][0]["stages"][0]["sets_off"][0]["appliance"] == "extractor-2"
    assert not {one["name"] for one in changes["appliances"]} & {one["name"] for one in MACHINES.values()}


def test_the_number_of_another_machine_is_no_figure_of_its_name() -> None:
    """Behind horsepower it stands in brackets; ids are numbered as ever, and a name without a figure too."""
    household, wiring = household_from(DEMO), Wiring("shed")
    stored = DEMO["scenarios"]
    for place in (1, 2, 3):
        uses = [
            Use("saw", bare("bandsaw") | {"id": "table-saw", "name": "Table saw, 1 1/2 hp"}, start="10:00"),
            Use("air", bare("compressor") | {"name": "Bellows"}, start="10:00"),
        ]
        changes = make_workshop(resolve(household, "ordinary"), uses, wiring, taken_in(household)).changes
        saw, bellows = changes["appliances"]
        end = "" if place == 1 else f" ({place})"
        assert (saw["name"], saw["id"]) == (f"Table saw, 1 1/2 hp{end}", f"table-saw{f'-{place}' if end else ''}")
        assert bellows["name"] == ("Bellows" if place == 1 else f"Bellows {place}")
        plan = {"id": f"what-if-{place}", "name": f"What if {place}", "date": "2026-05-12", "parent": "ordinary"}
        stored = [*stored, plan | {"changes": changes}]
        household = household_from(DEMO | {"scenarios": stored})


def use(key: str, **given: Any) -> Use:
    return Use(key, bare("bandsaw"), **{"start": "10:00"} | given)


@pytest.mark.parametrize(
    ("uses", "where"),
    [
        ([], "machine"),
        ([use("a"), use("a")], "machine:a"),
        ([use("a", sets_off="a")], "sets:a"),
        ([use("a", sets_off="b")], "sets:a"),
        ([use("a", sets_off="b"), use("b", sets_off="a")], "sets:a"),
        ([use("a", how="follows")], "how:a"),
        ([use("a", how="bursts")], "cycle.on_s:a"),
        ([use("a", start=None)], "from:a"),
    ],
)
def test_what_cannot_be_is_said_at_its_field(uses: list[Use], where: str) -> None:
    """Nothing picked, one twice, a circle, a follower of nobody, no rhythm, no time."""
    with pytest.raises(HouseholdFaults) as refused:
        made(uses, Wiring("shed"))
    assert where in [fault.path for fault in refused.value.faults]


@pytest.mark.parametrize(
    ("figures", "where"),
    [({}, "name"), ({"name": "boat  SHED"}, "name"), ({"name": "New", "cable_m": 20}, "conductor_mm2")],
)
def test_a_circuit_needs_a_name_of_its_own_and_a_whole_cable(figures: dict[str, Any], where: str) -> None:
    """A name that is taken, or half a cable, is refused at its field."""
    with pytest.raises(HouseholdFaults) as refused:
        made(demo_uses(), Wiring(figures=figures))
    assert where in [fault.path for fault in refused.value.faults]


@pytest.mark.parametrize(
    ("date", "zone", "clock", "gap"),
    [
        ("2026-03-29", "Europe/Dublin", "01:30", ("01:00", "02:00")),
        ("2026-03-29", "Europe/Dublin", "01:00", ("01:00", "02:00")),
        ("2026-03-29", "Europe/Dublin", "02:00", None),
        ("2026-10-25", "Europe/Dublin", "01:30", None),
        ("2026-09-06", "America/Santiago", "00:10", ("00:00", "01:00")),
    ],
)
def test_an_hour_that_the_clock_leaves_out(date: str, zone: str, clock: str, gap: tuple[str, str] | None) -> None:
    """A time in it is none; one that comes twice is."""
    assert missing_hour(day_frame(date, zone), clock) == gap


def test_nothing_begins_in_an_hour_that_the_clock_leaves_out() -> None:
    """It is refused at its field, with the times that there are."""
    night = [one | {"date": "2026-03-29"} for one in DEMO["scenarios"] if one["id"] == "ordinary"]
    household = household_from(DEMO | {"scenarios": night})
    with pytest.raises(HouseholdFaults) as refused:
        make_workshop(resolve(household), [use("a", start="01:30")], Wiring("shed"), taken_in(household))
    (fault,) = refused.value.faults
    assert (fault.path, "begin before 01:00 or from 02:00 on" in fault.why) == ("from:a", True)
