"""Collision and badness against shapely, on random shapes at random places."""

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import Polygon

from nesting.place.collide import severity
from nesting.place.move import put
from nesting.place.search_shapes import shape_of
from nesting.place.search_space import Scene, Variant, bank_of
from nesting.place.settle import slide
from tests.nesting.place.strategies import outlines

DOUBTFUL_MM2 = 1e-6  # overlaps smaller than this are touching
SQUARE = Polygon([(-5, -5), (5, -5), (5, 5), (-5, 5)])
FRAME = Polygon([(-20, -20), (20, -20), (20, 20), (-20, 20)], [[(-10, -10), (-10, 10), (10, 10), (10, -10)]])


def bank_for(*polygons):
    shapes = [shape_of(polygon, (0.0, 0.0)) for polygon in polygons]
    return bank_of([Variant(shape, shape, ()) for shape in shapes])


def clash(bank, dx, dy, a=0, b=1):
    return severity(bank, a, b, float(dx), float(dy), np.empty(len(bank.edges), np.int64))


@settings(max_examples=150, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(outlines(), outlines(), st.floats(-60, 60), st.floats(-60, 60))
def test_collision_agrees_with_shapely(one, other, dx, dy):
    a, b = one.to_polygon(), other.to_polygon()
    assume(a.is_valid and b.is_valid)
    common = a.intersection(affinity.translate(b, dx, dy)).area
    assume(common == 0 or common > DOUBTFUL_MM2)
    assert (clash(bank_for(a, b), dx, dy) > 0) == (common > 0)


@pytest.mark.parametrize(("dx", "dy"), [(10, 0), (0, 10), (-10, 3), (10, 10), (4, -10)])
def test_touching_squares_do_not_collide_but_a_hair_more_does(dx, dy):
    bank = bank_for(SQUARE, SQUARE)
    assert clash(bank, dx, dy) == 0
    assert clash(bank, dx * (1 - 1e-6), dy * (1 - 1e-6)) > 0


def test_a_shape_inside_another_collides_but_not_in_its_cutout():
    bank = bank_for(FRAME, SQUARE)
    assert clash(bank, 0, 0) == 0
    assert clash(bank, 5, 5) == 0  # touches two walls of the cut-out
    assert clash(bank, 5.001, 5) > 0
    inside = bank_for(SQUARE.buffer(20, join_style="mitre"), SQUARE)
    assert clash(inside, 3, 4) > 0


def test_equal_shapes_in_one_place_collide():
    bank = bank_for(FRAME, FRAME)
    assert clash(bank, 0, 0) > 0


def test_badness_falls_as_shapes_move_apart_and_does_not_depend_on_order():
    bank = bank_for(SQUARE, FRAME)
    values = [clash(bank, d, 0) for d in (16, 18, 20, 22, 24)]
    assert values == sorted(values, reverse=True)
    assert values[-1] > 0
    assert clash(bank, 18, 3) == pytest.approx(clash(bank, -18, -3, a=1, b=0), rel=1e-5)


@settings(max_examples=60, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(outlines(), outlines(), st.floats(-25, 25), st.booleans())
def test_a_slide_ends_where_shapes_touch(one, other, offset, along_x):
    a, b = one.to_polygon(), other.to_polygon()
    assume(a.is_valid and b.is_valid)
    bank = bank_for(a, b)
    scene = Scene(np.zeros((2, 6)), np.zeros((2, 4), np.int64), np.zeros((1, 4)))
    put(bank, scene, 1, 0, 1, 0.0, 0.0)
    start = (100.0, offset) if along_x else (offset, 100.0)
    end = slide(bank, scene, 0, 0, start[0], start[1], 0 if along_x else 1, -100.0)
    at = (end, offset) if along_x else (offset, end)
    moved = affinity.translate(a, *at)
    assert moved.intersection(b).area < DOUBTFUL_MM2
    swept = shapely.union_all([affinity.translate(a, *start), moved]).convex_hull
    if end > -100.0 + 1e-9:
        assert moved.distance(b) < 1e-7
    else:
        assert swept.bounds[2] - swept.bounds[0] > 0
