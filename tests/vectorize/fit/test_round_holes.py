"""A round hole stays one, whatever specks touch its line."""

from __future__ import annotations

import numpy as np
import pytest

from vectorize.fit import FitSettings, fit_ring

STEP_MM = 0.127
RADIUS_MM = 1.5


def measured(bumps: dict[int, float]) -> np.ndarray:
    """Return a bolt hole's line at 200 dpi, pushed outwards by so many mm at a few points and half of that beside."""
    count = 74
    radius = np.full(count, RADIUS_MM)
    for index, height in bumps.items():
        radius[np.arange(index - 2, index + 3) % count] += height * np.array([0.45, 0.6, 1.0, 0.5, 0.45])
    angle = -2 * np.pi * np.arange(count) / count
    return np.column_stack([10 + radius * np.cos(angle), 20 + radius * np.sin(angle)])


@pytest.mark.parametrize("bumps", [{13: 0.076, 65: 0.085}, {13: 0.076, 65: 0.12}, {40: 0.14}])
def test_a_speck_beside_a_hole_makes_no_corner_of_it(bumps: dict[int, float]) -> None:
    points = measured(bumps)
    ring = fit_ring(points, np.ones(len(points), np.bool_), settings=FitSettings(0.04, 0.39, STEP_MM)).ring
    circle = ring.as_circle()
    assert circle is not None
    assert circle[1] == pytest.approx(RADIUS_MM, abs=0.02)
    assert circle[0] == pytest.approx((10.0, 20.0), abs=0.02)


def test_a_key_cut_into_a_hole_stays() -> None:
    # A flat of 1.8 mm across a hole of 4 mm: it lies 0.2 mm within the round.
    count = 100
    angle = 2 * np.pi * np.arange(count) / count
    points = np.column_stack([2.0 * np.cos(angle), np.minimum(2.0 * np.sin(angle), 1.79)])
    ring = fit_ring(points, np.ones(count, np.bool_), settings=FitSettings(0.04, 0.39, STEP_MM)).ring
    assert ring.as_circle() is None
    assert max(y for _, y in ring.flattened(0.01)) < 1.85
