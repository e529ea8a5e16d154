"""The figure for looking closer: the chart's own numbers, and every limit."""

import plotly.graph_objects as go
import pytest

from app.engine.assess import assess
from tests.web.conftest import House


@pytest.mark.parametrize("plan", ["ordinary", "laundry", "shed"])
def test_a_figure_is_one_the_library_takes(house: House, plan: str) -> None:
    """The library's own validation accepts data and layout."""
    figure = house.client.get(f"{house.address(plan)}/figure").json()

    go.Figure(data=figure["data"], layout=figure["layout"])


def test_a_figure_has_a_line_for_every_limit(house: House) -> None:
    """Each limit of the assessment has its use over the day, whose highest is the limit's own at its worst."""
    figure = house.client.get(f"{house.address('laundry')}/figure").json()
    lines = {one["meta"]["limit"]: one for one in figure["data"] if one["meta"]["kind"] == "use"}
    assessment = assess(house.stored.household, "laundry")

    assert set(lines) == {reading.id for reading in assessment.limits}
    for reading in assessment.limits:
        if reading.direction == "ceiling" and reading.use > 0:
            assert max(lines[reading.id]["customdata"]) >= 100 * reading.use / reading.limit - 0.01


def test_a_reader_may_look_closer_and_a_stranger_may_not(house_of) -> None:  # type: ignore[no-untyped-def]
    """The figure needs the link the page needs."""
    reader, stranger = house_of("reader"), house_of(None)

    assert reader.client.get(f"{reader.address()}/figure").status_code == 200
    assert stranger.client.get(f"{stranger.address()}/figure").status_code == 403
