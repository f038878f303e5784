import numpy as np
import pytest
import shapely

from nesting.place.strip_packing import pack_strip
from vectorize.basics.errors import InputError, NoSolutionError, ToleranceError
from vectorize.shapes.outline import Outline

L_SHAPE = Outline.from_points([(0, 0), (40, 0), (40, 10), (10, 10), (10, 40), (0, 40)])
TRIANGLE = Outline.from_points([(0, 0), (30, 0), (0, 20)])
AREA_TOL_MM2 = 1e-6  # overlap that the last bits explain


def polygons(shapes, layout):
    return [shape.placed(pose).to_polygon() for shape, pose in zip(shapes, layout.poses, strict=True)]


def test_shapes_stay_in_the_strip_and_apart():
    shapes = [L_SHAPE] * 6 + [TRIANGLE] * 8
    layout = pack_strip(shapes, strip_height=60, gap_mm=1.0, max_sweeps=200, time_limit_s=None)
    placed = polygons(shapes, layout)
    x0, y0, x1, y1 = shapely.total_bounds(placed)
    assert x0 >= -1e-9
    assert y0 >= -1e-9
    assert y1 <= 60 + 1e-9
    assert x1 - x0 == pytest.approx(layout.length_mm)
    assert min(a.distance(b) for k, a in enumerate(placed) for b in placed[:k]) >= 1.0 - 1e-3
    area = sum(shape.area_mm2 for shape in shapes)
    assert layout.density == pytest.approx(area / (60 * layout.length_mm))


def test_searching_longer_is_never_worse_and_beats_the_start():
    shapes = [L_SHAPE] * 6 + [TRIANGLE] * 8
    lengths = [pack_strip(shapes, strip_height=60, max_sweeps=n, time_limit_s=None).length_mm for n in (0, 400)]
    assert lengths[1] < lengths[0]


def test_equal_seed_and_sweeps_give_the_same_layout():
    shapes = [L_SHAPE] * 4 + [TRIANGLE] * 4
    one, other = (pack_strip(shapes, strip_height=50, max_sweeps=100, time_limit_s=None, seed=3) for _ in range(2))
    assert one == other


def test_only_the_turns_allowed_are_used():
    layout = pack_strip([TRIANGLE] * 4, strip_height=40, orientations=[[0.0]] * 4, max_sweeps=50, time_limit_s=None)
    assert {pose.angle_deg for pose in layout.poses} == {0.0}


def test_two_triangles_close_into_their_rectangle():
    # |\ |   a triangle and its half-turn make 30 x 20; the search must close the slanted joint
    layout = pack_strip([TRIANGLE] * 2, strip_height=20, max_sweeps=2000, time_limit_s=None)
    assert layout.length_mm == pytest.approx(30.0, rel=2e-3)
    common = shapely.intersection(*polygons([TRIANGLE] * 2, layout))
    assert common.area < AREA_TOL_MM2


def test_bad_calls_are_refused_with_the_reason():
    with pytest.raises(NoSolutionError, match="no allowed turn"):
        pack_strip([L_SHAPE], strip_height=39)
    with pytest.raises(ToleranceError, match="height"):
        pack_strip([L_SHAPE], strip_height=np.nan)
    with pytest.raises(InputError, match="orientations"):
        pack_strip([L_SHAPE], strip_height=50, orientations=[])
    assert pack_strip([], strip_height=50).poses == ()
