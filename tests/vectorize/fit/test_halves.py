"""Half a boundary is made whole, with a corner on the centre line where its edge comes there at a slant."""

from __future__ import annotations

import math

import numpy as np
import pytest

from vectorize.basics.errors import PickError
from vectorize.fit import FitSettings, fit_ring
from vectorize.fit.halves import completed

STEP_MM = 0.1
AXIS = np.array([(10.0, -50.0), (10.0, 50.0)])


def walked(corners: list[tuple[float, float]]) -> np.ndarray:
    """Points once round a polygon, a tenth of a millimetre apart and a hundredth unsure."""
    random = np.random.default_rng(4)
    sides = zip(corners, [*corners[1:], corners[0]], strict=True)
    points = [np.linspace(a, b, round(math.dist(a, b) / STEP_MM), endpoint=False) for a, b in sides]
    walk = np.vstack(points)
    return walk + random.normal(0, 0.01, walk.shape)


def whole_of(half: np.ndarray) -> tuple[float, tuple[int, ...], np.ndarray]:
    """The area of the whole that is fitted, its known corners, and its points."""
    whole = completed(half, np.ones(len(half), bool), AXIS)
    settings = FitSettings(pen_mm=0.5, step_mm=STEP_MM)
    fit = fit_ring(whole.points, whole.is_clean, settings=settings, corners=whole.corners)
    return abs(fit.ring.signed_area_mm2), whole.corners, whole.points


@pytest.mark.parametrize("slant_deg", [3.0, 5.0, 12.0])
def test_an_edge_that_comes_to_the_centre_line_at_a_slant_has_a_corner_on_it(slant_deg: float) -> None:
    #   axis
    #    |\_________       the whole has a blunt peak of 180 - 2 * slant degrees
    #    |          |
    #    +----------+
    rise = 40.0 * math.tan(math.radians(slant_deg))
    half = walked([(10, 0), (50, 0), (50, 20), (10, 20 + rise)])
    area, corners, points = whole_of(half)
    (peak,) = points[list(corners)]
    assert tuple(peak) == pytest.approx((10.0, 20 + rise), abs=0.03)
    assert area == pytest.approx(2 * 40 * (20 + rise / 2), rel=2e-4)


def test_an_edge_that_crosses_the_centre_line_squarely_has_no_corner_there() -> None:
    area, corners, _ = whole_of(walked([(10, 0), (50, 0), (50, 20), (10, 20)]))
    assert corners == ()
    assert area == pytest.approx(2 * 40 * 20, rel=2e-4)


def test_a_round_nose_on_the_centre_line_has_no_corner() -> None:
    angles = np.radians(np.arange(-90, 90, 0.25))
    nose = np.column_stack([10 + 30 * np.cos(angles), 30 * np.sin(angles)])
    half = np.vstack([nose, np.column_stack([np.full(300, 10.0), np.linspace(30, -30, 300)])])
    area, corners, _ = whole_of(half + np.random.default_rng(2).normal(0, 0.01, half.shape))
    assert corners == ()
    assert area == pytest.approx(math.pi * 30**2, rel=5e-4)


def test_a_half_away_from_its_centre_line_is_refused() -> None:
    with pytest.raises(PickError, match="check the two points of the mirror"):
        completed(walked([(-20, 0), (50, 0), (50, 20), (-20, 20)]), np.ones(1800, bool), AXIS)
