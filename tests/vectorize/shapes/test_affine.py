"""The one affine map, held against the matrices of shapely.affinity and numpy."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import Point as ShapelyPoint

from vectorize.shapes.affine import Affine
from vectorize.shapes.outline import Pose, Ring
from vectorize.shapes.segment import Arc, Cubic

FACTORS = st.floats(-50, 50)
MAPS = st.builds(Affine, *[FACTORS] * 6)
POINTS = st.tuples(FACTORS, FACTORS)


@given(move=MAPS, point=POINTS)
def test_a_point_goes_where_an_independent_library_takes_it(move, point):
    # shapely writes the map row by row: x' = a x + b y + xoff, y' = d x + e y + yoff.
    there = affinity.affine_transform(ShapelyPoint(point), [move.a, move.c, move.b, move.d, move.e, move.f])
    assert move(point) == pytest.approx((there.x, there.y), abs=1e-9)


@given(first=MAPS, after=MAPS, point=POINTS)
def test_one_map_then_another_is_the_product_of_their_matrices(first, after, point):
    matrices = (np.array([[m.a, m.c, m.e], [m.b, m.d, m.f], [0, 0, 1]]) for m in (after, first))
    x, y, _ = np.linalg.multi_dot([*matrices, np.array([*point, 1.0])])
    assert first.then(after)(point) == pytest.approx((x, y), rel=1e-9, abs=1e-6)


@given(angle=st.floats(0, 360), is_flipped=st.booleans(), point=POINTS)
def test_a_rigid_move_is_the_same_as_a_map(angle, is_flipped, point):
    pose = Pose(3.0, -4.0, angle, is_flipped)
    move = Affine.from_pose(pose)
    assert move(point) == pytest.approx(pose.moved(point), abs=1e-9)
    assert (move.is_mirror, move.keeps_circles) == (is_flipped, True)


def test_a_circle_stays_one_only_where_both_ways_are_stretched_alike():
    circle = Ring.circle((1.0, 2.0), 3.0).segments
    assert {type(piece) for piece in Affine(0.0, 2.0, -2.0, 0.0).segments(circle)} == {Arc}
    oval = Affine(2.0, 0.0, 0.0, 1.0).segments(circle)
    assert {type(piece) for piece in oval} == {Cubic}
    # The area of an ellipse with the half axes 6 and 3, Euclid's circle stretched: π a b.
    assert Ring(oval).signed_area_mm2 == pytest.approx(math.pi * 6 * 3, rel=1e-6)
