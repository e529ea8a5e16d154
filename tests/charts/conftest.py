"""Charts of the demo's plans, and of small assessments made by hand."""

from collections.abc import Callable, Sequence
from types import SimpleNamespace

import numpy as np
import pytest

from app.charts.day import DayChart, day_chart
from app.engine.assess import assess
from app.engine.likely import Band
from app.engine.results import Assessment, Curves, Demand, LimitReading, Piece, Surge, Verdict
from app.household.demo import demo_text
from app.household.file import read_household
from app.household.household import Household
from app.household.resolve import Resolved, resolve

HOUR_MS = 3_600_000


@pytest.fixture(scope="session")
def demo() -> Household:
    return read_household(demo_text())


@pytest.fixture(scope="session", params=["ordinary", "laundry", "shed"])
def plan(request: pytest.FixtureRequest, demo: Household) -> tuple[Resolved, Assessment, DayChart]:
    """Each of the demo's plans, assessed and described."""
    resolved = resolve(demo, request.param)
    assessment = assess(demo, request.param)
    return resolved, assessment, day_chart(resolved, assessment)


@pytest.fixture
def resolved(demo: Household) -> Resolved:
    return resolve(demo, "laundry")


def piece(appliance: str, begin_h: float, end_h: float, w: float, certain: bool = True, set_off: bool = False) -> Piece:
    """A stretch of draw, in hours and watts."""
    return Piece(appliance, "r", None, round(begin_h * HOUR_MS), round(end_h * HOUR_MS), w, w, certain, set_off)


def made(
    pieces: Sequence[Piece],
    surges: Sequence[Surge] = (),
    limits: Sequence[LimitReading] = (),
    verdict: Verdict = "fits",
    ceiling_w: float = np.inf,
) -> Assessment:
    """An assessment whose curves are the plain sums of its pieces, at most `ceiling_w`."""
    horizon_ms = 36 * HOUR_MS
    edges = np.unique([0, horizon_ms, *(one.begin_ms for one in pieces), *(one.end_ms for one in pieces)]).astype(float)
    middles = (edges[:-1] + edges[1:]) / 2
    certain_w, worst_w = (
        np.array(
            [
                sum(one.w for one in pieces if one.begin_ms < at < one.end_ms and (one.certain or everything))
                for at in middles
            ],
            dtype=float,
        )
        for everything in (False, True)
    )
    return Assessment(
        verdict=verdict,
        limits=tuple(limits),
        surges=tuple(surges),
        demand=Demand(0, 0, 0, 0, 0),
        any_time=(),
        trust={},
        cautions=(),
        pieces=tuple(pieces),
        curves=Curves(
            edges, np.minimum(certain_w, ceiling_w), np.minimum(worst_w, ceiling_w),
            np.full(len(edges), 4500.0), np.full(len(edges), 10_000.0),
        ),
        day_ms=24 * HOUR_MS,
        horizon_ms=horizon_ms,
        odds=SimpleNamespace(band=Band(edges, certain_w, np.minimum(worst_w, ceiling_w))),
    )  # fmt: skip


@pytest.fixture
def charted(resolved: Resolved) -> Callable[..., DayChart]:
    """Describes an assessment made by hand."""
    return lambda *pieces, **more: day_chart(resolved, made(pieces, **more))


def reading(limit_id: str, verdict: Verdict, at_h: float = 0) -> LimitReading:
    """A limit of a verdict, at an hour."""
    return LimitReading(limit_id, "ceiling", 4500, "W", 5000, -500, round(at_h * HOUR_MS), verdict, verdict, 5000)
