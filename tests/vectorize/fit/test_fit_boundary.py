"""Boundary points as few lines, arcs and curves."""

import numpy as np
import pytest
from scipy.ndimage import convolve1d
from scipy.signal import savgol_coeffs, savgol_filter

from tests.vectorize.inked_lines import circle_points
from vectorize.fit import fit_boundary
from vectorize.fit.fit_boundary import parabola_weights
from vectorize.shapes.outline import Ring
from vectorize.shapes.segment import Line

ROUNDING = 1e-12


@pytest.mark.parametrize("window", [5, 7, 21, 81])
def test_weights_of_neighbours_are_those_of_the_published_filter(window):
    assert parabola_weights(window) == pytest.approx(savgol_coeffs(window, 2), abs=ROUNDING)


def test_points_of_a_closed_ring_are_smoothed_as_by_the_reference_library():
    around = np.linspace(0, 2 * np.pi, 200, endpoint=False)
    noise = np.random.default_rng(7).normal(0, 0.02, (200, 2))
    points = np.column_stack([np.cos(around), np.sin(around)]) * 30 + noise
    smooth = convolve1d(points, parabola_weights(11), axis=0, mode="wrap")
    assert smooth == pytest.approx(savgol_filter(points, 11, 2, axis=0, mode="wrap"), abs=ROUNDING)


def test_a_parabola_is_kept():
    along = np.arange(-4, 5.0)
    assert parabola_weights(9) @ (3 * along**2 - 2 * along + 1) == pytest.approx(1.0)


def test_where_clean_points_hold_only_a_line_the_ring_is_fitted_to_all_points() -> None:
    """Two lines there and back enclose nothing, as came of a hole that many lines crossed; it spoilt its whole part."""
    points = circle_points(0.0, 0.0, 6.5)
    there_and_back = Ring((Line((-6.5, 0.0), (6.5, 0.0)), Line((6.5, 0.0), (-6.5, 0.0))))
    assert fit_boundary._farthest(points, there_and_back) == float("inf")
