"""The library of typical appliances: whole, found by the words people use, and good for any household."""

from typing import Any

import pytest

from app.household import library
from app.household.appliance import Appliance
from app.household.figures import COMMON_PRACTICE, OWN_ESTIMATE, Telling, told
from app.household.file import read_household, text_of
from app.household.library import Entry
from app.household.supply import Inverter
from tests.households import assessed
from tests.published.plain import Document, household, inverter

ENTRIES = library.entries()
by_entry = pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry.id)


def with_what_it_brings(entry: Entry) -> list[Document]:
    """The entry and, once each, what it sets off in turn."""
    needed = {entry.id: entry}
    waiting = list(entry.brings)
    while waiting:
        called = library.entry(waiting.pop())
        if called.id not in needed:
            needed[called.id] = called
            waiting += called.brings
    return [one.appliance.document() for one in needed.values()]


def alone(entry: Entry) -> Document:
    """A household of this entry, of what it sets off, and of a pump where it draws water."""
    appliances = with_what_it_brings(entry)
    supply: Document = {}
    if any(stage.water_l for stage in entry.appliance.stages):
        appliances.append(library.entry("well-pump").appliance.document())
        supply = {"water": {"pump": "well-pump", "vessel_l": 24, "pump_l_per_min": 30}}
    run: Document = {"id": "run", "appliance": entry.id, "start": "08:00"}
    if entry.appliance.stages[0].duration_s is None:
        run["duration_s"] = 3600
    return household(*appliances, supply=supply, runs=[] if entry.appliance.always_on else [run])


@by_entry
def test_every_entry_can_be_computed(entry: Entry) -> None:
    """A household made of it has no fault, draws its largest draw at its peak, and fits a supply without bounds."""
    plan = assessed(alone(entry))

    largest_w = max(stage.watts for stage in entry.appliance.stages)
    assert plan["demand"]["peak_worst_w"] >= largest_w
    assert plan["demand"]["energy_wh"] > 0
    assert plan["verdict"] == "fits"


@by_entry
def test_every_entry_goes_through_the_file_unchanged(entry: Entry) -> None:
    """Written to a household file and read back it is the same appliance."""
    read = read_household(text_of(alone(entry)))

    assert read.appliances[0] == entry.appliance
    assert Appliance.model_validate(entry.appliance.document()) == entry.appliance


def test_there_is_enough_of_everything() -> None:
    """The counts the library promises, with room above them."""

    def many(what: list[bool]) -> int:
        return sum(what)

    stages = [entry.appliance.stages for entry in ENTRIES]
    assert len(ENTRIES) >= 70
    assert many([len(programme) >= 3 for programme in stages]) >= 18
    assert many([any(stage.cycle for stage in programme) for programme in stages]) >= 14
    assert many([any(stage.start for stage in programme) for programme in stages]) >= 18
    assert many([bool(entry.brings) for entry in ENTRIES]) >= 5
    assert many([entry.group == "Workshop" for entry in ENTRIES]) >= 14


@pytest.mark.parametrize("sockets", [{230}, {120, 240}, {120}])
def test_every_household_finds_a_library(sockets: set[library.Volts]) -> None:
    """Whatever the sockets, most everyday things are there."""
    fitting = library.search("", frozenset(sockets))

    assert len(fitting) >= 55
    for word in ("kettle", "fridge", "freezer", "washing machine", "well pump", "saw", "compressor", "microwave"):
        assert library.search(word, frozenset(sockets)), word


def test_no_two_entries_share_a_name() -> None:
    """Neither an id nor a name is there twice."""
    assert len({entry.id for entry in ENTRIES}) == len(ENTRIES)
    assert len({entry.name.casefold() for entry in ENTRIES}) == len(ENTRIES)


@by_entry
def test_what_an_entry_sets_off_has_a_socket_too(entry: Entry) -> None:
    """Where the one can be plugged in, so can the other."""
    for called in map(library.entry, entry.brings):
        assert not called.appliance.always_on
        for volts in entry.volts:
            beside = {120, 240} if volts == 240 else {volts}
            assert beside & set(called.volts)


@by_entry
def test_every_number_is_told(entry: Entry) -> None:
    """Each figure has its value, a spread and what it rests on, and its path leads to it."""
    stages = entry.appliance.document()["stages"]
    for figure in entry.figures:
        found: Any = {"stages": stages}
        for step in figure.path.replace("[", ".").replace("]", "").split("."):
            found = found[int(step)] if step.isdigit() else found[step]
        assert found == figure.value
        assert 0 < figure.spread < 1


@by_entry
def test_the_uncertainty_is_that_of_the_largest_draw(entry: Entry) -> None:
    """An appliance has one uncertainty; where it draws most is where it matters."""
    watts = [figure for figure in entry.figures if figure.path.endswith(".watts")]
    largest = max(watts, key=lambda figure: figure.value)

    assert entry.appliance.uncertainty == largest.spread
    assert entry.appliance.basis == "typical"
    assert entry.help


@by_entry
def test_the_kind_of_source_is_said(entry: Entry) -> None:
    """Published, common practice or own; what has no source says so in the file too."""
    source = entry.appliance.source
    assert source is not None
    assert source.text is not None

    kinds = {COMMON_PRACTICE: "common practice", OWN_ESTIMATE: "own"}
    assert source.kind == kinds.get(entry.rests_on, "published")
    for words in (COMMON_PRACTICE, OWN_ESTIMATE):
        used = any(figure.source == words for figure in entry.figures)
        assert (words in source.text.lower()) == used


@pytest.mark.parametrize(
    ("typed", "first"),
    [
        ("kettle", "kettle"),
        ("KETTLES", "kettle"),
        ("hob", "induction-hob"),
        ("oven", "oven"),
        ("tv", "television"),
        ("wifi", "router"),
        ("saw", "table-saw"),
        ("bandsaw", "band-saw"),
        ("drill press", "pillar-drill-120"),
        ("batteries", "tool-charger"),
        ("washing machine 60", "washing-machine-60"),
        ("frìdge", "fridge"),
    ],
)
def test_people_find_what_they_call_it(typed: str, first: str) -> None:
    """By its name, another word for it, a plural, in capitals, with an accent too many."""
    assert library.search(typed)[0].id == first


def test_a_name_that_begins_so_goes_first() -> None:
    """Then names with such a word in them, then other words for it, then what merely holds it."""
    found = [entry.id for entry in library.search("pump")]

    assert found.index("well-pump") < found.index("sump-pump-120")
    assert [entry.id for entry in library.search("router")][:2] == ["router", "wood-router"]
    assert "dust-extractor" in [entry.id for entry in library.search("tractor")]


def test_what_has_no_label_is_very_uncertain() -> None:
    """For a machine nobody can read, half more or less, and a start that may be far off."""
    for entry in library.search("no label"):
        assert entry.rests_on == OWN_ESTIMATE
        assert entry.appliance.uncertainty >= 0.5
        assert all(figure.spread >= 0.6 for figure in entry.figures if figure.path.endswith("start.va"))


def test_hazards_are_marked() -> None:
    """Medical devices, tumble dryers, machines that may restart, compressors that need their rest."""

    def marked(hazard: str) -> set[str]:
        return {entry.id for entry in ENTRIES if hazard in entry.cautions}

    assert marked("medical_device") == {entry.id for entry in ENTRIES if entry.group == "Medical"}
    assert {entry.id for entry in library.search("tumble dryer")} <= marked("not_unattended")
    assert {"table-saw", "band-saw-120", "planer-thicknesser", "air-compressor"} <= marked("no_volt_release")
    assert {"fridge", "air-conditioner", "heat-pump", "dryer-heat-pump"} <= marked("wait_before_restart")


def test_nothing_found_is_nothing() -> None:
    """What is in no entry finds none; an empty text finds all."""
    assert library.search("submarine periscope") == ()
    assert library.search("  ") == ENTRIES
    with pytest.raises(KeyError):
        library.entry("submarine")


@pytest.mark.parametrize(
    ("ac_voltage", "legs", "sockets"),
    [(230, 1, {230}), (240, 1, {230}), (220, 1, {230}), (120, 1, {120}), (240, 2, {120, 240}), (230, 2, {120, 240})],
)
def test_the_inverter_says_which_sockets_there_are(ac_voltage: float, legs: int, sockets: set[int]) -> None:
    """Two legs carry half the voltage each."""
    given = Inverter.model_validate(inverter(ac_voltage=ac_voltage, legs=legs))

    assert library.sockets_of(given) == sockets


def test_a_number_nobody_tells_is_refused() -> None:
    """So is a pattern that fits nothing; the first that fits is the one that tells."""
    stages = [{"name": "heat", "duration_s": 60, "watts": 1000, "start": {"va": 2000}}]
    watts = Telling(of=("heat.watts",), spread=0.1, source="a")
    anything = Telling(of=("*",), spread=0.3, source="b")

    assert [figure.source for figure in told(stages, (watts, anything))] == ["b", "a", "b"]
    with pytest.raises(ValueError, match=r"stages\[0\]\.start\.va"):
        told(stages, (watts, Telling(of=("*.duration_s",), spread=0.3, source="b")))
    with pytest.raises(ValueError, match="spin"):
        told(stages, (anything, Telling(of=("spin.watts",), spread=0.3, source="b")))
