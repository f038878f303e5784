import math

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from nesting.place.search_shapes import fewer_edges, grown_polygon, shape_of
from tests.nesting.place.strategies import outlines
from vectorize.basics.errors import OutlineError
from vectorize.shapes.outline import Outline, Pose, Ring

ADDED_SHARE = 1.1e-3  # fewer edges may add 0.1 % of the area
quick = settings(max_examples=40, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))


def wavy_disc(count=300):
    angle = np.linspace(0, 2 * math.pi, count, endpoint=False)
    radius = 40 + 2 * np.sin(7 * angle)
    return Polygon(np.column_stack((radius * np.cos(angle), radius * np.sin(angle))))


def test_fewer_edges_keep_everything_inside():
    disc = wavy_disc()
    simple = fewer_edges(disc)
    assert len(simple.exterior.coords) < 100
    assert simple.buffer(1e-6).covers(disc)
    assert simple.area <= disc.area * (1 + ADDED_SHARE)


@quick
@given(outlines(), st.one_of(st.just(0.0), st.floats(0.01, 3)))
def test_a_grown_shape_covers_the_grown_part(outline, grow):
    polygon = outline.to_polygon()
    assume(polygon.is_valid)
    grown = grown_polygon(outline, grow_mm=grow, what="part P")
    assert grown.buffer(1e-6).covers(polygon.buffer(grow))
    x0, y0, x1, y1 = outline.bounds
    assert grown.bounds == pytest.approx((x0 - grow, y0 - grow, x1 + grow, y1 + grow), abs=1e-9)


def test_curved_parts_keep_their_exact_extent():
    grown = grown_polygon(Outline(Ring.circle((3, 4), 25)), grow_mm=1.0, what="disc")
    assert grown.bounds == pytest.approx((-23, -22, 29, 30), abs=1e-9)
    assert grown.covers(shapely.Point(3, 4).buffer(25.999, quad_segs=64))


@quick
@given(outlines(), st.floats(0, 360))
def test_circles_lie_inside_apart_and_turn_with_the_shape(outline, turn):
    polygon = outline.to_polygon()
    assume(polygon.is_valid and polygon.area > 20)
    shape = shape_of(polygon, (0.0, 0.0)).turned(turn)
    turned = outline.placed(Pose(0, 0, turn)).to_polygon().buffer(1e-3)
    circles = [shapely.Point(x, y).buffer(r * 0.999) for x, y, r in shape.poles]
    assert circles
    assert all(turned.covers(circle) for circle in circles)
    assert shapely.union_all(circles).area == pytest.approx(sum(c.area for c in circles), rel=1e-3)


def test_a_needle_has_a_point_inside():
    needle = Polygon([(0, 0), (800, 600), (799.99, 600.01)])
    shape = shape_of(needle, (0.0, 0.0))
    assert needle.buffer(1e-9).covers(shapely.Point(shape.poles[0, :2]))
    assert np.all(np.isfinite(shape.poles))


def test_a_shape_that_crosses_itself_is_refused_in_words_with_the_place():
    bow_tie = Outline(Ring.from_points([(0, 0), (10, 10), (10, 0), (0, 14)]))
    with pytest.raises(OutlineError, match=r"is not a simple shape: its edge crosses itself at \(5\.8, 5\.8\) mm"):
        grown_polygon(bow_tie, grow_mm=1.0, what="rib R4")
