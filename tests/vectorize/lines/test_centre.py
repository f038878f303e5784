"""The centre of a line does not depend on how it lies to the rows of pixels."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import ndtr

from vectorize.lines.centre import centred
from vectorize.shapes.segment import Points

ROWS = 60
MIDDLE = 30.0


def pictured(offset_px: float, pen_px: float, blur_px: float) -> np.ndarray:
    """Return the darkness of a line along the rows: the ink that falls on each pixel, blurred by a normal curve."""
    within = np.linspace(-0.475, 0.475, 20)
    y = np.arange(ROWS)[:, None] + within - MIDDLE - offset_px
    ink = (ndtr((y + pen_px / 2) / blur_px) - ndtr((y - pen_px / 2) / blur_px)).mean(axis=1)
    return np.repeat(np.round(255 * ink).astype(np.uint8)[:, None], 80, axis=1)


def along(offset_px: float) -> Points:
    """Return points along the row of pixels next to a line."""
    return np.column_stack([np.arange(10.0, 70.0), np.full(60, MIDDLE + np.round(offset_px))])


@pytest.mark.parametrize("blur_px", [0.35, 0.6, 1.0])
@pytest.mark.parametrize("pen_px", [2.5, 4.0, 5.9, 11.0])
def test_a_line_along_the_rows_leans_to_neither_side(pen_px: float, blur_px: float) -> None:
    """A bell that is cut off at its feet comes out up to 0.06 px to one side: 0.08 % of the area of a rib."""
    offsets = np.linspace(-0.5, 0.5, 21)
    found = [centred(pictured(at, pen_px, blur_px), along(at), width_px=pen_px).points[20:40, 1] for at in offsets]
    away = np.mean(found, axis=1) - MIDDLE - offsets
    assert np.abs(away).max() < 0.02
