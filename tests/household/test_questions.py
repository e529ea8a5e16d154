"""Three questions make an appliance that a household can compute with, and say what nobody answered."""

from collections import Counter
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.household.appliance import Appliance
from app.household.errors import HouseholdFaults
from app.household.file import household_from
from app.household.questions import Proposal, propose
from tests.households import assessed
from tests.published.plain import household

KETTLE = {"name": "Kettle", "kind": "heats", "watts": 2200, "run_s": 180}
PUMP = {"name": "Pump", "kind": "motor", "machine": "pump", "current_a": 4.9, "run_s": 60}
FRIDGE = {"name": "Fridge", "kind": "comes_and_goes", "motor": "yes", "always_on": True}
WASHER = {"name": "Washer", "kind": "heats_and_motor", "watts": 2200, "run_s": 7200}


def made(answers: dict[str, Any], **more: Any) -> Proposal:
    """What answers make on mains of 230 V; None leaves one out."""
    return propose({name: value for name, value in (answers | more).items() if value is not None}, "new", 230)


def stage(answers: dict[str, Any], **more: Any) -> dict[str, Any]:
    """The one stage of what answers make."""
    (only,) = made(answers, **more).document["stages"]
    return dict(only)


def faults(answers: dict[str, Any], **more: Any) -> dict[str, str]:
    """What is wrong with answers, by answer."""
    with pytest.raises(HouseholdFaults) as refused:
        made(answers, **more)
    return {fault.path: fault.why for fault in refused.value.faults}


def test_a_kettle_is_its_label() -> None:
    """Name, watts and minutes are all it takes; only how right the label is has to be assumed."""
    proposal = made(KETTLE)

    assert proposal.document == {
        "id": "new",
        "name": "Kettle",
        "basis": "nameplate",
        "uncertainty": 0.1,
        "source": {"kind": "nameplate", "text": "Watts: the label's watts."},
        "stages": [{"watts": 2200, "duration_s": 180}],
    }
    assert [one.field for one in proposal.assumptions] == ["uncertainty"]


def test_a_motor_with_locked_rotor_amperes_starts_as_its_label_says() -> None:
    """4.9 A run and 20 A start at 230 V: 879 W, 4600 VA."""
    pump = stage(PUMP, locked_rotor_a=20)

    assert (pump["watts"], pump["power_factor"], pump["start"]["va"]) == (879, 0.78, 4600)


def test_amperes_count_at_the_voltage_of_the_label_or_else_of_the_mains() -> None:
    """9.8 A at 115 V draw as much as 4.9 A at 230 V; without a voltage the mains' is said to be assumed."""
    assert stage(PUMP, current_a=9.8, volts=115)["watts"] == stage(PUMP)["watts"]
    assert any("230 V, as your mains" in one.words for one in made(PUMP).assumptions)
    assert not any("as your mains" in one.words for one in made(PUMP, volts=230).assumptions)


def test_watts_and_amperes_together_give_the_power_factor() -> None:
    """120 W at 0.6 A and 230 V have a power factor of 0.87, which is then not assumed."""
    proposal = made({"name": "Television", "kind": "electronics", "watts": 120, "current_a": 0.6, "run_s": 3600})

    assert proposal.document["stages"][0]["power_factor"] == pytest.approx(0.87, abs=0.001)
    assert proposal.document["stages"][0]["power_factor_kind"] == "distortion"
    assert not any(one.field.endswith("power_factor") for one in proposal.assumptions)


def test_horsepower_and_a_code_letter_rest_on_published_tables() -> None:
    """1 1/2 hp with letter L: 2300 VA running, 14 250 VA at the start, both sources named."""
    proposal = made(
        {"name": "Saw", "kind": "motor", "machine": "belt", "shaft_w": 1119, "code_letter": "L", "run_s": 9}
    )
    (saw,) = proposal.document["stages"]

    assert saw["watts"] / saw["power_factor"] == pytest.approx(2300, abs=1)
    assert saw["start"]["va"] == 14_250
    assert proposal.document["source"]["kind"] == "published"
    assert "430.248" in proposal.document["source"]["text"]
    assert "430.7(B)" in proposal.document["source"]["text"]


def test_energy_of_a_run_is_spread_over_it() -> None:
    """0.9 kWh in two hours are 450 W on average; what heats may draw twice that, so nothing is surer than that."""
    proposal = made(WASHER, watts=None, energy_wh=900)

    assert proposal.document["stages"][0]["watts"] == 450
    assert proposal.document["uncertainty"] == 1.0
    assert any("twice as much" in one.words for one in proposal.assumptions)


def test_energy_of_a_year_gives_what_it_draws_while_it_is_on() -> None:
    """250 kWh a year, on for 18 minutes of every 86: 136 W while on."""
    fridge = stage(FRIDGE, energy_wh=250_000, energy_over_s=365 * 86_400, on_s=1080, period_s=5160)

    assert fridge["watts"] == 136
    assert fridge["cycle"] == {"on_s": 1080, "period_s": 5160}


def test_a_fridge_without_a_label_is_an_always_on_load_that_comes_and_goes() -> None:
    """It runs a third of the time, starts hard, and says that all of it is assumed."""
    proposal = made(FRIDGE)
    (fridge,) = proposal.document["stages"]

    assert proposal.document["always_on"] is True
    assert fridge["cycle"]["on_s"] / fridge["cycle"]["period_s"] == pytest.approx(1 / 3)
    assert fridge["start"]["va"] > 3 * fridge["watts"] / fridge["power_factor"]
    assert {one.field for one in proposal.assumptions} == {
        "uncertainty", "stages[0].watts", "stages[0].power_factor", "stages[0].cycle", "stages[0].start.va",
        "stages[0].start.duration_s",
    }  # fmt: skip


def test_a_motor_starts_while_the_heat_goes_on() -> None:
    """A washer's start is its motor's on top of what heats; a heater with a motor is the same thing."""
    washer = stage(WASHER)

    assert washer["start"]["va"] > washer["watts"]
    assert stage(WASHER, kind="heats", motor="yes") == washer


def test_a_machine_that_heats_keeps_its_heat_when_only_its_motor_is_known() -> None:
    """Half a horsepower in a washer is its motor: the heat is guessed beside it, and the start is the motor's."""
    washer = stage(WASHER, watts=None, shaft_w=373)

    assert washer["watts"] == 2000
    assert washer["start"]["va"] > 2000


def test_a_soft_start_is_smaller_than_one_without_a_label() -> None:
    """A drive holds the start down, and makes the draw one that distorts."""
    drive = stage(PUMP, motor="soft")

    assert drive["start"]["va"] < stage(PUMP)["start"]["va"] / 2
    assert drive["power_factor_kind"] == "distortion"


def test_no_label_is_a_guess_with_a_wide_spread() -> None:
    """Without a figure every kind has one, at least 30 % off, with its reason."""
    for kind in ("heats", "motor", "heats_and_motor", "electronics", "light", "comes_and_goes"):
        proposal = made({"name": "Something", "kind": kind, "run_s": 3600})

        assert proposal.document["uncertainty"] >= 0.3
        assert any(one.field == "stages[0].watts" for one in proposal.assumptions)


@pytest.mark.parametrize(
    ("answers", "more", "field", "words"),
    [
        (KETTLE, {"name": None}, "name", "in your own words"),
        (KETTLE, {"kind": None}, "kind", "choose"),
        (KETTLE, {"watts": 0}, "watts", "give a number above 0"),
        (KETTLE, {"watts": 5000, "current_a": 2}, "current_a", "460 W at most"),
        (KETTLE, {"watts": 2, "current_a": 10}, "current_a", "check both"),
        (KETTLE, {"run_s": None}, "run_s", "say how long a run takes"),
        (KETTLE, {"always_on": True}, "run_s", "give one of the two"),
        (KETTLE, {"on_s": 5, "period_s": 9}, "on_s", "only what comes and goes"),
        (KETTLE, {"motor": "no", "code_letter": "K"}, "code_letter", "only a motor"),
        (FRIDGE, {"energy_wh": 800}, "energy_over_s", "a run, a day or a year"),
        (FRIDGE, {"on_s": 900}, "period_s", "give both"),
        (FRIDGE, {"period_s": 900}, "on_s", "give both"),
        (FRIDGE, {"on_s": 900, "period_s": 600}, "on_s", "longer than the whole cycle"),
        (FRIDGE, {"on_s": 900, "period_s": 1600, "longest_on_s": 60}, "longest_on_s", "at least the usual"),
        (PUMP, {"motor": "no"}, "motor", "has one"),
        (PUMP, {"code_letter": "K"}, "shaft_w", "counts by horsepower"),
        (PUMP, {"code_letter": "I", "shaft_w": 500}, "code_letter", "no code letter"),
        (PUMP, {"locked_rotor_a": 4}, "locked_rotor_a", "at least what the motor runs at, 4.9 A"),
        (PUMP, {"current_a": None, "energy_wh": 1e7, "energy_over_s": 1}, "energy_wh", "check it"),
        (PUMP, {"current_a": None, "energy_wh": 0.001, "energy_over_s": 86_400}, "energy_wh", "next to nothing"),
        (PUMP, {"locked_rotor_a": 9000, "volts": 1000}, "locked_rotor_a", "check it"),
        (PUMP, {"current_a": None, "shaft_w": 400_000, "code_letter": "V"}, "shaft_w", "check it"),
        (KETTLE, {"kind": "light", "motor": "yes"}, "motor", "its motor counts most"),
    ],
)
def test_an_answer_that_cannot_be_is_told_beside_it(
    answers: dict[str, Any], more: dict[str, Any], field: str, words: str
) -> None:
    """The fault stands at its answer, in plain words, without the names of the file."""
    found = faults(answers, **more)

    assert words in found[field]
    assert "_s" not in found[field]


def test_every_wrong_answer_is_told_at_once() -> None:
    """Two mistakes are two faults."""
    assert set(faults(FRIDGE, on_s=900, energy_wh=5)) == {"period_s", "energy_over_s"}


NUMBERS = st.one_of(st.floats(0.001, 1e6), st.sampled_from([0.001, 1, 200, 3600, 10_000]))
OTHERS = {
    "watts": NUMBERS,
    "current_a": NUMBERS,
    "volts": st.sampled_from([12, 115, 230, 240]),
    "shaft_w": NUMBERS,
    "energy_wh": NUMBERS,
    "energy_over_s": st.sampled_from([3600, 86_400, 31_536_000]),
    "motor": st.sampled_from(["no", "yes", "soft"]),
    "locked_rotor_a": NUMBERS,
    "code_letter": st.sampled_from(["A", "K", "V", "I", "kk"]),
    "machine": st.sampled_from(["brushes", "drum", "fan", "fridge", "compressor", "pump", "belt", "unknown"]),
    "always_on": st.booleans(),
    "run_s": NUMBERS,
    "on_s": NUMBERS,
    "period_s": NUMBERS,
    "longest_on_s": NUMBERS,
}
KINDS = st.sampled_from(["heats", "motor", "heats_and_motor", "electronics", "light", "comes_and_goes"])
ANSWERED = st.builds(
    lambda answers, kind, more, left: {
        **{name: value for name, value in answers.items() if name not in left},
        "name": "Thing",
        **({"kind": kind} if kind else {}),
        **more,
    },
    st.sampled_from([KETTLE, PUMP, FRIDGE, WASHER]),
    st.none() | KINDS,
    st.dictionaries(st.sampled_from(sorted(OTHERS)), st.none(), max_size=3).flatmap(
        lambda some: st.fixed_dictionaries({name: OTHERS[name] for name in some})
    ),
    st.lists(st.sampled_from(["watts", "current_a", "run_s", "machine", "motor"]), max_size=1),
)
ANYTHING = st.fixed_dictionaries({"name": st.just("Thing"), "kind": KINDS}, optional=OTHERS)


def test_answers_make_a_valid_appliance_or_say_why_not() -> None:
    """Whatever is answered, there is an appliance for the household file or a fault at one of the answers."""
    seen: Counter[str] = Counter()

    @given(ANSWERED | ANYTHING)
    def answer(answers: dict[str, Any]) -> None:
        try:
            proposal = propose(answers, "thing", 230)
        except HouseholdFaults as refused:
            assert all(fault.path in ANSWER_NAMES and fault.why for fault in refused.faults)
            seen["refused"] += 1
            return
        assert Appliance.model_validate(proposal.document).id == "thing"
        assert household_from(household(proposal.document)).appliances[0].name == "Thing"
        assert all(one.words.endswith(".") for one in proposal.assumptions)
        seen["made"] += 1

    answer()
    assert min(seen["made"], seen["refused"]) >= 5


ANSWER_NAMES = {
    "watts", "current_a", "volts", "shaft_w", "energy_wh", "energy_over_s", "motor", "locked_rotor_a", "code_letter",
    "machine", "always_on", "run_s", "on_s", "period_s", "longest_on_s",
}  # fmt: skip


@pytest.mark.parametrize("answers", [KETTLE, PUMP, FRIDGE, WASHER], ids=lambda one: one["name"])
def test_what_was_made_can_be_computed(answers: dict[str, Any]) -> None:
    """A household of it alone draws its watts at the peak."""
    document = made(answers).document

    assert assessed(household(document))["demand"]["peak_worst_w"] == document["stages"][0]["watts"]
