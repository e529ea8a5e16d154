"""The reserve and the generator as limits, and what is said about the hours and days after the plan."""

import json
from typing import Any

import numpy as np
import pytest

from app.engine.assess import assess
from app.engine.charge import BankDay
from app.engine.left import to_reserve_h
from app.engine.results import Assessment, LimitReading
from app.household.demo import demo_text
from app.household.errors import HouseholdFaults
from app.household.file import household_from
from tests.engine.home import Document, house, load, steady
from tests.engine.test_moment import inspected

HOUR_MS = 3_600_000
# 51.2 V x 100 Ah: a point of charge is some 52 Wh; without losses worth a word.
BANK = {
    "modules": 1, "module_ah": 100, "module_resistance_ohm": 0, "charge_efficiency": 1.0, "reserve": 0.3,
    "continuous_charge_a": 60,
}  # fmt: skip
PLAIN = {"no_load_w": 0, "peak_efficiency": 1, "full_load_efficiency": 1}
ROOF = {"peak_w": 3000, "tilt_deg": 35, "azimuth_deg": 180}
GENERATOR = {"rated_w": 3000, "charger_w": 1000, "start_below": 0.4, "stop_above": 0.6}
WH_A_POINT = 52.26


def cabin(*appliances: Document, runs: dict[str, str] | None = None, **more: Any) -> Document:
    """A small bank that is followed, without sun unless `supply` has some."""
    return house(*appliances, runs=runs, battery={**BANK, **more.pop("battery", {})}, inverter=PLAIN, **more)


def assessed(document: Document) -> tuple[Assessment, BankDay]:
    """The plan, and its bank."""
    found = assess(household_from(document))
    assert found.battery is not None
    return found, found.battery


def reading(document: Document, limit_id: str = "reserve") -> LimitReading:
    """One limit of a plan."""
    found = assess(household_from(document)).limit(limit_id)
    assert found is not None
    return found


def using(points: float, at: str = "10:00", uncertainty: float = 0.0, start: float = 0.8, **more: Any) -> Document:
    """An hour that takes so many points out of the bank."""
    oven = load("oven", points * WH_A_POINT, uncertainty=uncertainty)
    return cabin(oven, runs={"oven": at}, day={"start_state_of_charge": start, **more.pop("day", {})}, **more)


# -- the verdict -----------------------------------------------------------------------------------------------


def test_with_more_than_ten_points_left_it_fits() -> None:
    """80 less 35 is 45: 15 above 30."""
    found = reading(using(35))

    assert (found.direction, found.unit, found.limit, found.verdict) == ("floor", "%", 30, "fits")
    assert found.use == pytest.approx(45, abs=0.5)
    assert found.margin == pytest.approx(found.use - 30)
    assert found.at_ms == 11 * HOUR_MS
    assert found.broken_at_ms is None
    assert found.contributors == ()


def test_within_ten_points_it_is_tight() -> None:
    """80 less 45 is 35."""
    found = reading(using(45))

    assert (found.verdict, found.verdict_certain) == ("tight", "tight")
    assert found.use == pytest.approx(35, abs=0.5)
    assert found.charge is not None
    assert (found.charge.below_ms, found.charge.pessimistic_below_ms) == (None, None)


def test_a_worse_day_that_breaks_it_makes_it_tight() -> None:
    """38 points as figured, 53 if the draw is at its upper end: on the whole it fits, at worst it does not."""
    found = reading(using(38, uncertainty=0.4))

    assert found.verdict == "tight"
    assert found.margin > 10
    assert found.broken_at_ms is None
    assert found.charge is not None
    assert found.charge.below_ms is None
    assert found.charge.pessimistic == pytest.approx(80 - 38 * 1.4, abs=0.5)
    assert found.charge.pessimistic_below_ms == pytest.approx(10 * HOUR_MS + 50 / 53.2 * HOUR_MS, abs=60_000)


def test_two_oktas_more_may_break_it_too() -> None:
    """With the sun as it is told the evening is passed well; under two oktas more it is not."""
    evening = load("evening", 500, 4 * 3600)
    document = cabin(
        evening, steady("base", 60), runs={"evening": "19:00"}, supply={"arrays": [{**ROOF, "peak_w": 1200}]},
        day={"start_state_of_charge": 0.5, "cloud_oktas": 6},
    )  # fmt: skip
    _, bank = assessed(document)

    assert bank.pessimistic.state_of_charge < bank.expected.state_of_charge - 0.03
    tight = {**BANK, "reserve": (bank.pessimistic.state_of_charge + bank.expected.state_of_charge) / 2}
    document["supply"]["battery"] |= {"reserve": tight["reserve"]}
    found = reading(document)
    assert found.verdict == "tight"
    assert found.charge is not None
    assert found.charge.below_ms is None
    assert found.charge.pessimistic_below_ms is not None


def test_below_the_reserve_it_is_over_and_says_when() -> None:
    """80 less 60: the fiftieth point goes at 10:50; nothing goes dark."""
    found = reading(using(60))

    assert (found.verdict, found.verdict_certain) == ("over", "over")
    assert found.use == pytest.approx(20, abs=0.5)
    assert found.charge is not None
    assert found.charge.below_ms == found.broken_at_ms == pytest.approx(10 * HOUR_MS + 50 / 60 * HOUR_MS, abs=60_000)
    assert found.charge.dark_ms is None


def test_an_empty_bank_goes_dark_and_says_when() -> None:
    """Both times: below the reserve 25 minutes after ten, dark at a quarter to eleven; it stays empty."""
    found, bank = assessed(using(107))
    reserve = found.limit("reserve")

    assert found.verdict == "over"
    assert reserve is not None
    assert reserve.charge is not None
    assert reserve.charge.below_ms == pytest.approx(10 * HOUR_MS + 50 / 107 * HOUR_MS, abs=60_000)
    # Below a tenth the voltage sinks, and the same watts take more amperes.
    assert reserve.charge.dark_ms == pytest.approx(10 * HOUR_MS + 80 / 107 * HOUR_MS, abs=90_000)
    assert reserve.use == 0
    assert bank.totals.unserved_wh == pytest.approx(27 * WH_A_POINT, abs=2 * WH_A_POINT)
    assert bank.end_state_of_charge == 0


def test_what_is_broken_from_the_start() -> None:
    """A bank below its reserve at midnight."""
    found = reading(using(0.1, start=0.2))
    assert (found.verdict, found.broken_at_ms, found.at_ms) == ("over", 0, 11 * HOUR_MS)


def test_the_next_morning_counts() -> None:
    """The lowest charge may come after midnight, and moves the verdict."""
    found = reading(using(30, at="23:30", start=0.65))

    assert found.at_ms == (24 * 60 + 30) * 60_000
    assert found.verdict == "tight"


def test_the_pessimistic_case_is_never_the_better_one() -> None:
    """Whatever the sun is; here with a generator and without."""
    for oktas in (0, 4, 8):
        for generator in ({}, {"generator": GENERATOR}):
            _, bank = assessed(
                cabin(steady("base", 300, uncertainty=0.1), supply={"arrays": [ROOF], **generator},
                      day={"cloud_oktas": oktas, "start_state_of_charge": 0.7})
            )  # fmt: skip
            assert bank.pessimistic.state_of_charge <= bank.expected.state_of_charge
    # What draws for some minutes in the morning sun is deepest just then, however coarsely the darker day is followed.
    kettle = cabin(
        steady("base", 60, uncertainty=0.0), load("kettle", 2500, 240, uncertainty=0.0), runs={"kettle": "08:03"},
        supply={"arrays": [ROOF]}, day={"cloud_oktas": 8, "start_state_of_charge": 0.7},
    )  # fmt: skip
    _, bank = assessed(kettle)
    assert bank.pessimistic.state_of_charge <= bank.expected.state_of_charge < 0.7


# -- the generator ---------------------------------------------------------------------------------------------


def test_a_generator_that_does_not_run_is_no_limit() -> None:
    """80 less 30 is 50, above 40."""
    found, bank = assessed(using(30, supply={"generator": GENERATOR}))

    assert found.limit("generator") is None
    assert (bank.generator, bank.generator_starts) == ((), 0)


def test_the_charger_comes_on_top_of_the_house() -> None:
    """It starts 40 minutes into the hour of 3136 W, with 1000 W of its own: over its 3000 W."""
    found, bank = assessed(using(60, supply={"generator": GENERATOR}))
    limit = found.limit("generator")

    assert limit is not None
    assert (limit.direction, limit.unit, limit.limit, limit.verdict) == ("ceiling", "W", 3000, "over")
    assert limit.use == pytest.approx(60 * WH_A_POINT + 1000)
    assert limit.at_ms == limit.broken_at_ms == pytest.approx(10 * HOUR_MS + 40 / 60 * HOUR_MS, abs=60_000)
    assert [one.appliance for one in limit.contributors] == ["oven"]
    assert bank.generator_starts == 1
    assert bank.generator[0].from_ms == pytest.approx(limit.at_ms, abs=1)


def test_the_worst_draw_counts_while_it_runs() -> None:
    """A heater that is on a third of the time counts with all of its watts, and its doubt; the energy with a third."""
    heater = steady("heater", 1200, cycle={"on_s": 600, "period_s": 1800}, uncertainty=0.1)
    found, bank = assessed(cabin(heater, supply={"generator": GENERATOR}, day={"start_state_of_charge": 0.45}))
    limit = found.limit("generator")

    assert limit is not None
    assert limit.use == pytest.approx(1.1 * 1200 + 1000)
    assert limit.use_certain == pytest.approx(1000)
    assert (limit.verdict, limit.verdict_certain) == ("fits", "fits")
    hours = sum(spell.to_ms - spell.from_ms for spell in bank.generator) / HOUR_MS
    assert sum(spell.wh for spell in bank.generator) == pytest.approx(1400 * hours, rel=1e-3)


@pytest.mark.parametrize(("rated_w", "verdict"), [(2800, "fits"), (2320, "tight"), (2500, "tight"), (2300, "over")])
def test_the_generator_s_verdict(rated_w: float, verdict: str) -> None:
    """2320 W of it; a margin of 15 % is wanted."""
    heater = steady("heater", 1320)
    document = cabin(
        heater, supply={"generator": {**GENERATOR, "rated_w": rated_w}}, day={"start_state_of_charge": 0.45}
    )
    assert reading(document, "generator").verdict == verdict


def test_it_runs_from_its_start_to_its_stop() -> None:
    """From 40 to 60 %, in which it gives what the house draws and what it charges with."""
    _, bank = assessed(cabin(steady("base", 300), supply={"generator": GENERATOR}, day={"start_state_of_charge": 0.5}))
    first = bank.generator[0]

    assert bank.charge_at(first.from_ms) == pytest.approx(0.4, abs=0.001)
    assert bank.charge_at(first.to_ms) == pytest.approx(0.6, abs=0.001)
    assert first.wh == pytest.approx(1300 * (first.to_ms - first.from_ms) / HOUR_MS, rel=1e-3)
    assert (first.to_ms - first.from_ms) / HOUR_MS == pytest.approx(20 * WH_A_POINT / 1000, rel=0.02)
    assert bank.expected.state_of_charge == pytest.approx(0.4, abs=0.001)
    assert bank.generator_starts == len(bank.generator) >= 2


def test_a_generator_keeps_the_house_lit() -> None:
    """Where the bank alone would be empty."""
    without, kept = assessed(using(107))[1], assessed(using(107, supply={"generator": GENERATOR}))[1]

    assert without.expected.dark_ms is not None
    assert kept.expected.dark_ms is None
    assert kept.totals.unserved_wh == pytest.approx(0, abs=1e-6)


def test_starting_below_the_reserve_is_refused() -> None:
    """Beside the field; at the reserve it is accepted."""
    document = cabin(supply={"generator": {**GENERATOR, "start_below": 0.29}})
    with pytest.raises(HouseholdFaults) as refused:
        household_from(document)

    assert [fault.path for fault in refused.value.faults] == ["supply.generator.start_below"]
    household_from(cabin(supply={"generator": {**GENERATOR, "start_below": 0.3}}))


# -- after the plan --------------------------------------------------------------------------------------------


def test_two_dark_days_reach_the_reserve_at_their_hour() -> None:
    """At midnight 60 %, 30 points at 50 W: 31 hours later."""
    _, bank = assessed(cabin(steady("base", 50), day={"start_state_of_charge": 0.6 + 24 * 50 / WH_A_POINT / 100}))

    assert bank.then_dark.generator_ms is None
    assert bank.then_dark.reserve_ms == pytest.approx((24 + 30 * WH_A_POINT / 50) * HOUR_MS, abs=0.3 * HOUR_MS)


def test_the_day_comes_again_in_the_dark() -> None:
    """What ran on the plan's day runs on the dark ones: the oven takes the reserve at ten."""
    _, bank = assessed(using(30, start=0.75))
    assert bank.then_dark.reserve_ms == pytest.approx((24 + 10.5) * HOUR_MS, abs=0.3 * HOUR_MS)


@pytest.mark.parametrize(
    ("date", "hours"),
    [("2026-03-28", 24 + 23), ("2026-03-29", 23 + 24), ("2026-10-24", 24 + 25), ("2026-10-25", 25 + 24)],
)
def test_the_day_comes_again_by_the_clock(date: str, hours: float) -> None:
    """Whatever the clock does: on the second dark day the oven comes on at ten too, and five points are left then."""
    _, bank = assessed(using(30, start=0.95, day={"date": date}))
    assert bank.then_dark.reserve_ms == pytest.approx((hours + 10 + 5 / 30) * HOUR_MS, abs=0.3 * HOUR_MS)


def test_two_dark_days_without_trouble() -> None:
    """Little is drawn: nothing is reached."""
    _, bank = assessed(cabin(steady("base", 10)))
    assert (bank.then_dark.reserve_ms, bank.then_dark.generator_ms) == (None, None)


def test_in_the_dark_the_generator_starts_first() -> None:
    """At 40 %, and keeps the bank above its reserve."""
    _, bank = assessed(
        cabin(
            steady("base", 50), supply={"generator": GENERATOR},
            day={"start_state_of_charge": 0.6 + 24 * 50 / WH_A_POINT / 100},
        )
    )  # fmt: skip

    assert bank.then_dark.reserve_ms is None
    assert bank.then_dark.generator_ms == pytest.approx((24 + 20 * WH_A_POINT / 50) * HOUR_MS, abs=0.3 * HOUR_MS)


# -- sun to spare, and cold --------------------------------------------------------------------------------------


def test_spare_sun_on_both_sides_of_a_short_load_is_one_spell() -> None:
    """Half an hour of oven at noon does not make two of it; three hours do."""
    document = {
        hours: cabin(
            steady("base", 20), load("oven", 3700, hours * 3600), runs={"oven": "11:00"},
            supply={"arrays": [{**ROOF, "peak_w": 4000}]}, day={"start_state_of_charge": 0.98, "cloud_oktas": 0},
        )
        for hours in (0.5, 3)
    }  # fmt: skip
    short, long = assessed(document[0.5])[1], assessed(document[3])[1]
    of_day = [[spell for spell in bank.spare if spell.from_ms < 24 * HOUR_MS] for bank in (short, long)]

    assert [len(spells) for spells in of_day] == [1, 2]
    assert of_day[0][0].from_ms < 11 * HOUR_MS < 12 * HOUR_MS < of_day[0][0].to_ms
    assert sum(spell.wh for spell in of_day[0]) == pytest.approx(short.totals.spare_sun_wh, rel=0.02)


def test_too_cold_to_charge_until_it_is_warm() -> None:
    """Frost in the cupboard until half past ten; full current from 15 degC on."""
    cold = [[0, -2], [6, -6], [10.5, 0], [15, 12]]
    _, bank = assessed(
        cabin(
            steady("base", 40), supply={"arrays": [ROOF]},
            day={"date": "2026-03-10", "ambient_c": cold, "cloud_oktas": 0, "start_state_of_charge": 0.5},
        )
    )  # fmt: skip

    assert bank.cold_until_ms == pytest.approx(10.5 * HOUR_MS, abs=300_000)
    before = bank.edges_ms[1:] <= 10.5 * HOUR_MS
    assert bank.into_w[before].max() == 0
    assert bank.spare_w[before].max() > 100


def test_in_the_warm_nothing_is_said_of_cold() -> None:
    """Nor in the frost without any sun."""
    warm = cabin(steady("base", 40), supply={"arrays": [ROOF]}, day={"start_state_of_charge": 0.99})
    night = cabin(steady("base", 40), day={"ambient_c": [[0, -8]]})

    assert assessed(warm)[1].cold_until_ms is None
    assert assessed(night)[1].cold_until_ms is None


# -- arrays and limits -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("coupling", ["dc", "ac"])
def test_sun_is_never_counted_on_for_limits(coupling: str) -> None:
    """All but reserve and generator are what they are without any panels."""

    def plan(arrays: list[Document]) -> Document:
        oven = load("oven", 3900)
        return cabin(
            oven, steady("base", 100), runs={"oven": "12:00"}, supply={"arrays": arrays, "generator": GENERATOR},
            battery={"module_ah": 200},
        )  # fmt: skip

    with_sun = assess(household_from(plan([{**ROOF, "coupling": coupling}])))
    without = assess(household_from(plan([])))
    energy = ("reserve", "generator")

    assert [one for one in with_sun.limits if one.id not in energy] == [
        one for one in without.limits if one.id not in energy
    ]
    assert with_sun.any_time == without.any_time
    assert with_sun.surges == without.surges
    assert with_sun.battery is not None
    assert without.battery is not None
    assert with_sun.battery.totals.out_of_bank_wh < without.battery.totals.out_of_bank_wh - 500


def test_a_full_bank_takes_the_array_back_to_what_the_house_draws() -> None:
    """Common practice: with nowhere to go the rest of the sun is not taken."""
    _, bank = assessed(
        cabin(steady("base", 500), supply={"arrays": [ROOF]}, day={"start_state_of_charge": 1.0, "cloud_oktas": 0})
    )
    noon = int(np.searchsorted(bank.edges_ms, 13.5 * HOUR_MS))

    assert bank.state_of_charge[noon] > 0.98
    assert bank.sun_w[noon] - bank.spare_w[noon] == pytest.approx(500 + bank.into_w[noon], rel=1e-6)
    assert bank.spare_w[noon] > 1000


@pytest.mark.parametrize("start", [0.26 + 0.004 * number for number in range(12)])
def test_a_generator_that_starts_at_the_reserve_keeps_it(start: float) -> None:
    """It may start exactly there, and no rounding makes that a reserve that is passed."""
    document = json.loads(demo_text())
    document["supply"]["generator"] = {"rated_w": 9000, "charger_w": 2000, "start_below": 0.25, "stop_above": 0.6}
    document["scenarios"] = [document["scenarios"][0] | {"start_state_of_charge": start, "cloud_oktas": 8}]
    bank = assess(household_from(document)).battery
    assert bank is not None

    assert bank.generator
    assert (bank.expected.below_ms, bank.pessimistic.below_ms) == (None, None)


def test_the_darker_day_is_followed_as_closely_as_the_expected_one() -> None:
    """Two minutes of 4400 W count as such, not as their mean over ten: a bank gives less the faster it goes."""
    lead = {"chemistry": "lead_acid", "module_v": 48, "modules": 1, "peukert": 1.3, "module_resistance_ohm": 0.05}

    def lowest(watts: float, uncertainty: float) -> BankDay:
        saw = load("saw", watts, 120, uncertainty=uncertainty)
        return assessed(cabin(saw, runs={"saw": "10:03"}, battery=lead, day={"start_state_of_charge": 0.8}))[1]

    unsure, more = lowest(4000, 0.1), lowest(4400, 0)

    assert unsure.expected.state_of_charge > more.expected.state_of_charge + 1e-4
    assert unsure.pessimistic.state_of_charge == pytest.approx(more.expected.state_of_charge, abs=1e-6)


# -- by hand: what is short counts as such -----------------------------------------------------------------------

KETTLES = [f"{hour:02}:05" for hour in range(8, 20)]


def kettles() -> Document:
    """Every hour five minutes of 2200 W beside 50 W, on 200 Ah of lead acid at 48 V."""
    bank = {
        "chemistry": "lead_acid", "modules": 1, "module_ah": 200, "module_v": 48, "peukert": 1.2, "rated_hours": 20,
        "module_resistance_ohm": 0.02, "reserve": 0.5,
    }  # fmt: skip
    document = cabin(steady("base", 50), load("kettle", 2200, 300), battery=bank, day={"start_state_of_charge": 0.95})
    document["scenarios"][0]["runs"] = [
        {"id": f"k{number}", "appliance": "kettle", "start": at} for number, at in enumerate(KETTLES)
    ]
    return document


def test_hours_to_the_reserve_are_those_the_day_itself_takes() -> None:
    """Without panels the plan's own day passes the reserve when Switch on says so in the morning."""
    inspection = inspected(kettles())
    below_ms = inspection.assessment.battery.expected.below_ms  # type: ignore[union-attr]
    assert below_ms is not None

    for hour in (7, 10, 12):
        assert to_reserve_h(inspection, hour * HOUR_MS) == pytest.approx(below_ms / HOUR_MS - hour, abs=0.02)


def test_the_dark_days_take_what_the_day_itself_takes() -> None:
    """A plan without panels: the next day, dark, is the same day again from another charge."""
    dark = assessed(kettles())[1].then_dark
    again = kettles()
    again["scenarios"][0]["start_state_of_charge"] = assessed(kettles())[1].end_state_of_charge
    told = assessed(again)[1].expected.below_ms

    assert dark.reserve_ms is not None
    assert told is not None
    assert dark.reserve_ms - 24 * HOUR_MS == pytest.approx(told, abs=90_000)
