"""Clouds: Kasten and Czeplak 1980, Solar Energy 24, 177-189.

Global irradiance under N oktas over that of a clear sky is 1 - 0.75 (N/8)^3.4. The formula stands alike in five
independent texts; the factors are recomputed from it. Several public codes have the exponent 3, which gives 0.6836
for six oktas; and given per cent instead of oktas the formula turns negative. The clear sky 910 sin(elevation) - 30
is of the same paper (its constants read in open code).
"""

import math

import pytest

from app.engine.sky import cloud_factor, oktas_of

FACTORS = (1, 0.9994, 0.9933, 0.9733, 0.9290, 0.8483, 0.7180, 0.5237, 0.2500)


@pytest.mark.parametrize(("oktas", "factor"), list(enumerate(FACTORS)))
def test_every_okta(oktas: int, factor: float) -> None:
    """From a clear sky to an overcast one."""
    assert cloud_factor(oktas) == pytest.approx(factor, abs=0.0001)


def test_the_exponent_is_not_3() -> None:
    """0.6836 would be the wrong one's."""
    wrong = 1 - 0.75 * (6 / 8) ** 3
    assert wrong == pytest.approx(0.6836, abs=0.0001)
    assert abs(cloud_factor(6) - 0.6836) > 0.03


def test_six_oktas_at_60_degrees() -> None:
    """The paper's own clear sky, 758.08 W/m2, under six oktas: 544.29 W/m2."""
    clear_w_m2 = 910 * math.sin(math.radians(60)) - 30
    assert clear_w_m2 * cloud_factor(6) == pytest.approx(544.29, abs=0.05)


@pytest.mark.parametrize(("given", "meant"), [(75, 8), (100, 8), (-1, 0)])
def test_what_is_no_okta_is_the_nearest(given: float, meant: float) -> None:
    """Per cent would make it negative: 75 in place of 6."""
    assert cloud_factor(given) == cloud_factor(meant) > 0


@pytest.mark.parametrize("oktas", [0, 0.5, 3, 6, 7.9, 8])
def test_the_other_way_round(oktas: float) -> None:
    """From the factor back to the oktas."""
    assert oktas_of(cloud_factor(oktas)) == pytest.approx(oktas, abs=1e-6)


def test_dimmer_than_overcast_is_overcast() -> None:
    """And brighter than clear is clear."""
    assert (oktas_of(0.1), oktas_of(1.2)) == (8, 0)
