"""A straight side between two rounds comes back straight, however the noise falls."""

import numpy as np
import pytest

from vectorize.fit import FitSettings, fit_ring
from vectorize.shapes.segment import Arc, Line

RADIUS_MM, LENGTH_MM = 4.5, 42.0
STEP_MM = 0.085  # a pixel at 300 dpi
WORN_MM, CLEAN_MM = 0.01, 0.002
"""Noise of one measured point; on a clean scan a side that runs a little round a bend is told by less than a pixel."""


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize(("noise_mm", "area_share"), [(WORN_MM, 0.0008), (CLEAN_MM, 0.0002)])
def test_a_strap_with_round_ends_is_two_lines_and_two_arcs(seed, noise_mm, area_share):
    rng = np.random.default_rng(seed)
    side = np.arange(0, LENGTH_MM, STEP_MM)
    turn = np.arange(0, np.pi, STEP_MM / RADIUS_MM)
    lower = np.column_stack([side, np.full_like(side, -RADIUS_MM)])
    right = [LENGTH_MM, 0] + RADIUS_MM * np.column_stack([np.sin(turn), -np.cos(turn)])
    points = np.vstack([lower, right])
    points = np.vstack([points, [LENGTH_MM, 0] - points]) + rng.normal(0, noise_mm, (2 * len(points), 2))
    ring = fit_ring(points, np.ones(len(points), np.bool_), settings=FitSettings(0.05, 0.4, STEP_MM)).ring
    kinds = [type(segment) for segment in ring.segments]
    assert sorted(kinds, key=lambda kind: kind.__name__) == [Arc, Arc, Line, Line]
    area = 2 * RADIUS_MM * LENGTH_MM + np.pi * RADIUS_MM**2
    assert abs(ring.signed_area_mm2) == pytest.approx(area, rel=area_share)
