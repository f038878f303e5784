"""A tight round is no corner, however the noise falls; a slight corner is one."""

from __future__ import annotations

import numpy as np
import pytest

from tests.vectorize.fit.test_blunt_ends import as_measured
from vectorize.fit.corners import find_corners
from vectorize.fit.tolerances import FitSettings

STEP_MM = 0.127
SETTINGS = FitSettings(0.05, 0.35, STEP_MM)
NOISE_MM = 0.006
"""A twentieth of a pixel at 200 dpi: what a blurred line on textured paper leaves of its middle."""


def strap(radius: float, length: float = 42.0) -> np.ndarray:
    angle = np.arange(-90, 90, 2) * np.pi / 180
    right = np.column_stack([length + radius * np.cos(angle), radius * np.sin(angle)])
    return np.vstack([right, right * [-1, -1] + [length, 0]])


def noisy(points: np.ndarray, seed: int) -> np.ndarray:
    """Neighbours of a measured line share some of their noise."""
    noise = np.random.default_rng(seed).normal(0, NOISE_MM * 1.5, points.shape)
    return points + (np.roll(noise, 1, axis=0) + noise + np.roll(noise, -1, axis=0)) / 3


@pytest.mark.parametrize("seed", range(4, 8))
def test_the_round_ends_of_a_strap_have_no_corners(seed: int) -> None:
    points = noisy(as_measured([*map(tuple, strap(4.5))], rounding_mm=0.0), seed)
    assert find_corners(points, np.ones(len(points), bool), settings=SETTINGS) == []


@pytest.mark.parametrize("turn_deg", [35.0, 60.0, 120.0])
@pytest.mark.parametrize("seed", range(3))
def test_sharp_corners_are_found_under_the_same_noise(turn_deg: float, seed: int) -> None:
    turn = np.radians(turn_deg)
    top = (30.0 + 20 * np.cos(turn), 20 * np.sin(turn))
    ring = [(0.0, 0.0), (30.0, 0.0), top, (0.0, 30.0)]
    points = noisy(as_measured(ring, rounding_mm=0.13), seed)
    corners = points[find_corners(points, np.ones(len(points), bool), settings=SETTINGS)]
    assert all(np.hypot(*(corners - corner).T).min() < 3 * STEP_MM for corner in ring[:2])
