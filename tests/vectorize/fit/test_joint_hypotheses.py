"""A circle that was led on under a disturbed stretch dips through a line twice; the ink says where it ends."""

from __future__ import annotations

import math

import numpy as np

from tests.vectorize.inked_lines import Sheet
from vectorize.fit.corners_by_ink import resolve_corners_by_ink
from vectorize.fit.ink_view import InkView
from vectorize.fit.joint_hypotheses import JointHypothesis, Side, apexes, circle_arc, passes, to_apex
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
    sight = InkView(
        255 - sheet.grey(),
        to_mm=lambda at: np.column_stack([at[:, 0] + 0.5, sheet.rows - at[:, 1] - 0.5]) / PX_PER_MM,
        to_px=lambda at: np.column_stack([at[:, 0] * PX_PER_MM - 0.5, sheet.rows - at[:, 1] * PX_PER_MM - 0.5]),
        step_mm=1 / PX_PER_MM,
    )
    ring, _ = resolve_corners_by_ink(ring_by(last), sight, pen_mm=0.45)
    lowest = ring.flattened(0.01)[:, 1].min()
    assert lowest > FLOOR - 0.1 * DIP_MM


def test_a_circle_that_all_but_reaches_a_side_meets_it_where_it_would_touch() -> None:
    """5.000 mm round and 5.005 mm away: hundredths of a millimetre are within what the fit errs by."""
    floor = CENTRE[1] - RADIUS - 0.005
    arc, side = circle_arc(Round(CENTRE, RADIUS, 1), (15.0, 20.0), (19.0, 15.1)), Line((22.0, floor), (60.0, floor))
    arms = Side.of(arc, 0.4, Round(CENTRE, RADIUS, 1)), Side.of(side, 0.4, is_after=True)
    (apex,) = apexes(*arms, JointHypothesis(arc, (Line(arc.end, side.start),), side))
    assert math.dist(apex, (CENTRE[0], floor)) < 0.01


def test_two_sides_that_part_slightly_meet_farther_back_than_their_ink_comes_apart() -> None:
    """At 3 degrees they run within 0.7 mm of each other for 13 mm."""
    slope = math.tan(math.radians(3.0))
    one, other = Line((0.0, 0.0), (40.0, 0.0)), Line((42.0, 12.0 * slope), (80.0, 50.0 * slope))
    arms = Side.of(one, 0.4), Side.of(other, 0.4, is_after=True)
    (apex,) = apexes(*arms, JointHypothesis(one, (Line(one.end, other.start),), other))
    assert math.dist(apex, (30.0, 0.0)) < 1e-6


def test_a_way_that_follows_an_overshoot_out_and_comes_back_passes_the_corner() -> None:
    one, other = Line((0.0, 0.0), (10.0, 0.0)), Line((10.0, 0.0), (10.0, 20.0))
    arms = Side.of(one, 0.4), Side.of(other, 0.4, is_after=True)
    out = JointHypothesis(
        Line((0.0, 0.0), (10.5, 0.0)), (Line((10.5, 0.0), (10.0, 0.4)),), Line((10.0, 0.4), (10.0, 20.0))
    )
    cut = JointHypothesis(
        Line((0.0, 0.0), (9.5, 0.0)), (Line((9.5, 0.0), (10.0, 0.5)),), Line((10.0, 0.5), (10.0, 20.0))
    )
    assert passes(out, arms, (10.0, 0.0))
    assert not passes(cut, arms, (10.0, 0.0))
    assert not passes(to_apex(*arms, (10.0, 0.0)), arms, (10.0, 0.0))
