"""A line in faint pencil strays by a tenth of a pixel: what it strays is no shape."""

from __future__ import annotations

import numpy as np
import pytest

from fixtures.compare_traces import compare
from tests.vectorize.fit.test_blunt_ends import as_measured
from vectorize.fit import FitSettings, find_corners, fit_ring
from vectorize.shapes.outline import Outline
from vectorize.shapes.segment import Arc, Line

STEP_MM, PEN_MM = 0.127, 0.4  # 200 dpi
NOISE_MM = 0.012
WORN_MM = 0.15
"""Half of what is allowed on a worn sheet."""

GUSSET = [(0.0, 0.0), (30.0, 0.0), (30.0, 3.5), (3.2, 22.0), (0.0, 22.0)]


def faint(points: np.ndarray, seed: int) -> np.ndarray:
    """Return the points with noise that neighbours over half a millimetre share."""
    white = np.random.default_rng(seed).normal(0, NOISE_MM * 2.2, points.shape)
    return points + sum(np.roll(white, k, axis=0) for k in range(-2, 3)) / 5


@pytest.mark.parametrize("seed", range(10))
def test_a_short_edge_that_is_half_worn_away_stays_straight(seed: int) -> None:
    points = faint(as_measured(GUSSET, rounding_mm=0.13), seed)
    is_clean = ~((points[:, 1] > 21.5) & (np.abs(points[:, 0] - 2.2) < 0.8))
    ring = fit_ring(points, is_clean, settings=FitSettings(0.05, PEN_MM, STEP_MM)).ring
    measured = compare(Outline(ring), Outline.from_points(GUSSET))
    assert [type(segment) for segment in ring.segments] == [Line] * 5
    assert measured.worst_mm < WORN_MM


@pytest.mark.parametrize("seed", range(10))
def test_the_round_ends_of_a_strap_stay_round(seed: int) -> None:
    angle = np.radians(np.arange(-90, 90, 2))
    right = np.column_stack([42.0 + 4.5 * np.cos(angle), 4.5 * np.sin(angle)])
    strap = np.vstack([right, right * [-1, -1] + [42.0, 0]])
    points = faint(as_measured([*map(tuple, strap)], rounding_mm=0.0), seed)
    settings = FitSettings(0.05, PEN_MM, STEP_MM)
    everywhere = np.ones(len(points), np.bool_)
    assert find_corners(points, everywhere, settings=settings) == []
    kinds = [type(segment) for segment in fit_ring(points, everywhere, settings=settings).ring.segments]
    assert sorted(kinds, key=lambda kind: kind.__name__) == [Arc, Arc, Line, Line]
