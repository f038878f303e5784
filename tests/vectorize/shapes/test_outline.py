"""Exact geometry of outlines, against closed forms and against shapely."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from vectorize.basics.errors import OutlineError, ToleranceError
from vectorize.shapes.outline import Outline, Pose, Ring, check_outline
from vectorize.shapes.segment import MOST_STEPS, Arc, Cubic, Line, as_cubics

EXACT = 1e-12
CHORD_TOL = 1e-5  # relative loss of area when a 0.001 mm chord replaces an arc of some 10 mm radius
CUBIC_ARC_TOL = 7e-8  # of the radius: 2.7e-4 for a quarter circle, falling with the sixth power of the angle

numbers = st.floats(-500, 500, allow_nan=False)
poses = st.builds(Pose, numbers, numbers, st.floats(-360, 360), st.booleans())


def slotted_plate():
    """A plate with a round hole, a curved edge and an open slot.

    ```
    +-----.      .-----+
    |      |    |  ( ) |
    |      '----'      )
    +------------------+
    ```
    """
    exterior = Ring(
        (
            Line((0, 0), (80, 0)),
            Arc((80, 0), (80, 40), 0.3),
            Line((80, 40), (50, 40)),
            Line((50, 40), (50, 20)),
            Line((50, 20), (30, 20)),
            Line((30, 20), (30, 40)),
            Line((30, 40), (0, 40)),
            Cubic((0, 40), (-8, 30), (6, 12), (0, 0)),
        )
    )
    return Outline(exterior, (Ring.circle((66, 28), 5.0),))


def test_circle_has_its_closed_form_area_perimeter_and_centre():
    circle = Outline(Ring.circle((100.0, 50.0), 10.0))
    assert circle.area_mm2 == pytest.approx(math.pi * 100, rel=EXACT)
    assert circle.perimeter_mm == pytest.approx(math.pi * 20, rel=EXACT)
    assert circle.centroid == pytest.approx((100.0, 50.0), rel=EXACT)
    assert circle.bounds == pytest.approx((90.0, 40.0, 110.0, 60.0), rel=EXACT)


def test_half_disc_has_its_centroid_at_four_r_over_three_pi():
    half = Outline(Ring((Arc((0, 0), (10, 0), -1.0), Line((10, 0), (0, 0)))))
    assert half.centroid == pytest.approx((5.0, 4 * 5 / (3 * math.pi)), rel=EXACT)
    assert half.bounds == pytest.approx((0, 0, 10, 5), abs=1e-12)


@pytest.mark.parametrize("bulge", [0.1, math.tan(math.pi / 8), 1.0, 2.414213562373095, -0.5, -3.0])
def test_arc_agrees_with_its_cubics(bulge):
    arc = Arc((1.0, 2.0), (11.0, 5.0), bulge)
    pieces = as_cubics(arc)
    off_mm = CUBIC_ARC_TOL * arc.radius
    assert sum(piece.length for piece in pieces) == pytest.approx(arc.length, rel=CUBIC_ARC_TOL)
    closed = Ring((arc, Line(arc.end, arc.start))).signed_area_mm2
    found = Ring((*pieces, Line(arc.end, arc.start))).signed_area_mm2
    assert found == pytest.approx(closed, abs=off_mm * arc.length)


def test_bulge_is_the_tangent_of_a_quarter_of_the_angle():
    # DXF reference: bulge = tan(angle / 4); 90 degrees is 0.41421356, a half circle is 1.
    quarter = Arc((10.0, 0.0), (0.0, 10.0), 0.41421356237309503)
    assert quarter.radius == pytest.approx(10.0, rel=EXACT)
    assert quarter.centre == pytest.approx((0.0, 0.0), abs=1e-12)
    assert math.degrees(quarter.sweep) == pytest.approx(90.0, rel=EXACT)


def test_area_and_centroid_agree_with_shapely():
    plate = slotted_plate()
    polygon = plate.to_polygon(1e-4)
    assert plate.area_mm2 == pytest.approx(polygon.area, rel=CHORD_TOL)
    assert plate.centroid == pytest.approx((polygon.centroid.x, polygon.centroid.y), rel=CHORD_TOL)
    assert plate.perimeter_mm == pytest.approx(polygon.length, rel=CHORD_TOL)


@given(poses)
def test_a_rigid_move_keeps_area_and_perimeter_and_carries_the_centroid(pose):
    plate = slotted_plate()
    moved = plate.placed(pose)
    assert moved.area_mm2 == pytest.approx(plate.area_mm2, rel=1e-9)
    assert moved.perimeter_mm == pytest.approx(plate.perimeter_mm, rel=1e-9)
    assert moved.centroid == pytest.approx(pose.moved(plate.centroid), abs=1e-6)
    assert moved.exterior.signed_area_mm2 > 0 > moved.cutouts[0].signed_area_mm2


def test_quarter_turns_are_exact():
    assert Pose(angle_deg=90).moved((3.0, 4.0)) == (-4.0, 3.0)
    assert Pose(angle_deg=180).moved((3.0, 4.0)) == (-3.0, -4.0)
    assert Pose(angle_deg=-90).moved((3.0, 4.0)) == (4.0, -3.0)


def test_flip_comes_before_the_turn():
    assert Pose(x_mm=1, y_mm=2, angle_deg=90, is_flipped=True).moved((3.0, 0.0)) == (1.0, -1.0)


def test_stretching_scales_the_area():
    plate = slotted_plate()
    stretched = plate.mapped(lambda p: (2 * p[0], p[1]), keeps_circles=False)
    assert stretched.area_mm2 == pytest.approx(2 * plate.area_mm2, rel=1e-7)


@given(st.floats(1e-4, 1.0))
def test_flattening_stays_within_its_tolerance(tolerance_mm):
    ring = slotted_plate().exterior
    flat = Outline.from_points(ring.flattened(tolerance_mm)).to_polygon()
    fine = Outline.from_points(ring.flattened(1e-5)).to_polygon()
    assert flat.exterior.hausdorff_distance(fine.exterior) <= tolerance_mm + 2e-5


def test_outline_survives_json():
    plate = slotted_plate()
    assert Outline.from_json(plate.as_json()) == plate


@pytest.mark.parametrize(
    "points",
    [
        [],
        [(0, 0)],
        [(0, 0), (1, 1)],
        [(0, 0), (1, 0), (0, 0)],
        [(0, 0), (1, 1), (2, 2)],
        [(0, 0), (1, 0), (math.nan, 1)],
    ],
    ids=["empty", "one point", "two points", "there and back", "in line", "NaN"],
)
def test_shapes_without_area_are_refused(points):
    with pytest.raises(OutlineError):
        Outline.from_points(np.array(points, dtype=float))


def test_an_open_ring_is_refused_with_the_place():
    with pytest.raises(OutlineError, match=r"ends at \(1\.000, 1\.000\)"):
        Ring((Line((0, 0), (1, 0)), Line((1, 0), (1, 1)), Line((0, 1), (0, 0))))


def test_a_bow_tie_is_found_by_the_check():
    with pytest.raises(OutlineError, match=r"crosses itself at \(\d+\.\d, \d+\.\d\) mm"):
        check_outline(Outline.from_points([(0, 0), (10, 10), (0, 10), (12, 0)]))


def test_a_tolerance_of_nothing_is_refused():
    with pytest.raises(ToleranceError):
        slotted_plate().exterior.flattened(0.0)


def test_a_circle_is_known_as_one_and_a_square_is_not():
    assert Ring.circle((3, 4), 2.5).as_circle() == ((3.0, 4.0), 2.5)
    assert Ring.rectangle(0, 0, 1, 1).as_circle() is None


@pytest.mark.parametrize("piece", [Arc((0, 0), (4e9, 0), 1.0), Cubic((0, 0), (1e12, 1e12), (-1e12, 1e12), (1, 0))])
def test_flattening_what_no_part_can_be_takes_no_endless_memory(piece):
    assert len(piece.flattened(0.001)) == MOST_STEPS
