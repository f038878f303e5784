"""A short edge between two long ones keeps both its corners."""

from __future__ import annotations

import numpy as np
import pytest

from fixtures.compare_traces import compare
from vectorize.fit import fit_ring
from vectorize.fit.tolerances import FitSettings
from vectorize.shapes.outline import Outline

STEP_MM, PEN_MM = 0.127, 0.39
FIT_MM = 0.1


def as_measured(corners: list[tuple[float, float]], *, rounding_mm: float) -> np.ndarray:
    """Points every `STEP_MM` along a polygon, its corners rounded as the middle of a pen line is."""
    ring = np.array([*corners, corners[0]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(ring, axis=0).T))])
    marks = np.arange(round(along[-1] / STEP_MM)) * STEP_MM
    points = np.column_stack([np.interp(marks, along, ring[:, k]) for k in (0, 1)])
    half = round(rounding_mm / STEP_MM)
    return sum(np.roll(points, k, axis=0) for k in range(-half, half + 1)) / (2 * half + 1)


@pytest.mark.parametrize("thickness", [1.0, 1.4])
@pytest.mark.parametrize("rounding", [0.13, 0.26])
def test_a_trailing_edge_is_not_drawn_out_to_a_point(thickness: float, rounding: float) -> None:
    wedge = [(0.0, 0.0), (60.0, 0.0), (60.0, thickness), (0.0, 16.0)]
    points = as_measured(wedge, rounding_mm=rounding)
    ring = fit_ring(points, np.ones(len(points), bool), settings=FitSettings(0.05, PEN_MM, STEP_MM)).ring
    assert compare(Outline(ring), Outline.from_points(wedge)).worst_mm < FIT_MM


def test_a_sharp_wedge_keeps_its_point() -> None:
    wedge = [(0.0, 0.0), (60.0, 0.0), (0.0, 16.0)]
    points = as_measured(wedge, rounding_mm=0.13)
    ring = fit_ring(points, np.ones(len(points), bool), settings=FitSettings(0.05, PEN_MM, STEP_MM)).ring
    assert compare(Outline(ring), Outline.from_points(wedge)).worst_mm < 2 * FIT_MM
