"""A side that is disturbed along its whole length is still a side."""

from __future__ import annotations

import numpy as np

from vectorize.fit import FitSettings, fit_ring


def test_a_side_under_another_line_does_not_let_the_arch_beside_it_swing_out() -> None:
    angle = np.linspace(0.0, np.pi, 630)[1:]
    arch = np.column_stack([20 * np.cos(angle), 30 + 20 * np.sin(angle)])
    left = np.column_stack([np.full(299, -20.0), np.arange(29.9, 0.0, -0.1)])
    base = np.column_stack([np.arange(-20.0, 20.0, 0.1), np.zeros(400)])
    right = np.column_stack([np.full(301, 20.0), np.linspace(0.0, 30.0, 301)])
    points = np.vstack([arch, left, base, right[:-1]])
    is_clean = np.ones(len(points), np.bool_)
    is_clean[len(arch) : len(arch) + len(left)] = False
    ring = fit_ring(points, is_clean, settings=FitSettings(0.04, 0.4, 0.1)).ring
    assert abs(ring.flattened(0.01)[:, 0].min() + 20.0) < 0.1
