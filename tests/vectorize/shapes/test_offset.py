import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.nesting.alter.part_shapes import BODY, kinds
from vectorize.shapes.offset import offset_edges, offset_outline
from vectorize.shapes.outline import Outline, Ring, check_outline
from vectorize.shapes.segment import Arc, Cubic, Line

FILLED = Outline(BODY.exterior)
CURVE_TOL_MM = 0.002  # an offset cubic is fitted to 0.0005 mm, and shapely measures to chords of 0.001 mm


def test_lines_stay_lines_and_arcs_arcs() -> None:
    (grown,) = offset_outline(FILLED, 2.0)
    assert set(kinds(grown.exterior)) == {"Line", "Arc", "Cubic"}
    (arc,) = [s for s in grown.exterior.segments if isinstance(s, Arc)]
    assert arc.radius == pytest.approx(22.0)


@settings(max_examples=12, deadline=None)
@given(distance=st.floats(0.2, 9.0), sign=st.sampled_from([1, -1]))
def test_curved_edges_lie_exactly_one_distance_away(distance: float, sign: int) -> None:
    (moved,) = offset_outline(FILLED, sign * distance)
    check_outline(moved)
    points = np.vstack([s.flattened(0.05) for s in moved.exterior.segments if not isinstance(s, Line)])
    away = shapely.distance(shapely.points(points), FILLED.to_polygon(1e-4).exterior)
    assert np.abs(away - distance).max() < CURVE_TOL_MM
    assert FILLED.to_polygon().contains(shapely.points(points[0])) == (sign < 0)


def test_corners_stay_sharp_so_that_sanding_brings_them_back() -> None:
    (grown,) = offset_outline(Outline.rectangle(0, 0, 30, 20), 1.0)
    assert grown.bounds == pytest.approx((-1, -1, 31, 21))
    assert grown.area_mm2 == pytest.approx(32 * 22)


@pytest.mark.parametrize("distance", [0.6, -0.6])
def test_the_point_of_a_feather_is_gone_round(distance: float) -> None:
    """An arc that runs out onto a straight edge turns right back there, as a rounded slot beside a let-in bearer.

    shapely offsets the same shape, its curves as chords.
    """
    arc = Arc((3, 3), (0, 0), -math.tan(math.pi / 8))  # a quarter round (0, 3)
    lines = (Line((0, 0), (40, 0)), Line((40, 0), (40, 20)), Line((40, 20), (3, 20)), Line((3, 20), (3, 3)))
    feather = Outline(Ring((*lines, arc)))
    (moved,) = offset_outline(feather, distance, corners="round")
    other = feather.to_polygon(1e-4).buffer(distance, quad_segs=200)
    assert moved.area_mm2 == pytest.approx(other.area, abs=0.01)
    assert moved.to_polygon(1e-3).symmetric_difference(other).area < 0.02


def test_a_neck_too_narrow_for_the_offset_splits_the_part() -> None:
    #  _____      _____
    # |     |____|     |
    # |      ____      |
    # |_____|    |_____|
    neck = Outline.from_points(
        [
            (0, 0),
            (30, 0),
            (30, 12),
            (50, 12),
            (50, 0),
            (80, 0),
            (80, 30),
            (50, 30),
            (50, 18),
            (30, 18),
            (30, 30),
            (0, 30),
        ]
    )
    pieces = offset_outline(neck, -4.0)
    assert [piece.size_mm for piece in pieces] == [pytest.approx((22, 22))] * 2


def test_nothing_is_left_of_a_part_narrower_than_twice_the_offset() -> None:
    assert offset_outline(Outline.rectangle(0, 0, 100, 6), -3.5) == ()


def test_cutouts_keep_their_size_unless_asked() -> None:
    (kept,) = offset_outline(BODY, 1.0)
    (closed,) = offset_outline(BODY, 1.0, with_cutouts=True)
    assert abs(kept.cutouts[0].signed_area_mm2) == pytest.approx(np.pi * 36)
    assert abs(closed.cutouts[0].signed_area_mm2) == pytest.approx(np.pi * 25)


def test_one_edge_moves_and_its_neighbours_are_drawn_on_to_it() -> None:
    trapezium = Outline.from_points([(0, 0), (100, 0), (80, 40), (0, 40)])
    (moved,) = offset_edges(trapezium, {0}, 3.0)
    assert moved.area_mm2 == pytest.approx(trapezium.area_mm2 + 3 * (100 + 101.5) / 2)
    (shrunk,) = offset_edges(trapezium, {1}, -2.0)
    assert trapezium.to_polygon().buffer(1e-9).contains(shrunk.to_polygon())


def test_a_moved_edge_ends_on_its_bent_neighbour() -> None:
    #   ____
    #  |    )    the round side bends away from the lower edge
    #  |___/
    bent = Outline(
        Ring((Line((0, 0), (60, 0)), Cubic((60, 0), (75, 15), (75, 30), (60, 40)), Line((60, 40), (0, 40)),
              Line((0, 40), (0, 0))))
    )  # fmt: skip
    (left,) = offset_edges(bent, {0}, -5.0)
    expected = bent.to_polygon().intersection(shapely.box(-10, 5, 200, 100)).area
    assert left.bounds[1] == pytest.approx(5.0)
    assert left.area_mm2 == pytest.approx(expected, rel=1e-5)


def test_edges_in_a_row_are_cut_back_round_the_corner() -> None:
    (left,) = offset_edges(Outline.rectangle(0, 0, 40, 30), {0, 1}, -3.0)
    assert left.bounds == pytest.approx((0, 3, 37, 30))


def test_a_hole_that_closes_altogether_leaves_nothing() -> None:
    plate = Outline(Ring.rectangle(0, 0, 40, 20), (Ring.circle((10, 10), 0.8), Ring.circle((30, 10), 4.0)))
    (grown,) = offset_outline(plate, 1.0, with_cutouts=True)
    assert [hole.as_circle()[1] for hole in grown.cutouts] == [pytest.approx(3.0)]
    assert offset_outline(Outline(Ring.circle((0, 0), 2.0)), -3.0) == ()
