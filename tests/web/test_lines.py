"""Bounds of figures in the lines of a curve, told in the form's own units and words."""

import pytest

from app.household.supply import Battery, Inverter, SolarArray
from app.web.fields import supply
from app.web.fields.entry import Points, facts_of_line
from tests.web.conftest import House
from tests.web.markup import Page
from tests.web.test_editors import PLAN, send, supply_of

PLANS = (PLAN,)


@pytest.mark.parametrize(
    ("form", "name", "lines", "says"),
    [
        (
            "inverter",
            "continuous_w",
            [["77", "500 \u00b0F"], ["4500", "3900"]],
            "Line 2: 500 \u00b0F is too large; give a figure up to 248 \u00b0F.",
        ),
        ("inverter", "continuous_w", [["77"], ["2 MW"]], "cannot be read here; give it as 2000"),
        ("inverter", "continuous_w", [["77"], ["2000000"]], "up to 1000000 W."),
        (
            "inverter",
            "overload",
            [["6000"], ["9000 h"], [""]],
            "9000 h is too large; give a figure up to 2777 h 46 min",
        ),
        (
            "inverter",
            "overload",
            [["6000"], ["5 min"], ["0 s"]],
            "Line 1: 0 s is too small; give a figure from 0.001 s.",
        ),
        ("battery", "charge_factor_by_temp", [["\u2212200"], ["50"]], "give a figure from -112 \u00b0F."),
        ("battery", "charge_factor_by_temp", [["50"], ["120"]], "120 is too large; give a figure up to 100 %."),
        ("battery", "discharge_factor_by_temp", [["32"], ["\u22125 %"]], "give a figure from 0 %."),
        ("arrays-0", "horizon", [["400"], ["10"]], "400 is too large; give a figure up to 360 \u00b0."),
        ("arrays-0", "horizon", [["40"], ["95"]], "95 is too large; give a figure up to 90 \u00b0."),
    ],
)
def test_a_bound_in_a_line_is_told_as_the_form_has_it(
    house: House, form: str, name: str, lines: list[list[str]], says: str
) -> None:
    """With its line, beside the list; what was typed stays, and nothing is stored."""
    send(house, "household", "formats", temperature="F")
    before = supply_of(house)
    typed = {f"{name}.{number}": column for number, column in enumerate(lines)}
    answer = send(house, "supply", form, **typed)
    page = Page(answer.text)

    assert answer.status_code == 422
    assert says in page.by_id(f"fault-{form}-{name}").text
    assert page.by_id(f"{form}-{name}-1-1")["value"] == lines[0][0]
    assert supply_of(house) == before


def test_too_many_lines_are_counted(house: House) -> None:
    """An inverter's overload is told by twelve at most."""
    levels = [str(5100 + 100 * number) for number in range(13)]
    answer = send(house, "supply", "inverter", **{"overload.0": levels, "overload.1": ["5 s"] * 13})

    assert answer.status_code == 422
    assert "At most 12 lines, please; here are 13." in Page(answer.text).by_id("fault-inverter-overload").text


@pytest.mark.parametrize(
    ("model", "fields"), [(Inverter, supply.INVERTER), (Battery, supply.BATTERY), (SolarArray, supply.ARRAY)]
)
def test_every_figure_of_a_line_has_its_bounds(model: type, fields: tuple[object, ...]) -> None:
    """None is left to the file, which knows no household's units."""
    for field in fields:
        if isinstance(field, Points):
            known = facts_of_line(model, field)
            assert len(known) == len(field.columns)
            assert all(one.most is not None for one in known)
