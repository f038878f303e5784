"""A circle that was led on under a disturbed stretch dips through a line twice; the ink says where it ends."""

from __future__ import annotations

import math

import numpy as np

from tests.vectorize.inked_lines import Sheet
from vectorize.fit.corners_by_ink import Sight, settled
from vectorize.fit.joint_hypotheses import circle_arc
from vectorize.shapes.outline import Ring
from vectorize.shapes.primitives import Round
from vectorize.shapes.segment import Line

PX_PER_MM = 200 / 25.4

CENTRE, RADIUS, DIP_MM = (20.0, 20.0), 5.0, 0.35
FLOOR = CENTRE[1] - RADIUS + DIP_MM
HALF = math.sqrt(RADIUS**2 - (FLOOR - CENTRE[1]) ** 2)
"""A circle crosses the floor this far before and behind its lowest point, and is `DIP_MM` below it between."""

TOP = (20.0, 25.0)
RIGHT = (60.0, 25.0)


def ring_by(end: tuple[float, float]) -> Ring:
    """From the top down round the left side to `end` on the floor, along the floor, up, and back."""
    arc = circle_arc(Round(CENTRE, RADIUS, 1), TOP, end)
    return Ring((arc, Line(end, (60.0, FLOOR)), Line((60.0, FLOOR), RIGHT), Line(RIGHT, TOP)))


def test_an_arc_that_passes_below_a_side_ends_where_it_first_meets_it() -> None:
    first, last = (CENTRE[0] - HALF, FLOOR), (CENTRE[0] + HALF, FLOOR)
    sheet = Sheet(70, 40, dpi=200, pen_mm=0.45).shape(ring_by(first).flattened(0.01))
    sight = Sight(
        255 - sheet.grey(),
        to_mm=lambda at: np.column_stack([at[:, 0] + 0.5, sheet.rows - at[:, 1] - 0.5]) / PX_PER_MM,
        to_px=lambda at: np.column_stack([at[:, 0] * PX_PER_MM - 0.5, sheet.rows - at[:, 1] * PX_PER_MM - 0.5]),
        step_mm=1 / PX_PER_MM,
    )
    lowest = settled(ring_by(last), sight, pen_mm=0.45).flattened(0.01)[:, 1].min()
    assert lowest > FLOOR - 0.1 * DIP_MM
