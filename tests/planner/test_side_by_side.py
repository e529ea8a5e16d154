"""Plans side by side: every difference is that of the two assessments' own figures."""

import json
from dataclasses import replace

import numpy as np
import pytest

from app.charts.side_by_side import HOURS, hours_of, plan_lines
from app.charts.side_by_side_svg import side_demand_svg, side_starts_svg
from app.engine.assess import assess
from app.engine.results import Assessment
from app.household.day import day_frame
from app.household.demo import demo_text
from app.household.file import household_from
from app.household.resolve import Resolved, resolve
from app.planner.side_by_side import Compared, side_by_side

PLANS = ("ordinary", "laundry", "shed")
LONDON = "Europe/London"


@pytest.fixture(scope="module")
def plans() -> list[tuple[Resolved, Assessment]]:
    """The demo's three plans; the third with an inverter of its own and a circuit fewer."""
    document = json.loads(demo_text())
    circuits = [one for one in document["supply"]["circuits"] if one["id"] != "rooms"]
    shed = document["scenarios"][2]["changes"]
    shed["supply"] = {"inverter": {"rated_va": 5500}, "circuits": circuits}
    shed["appliances"] += [
        {key: value for key, value in one.items() if key != "circuit"}
        for one in document["appliances"]
        if one.get("circuit") == "rooms"
    ]
    household = household_from(document)
    return [(resolve(household, plan), assess(household, plan)) for plan in PLANS]


@pytest.fixture(scope="module")
def compared(plans: list[tuple[Resolved, Assessment]]) -> Compared:
    """They beside one another."""
    return side_by_side(plans)


def test_differences_are_those_of_the_assessments_themselves(
    plans: list[tuple[Resolved, Assessment]], compared: Compared
) -> None:
    """To 1e-9, for every limit and from every plan; what a plan lacks has no difference."""
    every = {reading.id for _, assessment in plans for reading in assessment.limits}
    assert {row.id for row in compared.limits} == every
    for row in compared.limits:
        for place, (_, mine) in enumerate(plans):
            for counted_from, (_, other) in enumerate(plans):
                here, there = mine.limit(row.id), other.limit(row.id)
                found = row.difference(place, counted_from)
                if here is None or there is None:
                    assert found is None
                else:
                    assert found == pytest.approx(here.use - there.use, abs=1e-9)
    assert any(None in row.readings for row in compared.limits)
    assert {row.id for row in compared.limits if row.differs} >= {"inverter_apparent", "inverter_overload"}


def test_figures_are_the_reports_own(plans: list[tuple[Resolved, Assessment]], compared: Compared) -> None:
    """Energy, charges, sun and odds as each assessment has them, and their differences."""
    rows = {row.what: row for row in compared.figures}
    for place, (_, one) in enumerate(plans):
        bank = one.battery
        assert bank is not None
        night = bank.state_of_charge[bank.edges_ms >= one.day_ms]
        own = {
            "energy_wh": one.demand.energy_wh,
            "peak_w": one.demand.peak_worst_w,
            "lowest_charge": 100 * bank.expected.state_of_charge,
            "morning_charge": 100 * float(night.min()),
            "midnight_charge": 100 * float(np.interp(one.day_ms, bank.edges_ms, bank.state_of_charge)),
            "noon_charge": 100 * float(bank.state_of_charge[-1]),
            "spare_sun_wh": bank.totals.spare_sun_wh,
            "sun_used_wh": bank.totals.sun_used_wh,
            "out_of_bank_wh": bank.totals.out_of_bank_wh,
            "often_per_day": max(reading.broken_per_day or 0 for reading in one.limits),
        }
        assert {what: row.values[place] for what, row in rows.items()} == pytest.approx(own, rel=1e-12)
        for row in compared.figures:
            assert row.difference(place, 0) == pytest.approx(own[row.what] - rows[row.what].values[0], abs=1e-9)  # type: ignore[operator]


def test_starts_come_and_go(plans: list[tuple[Resolved, Assessment]], compared: Compared) -> None:
    """Each appliance by its hardest start; what does not start in a plan is not there."""
    rows = {row.appliance: row for row in compared.starts}
    for appliance, row in rows.items():
        for (_, one), start in zip(plans, row.starts, strict=True):
            totals = [surge.total_va for surge in one.surges if surge.appliance == appliance]
            assert (None if start is None else start.total_va) == max(totals, default=None)
    assert [start is None for start in rows["bandsaw"].starts] == [True, True, False]
    assert rows["bandsaw"].differs


def test_what_certain_draws_break_comes_every_day_and_what_odds_do_not_know_is_not_guessed(
    plans: list[tuple[Resolved, Assessment]],
) -> None:
    """Once at least where a limit is broken for certain; None where the worst case breaks it and no odds are told."""
    (resolved, fits), (_, other) = plans[0], plans[2]

    def often(**reading: object) -> float | None:
        changed = replace(fits, limits=(replace(fits.limits[0], **reading), *fits.limits[1:]))  # type: ignore[arg-type]
        rows = side_by_side([(resolved, other), (resolved, changed)]).figures
        return next(row.values[1] for row in rows if row.what == "often_per_day")

    assert often() == 0
    assert often(verdict="over", verdict_certain="over") == 1
    assert often(verdict="chance", verdict_certain="fits", broken_per_day=0.2) == 0.2
    assert often(verdict="over", verdict_certain="fits") is None
    assert often(id="cold_restart", verdict="over", verdict_certain="over") == 0


def test_a_plan_beside_itself_differs_in_nothing(plans: list[tuple[Resolved, Assessment]]) -> None:
    """No row differs, every difference is nought."""
    same = side_by_side([plans[0], plans[0]])

    assert not any(row.differs for row in (*same.limits, *same.figures, *same.starts))


@pytest.mark.parametrize(
    ("date", "instant_h", "hour", "zone"),
    [
        ("2026-05-12", 13.5, 13.5, LONDON),
        ("2026-03-29", 0.5, 0.5, LONDON),  # 23 hours: from 01:00 clocks go to 02:00
        ("2026-03-29", 5.0, 6.0, LONDON),
        ("2026-10-25", 5.0, 4.0, LONDON),  # 25 hours: 01:00 comes twice
        ("2026-10-25", 25.0, 24.0, LONDON),
        ("2026-03-29", 0.5, 0.5, "Antarctica/Troll"),  # 22 hours: from 01:00 clocks go to 03:00
        ("2026-03-29", 1.5, 3.5, "Antarctica/Troll"),
        ("2026-03-29", 5.0, 7.0, "Antarctica/Troll"),
    ],
)
def test_the_axis_is_the_clocks_face(date: str, instant_h: float, hour: float, zone: str) -> None:
    """Days of 23 and 25 hours lie under others by the clock."""
    frame = day_frame(date, zone)

    assert hours_of(frame, np.array([instant_h * 3_600_000]))[0] == pytest.approx(hour)
    assert hours_of(frame, np.array([float(frame.horizon_ms)]))[0] == HOURS


def test_lines_are_the_curves_of_the_assessments(plans: list[tuple[Resolved, Assessment]]) -> None:
    """What is drawn is what was assessed, edge by edge; a start that no other plan has is told."""
    lines = plan_lines([(resolved.day.name, resolved, one) for resolved, one in plans])

    for line, (_, one) in zip(lines, plans, strict=True):
        assert np.array_equal(line.worst_w, one.curves.worst_w)
        assert line.edges_h == pytest.approx(one.curves.t_ms / 3_600_000)
        assert [start.total_va for _, start, _ in line.starts] == sorted(
            (start.total_va for _, start, _ in line.starts), reverse=True
        )
    assert [start.name for _, start, only_here in lines[2].starts if only_here][:1] == ["Air compressor"]


def test_plans_that_draw_and_start_alike_are_told_once(plans: list[tuple[Resolved, Assessment]]) -> None:
    """At one place stands every letter of those that meet there; limits that are the same are named once."""
    lines = plan_lines([("One", *plans[0]), ("Other", *plans[0]), ("Shed", *plans[2])])

    demand = side_demand_svg(lines, "", lambda value, unit, letters: f"{value:.0f} {unit} {letters}")
    starts = side_starts_svg(lines, "", lambda value, unit, letters: f"{value:.0f} {letters}", lambda va: f"{va:.0f}")

    hardest = max(surge.total_va for surge in plans[0][1].surges)
    assert ">A, B</text>" in demand
    assert f">A, B {hardest:.0f}</text>" in starts
    assert ">A</text>" not in demand
