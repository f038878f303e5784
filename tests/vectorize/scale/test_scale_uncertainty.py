"""What an unsure scale does to a part, against parts that are really stretched and scales that are really mispicked."""

import math

import numpy as np
import pytest
import shapely

from fixtures import outline_shapes
from vectorize.page import Page
from vectorize.scale.fit_scale import fit_scale
from vectorize.scale.known import DRAWN_PICK_SIGMA, KnownDimension
from vectorize.scale.scale_uncertainty import SizeDoubt
from vectorize.shapes.outline import Outline, Ring

PAGE = Page("plan.png", 1, 1, np.full((1500, 2000), 255, np.uint8), (), 2000, 1500)


def stretched(outline: Outline, x: float, y: float) -> Outline:
    """Return an outline that is longer by shares of x and y, about its middle."""
    cx, cy = outline.centroid
    return outline.mapped(lambda p: (cx + (1 + x) * (p[0] - cx), cy + (1 + y) * (p[1] - cy)), keeps_circles=False)


@pytest.mark.parametrize(
    "outline", [Outline.rectangle(0, 0, 80, 20), outline_shapes.bracket(50, 38, 10), outline_shapes.tip(40, 70)]
)
@pytest.mark.parametrize(("x", "y"), [(1e-3, 0.0), (0.0, 1e-3), (1e-3, 1e-3), (1e-3, -5e-4)])
def test_the_edge_moves_as_far_as_that_of_a_part_that_is_really_stretched(outline, x, y):
    edge, area = SizeDoubt(x**2, y**2, x * y).of(outline)
    true = shapely.LinearRing(outline.exterior.flattened(0.001))
    moved = shapely.LinearRing(stretched(outline, x, y).exterior.flattened(0.001)).segmentize(0.2)
    away = shapely.distance(true, shapely.points(shapely.get_coordinates(moved)))
    assert edge == pytest.approx(np.quantile(away, 0.95), rel=0.03)
    assert area == pytest.approx(abs(stretched(outline, x, y).area_mm2 - outline.area_mm2), rel=0.01)


def test_a_circle_stays_one_and_only_grows():
    disc = Outline(Ring.circle((3.0, 4.0), 20.0))
    assert SizeDoubt(1e-6, 1e-6, -1e-6).of(disc) == pytest.approx((0.0, 0.0), abs=1e-9)
    assert SizeDoubt.alike(1e-3).of(disc)[0] == pytest.approx(0.02, rel=0.01)


def test_each_axis_is_as_sure_as_its_own_known_dimension_is_long():
    doubt = SizeDoubt.of_axes(np.array([(1200.0, 0.0), (0.0, 300.0)]), 0.3)
    # The difference of two ends, each 0.3 px off along the dimension.
    assert math.sqrt(doubt.xx) == pytest.approx(0.3 * math.sqrt(2) / 1200)
    assert math.sqrt(doubt.yy) == pytest.approx(0.3 * math.sqrt(2) / 300)
    assert doubt.xy == pytest.approx(0.0)


def test_slanting_dimensions_leave_the_doubt_that_picking_them_many_times_shows():
    rng = np.random.default_rng(5)
    ends = np.array([[(100, 200), (1700, 500)], [(300, 1300), (700, 200)], [(200, 200), (1500, 1300)]], np.float64)
    lengths = np.hypot(*(ends[:, 1] - ends[:, 0]).T) / 10
    factors = []
    for _ in range(400):
        picked = ends + rng.normal(0, 0.3, ends.shape)
        known = [KnownDimension(tuple(a), tuple(b), float(mm)) for (a, b), mm in zip(picked, lengths, strict=True)]
        factors.append(fit_scale(PAGE, known, corrections=()).mm_per_px)
    seen = np.cov(np.array(factors).T / 0.1)
    doubt = SizeDoubt.of_axes(ends[:, 1] - ends[:, 0], 0.3)
    # 400 tries tell a variance to 7 %.
    assert (doubt.xx, doubt.yy) == pytest.approx((seen[0, 0], seen[1, 1]), rel=0.25)
    assert doubt.xy == pytest.approx(seen[0, 1], rel=0.35)
    apart = math.sqrt(seen[0, 0] + seen[1, 1] - 2 * seen[0, 1])
    assert doubt.sigma_of_difference == pytest.approx(apart, rel=0.15)


def test_a_drawing_whose_points_were_read_off_keeps_one_factor_for_both_axes():
    drawing = Page("plan.svg", 1, 1, None, (), 200, 150)
    rng = np.random.default_rng(7)
    ends = np.array([[(14, 139), (134, 139)], [(11, 130), (11, 30)]], np.float64)
    apart = 0
    for _ in range(400):
        picked = ends + rng.normal(0, DRAWN_PICK_SIGMA, ends.shape)
        known = [KnownDimension(tuple(a), tuple(b), mm) for (a, b), mm in zip(picked, (120.0, 100.0), strict=True)]
        across, up = fit_scale(drawing, known, corrections=()).mm_per_px
        apart += across != up
    # Beyond three standard deviations lie 0.27 % of what is normally distributed: here one or two.
    assert apart <= 5


def test_one_known_dimension_errs_in_both_axes_alike():
    doubt = fit_scale(PAGE, [KnownDimension((100, 100), (1300, 100), 120.0)], corrections=()).doubt
    assert doubt == SizeDoubt.alike(doubt.sigma)
    assert doubt.sigma == pytest.approx(0.3 * math.sqrt(2) / 1200)


def test_what_no_part_can_be_takes_no_endless_memory():
    # Ten thousand kilometres of edge, looked at once a millimetre, are 10 billion places.
    edge, _ = SizeDoubt.alike(1e-3).of(Outline.rectangle(0, 0, 1e10, 1e10))
    assert edge == pytest.approx(0.5e7, rel=0.01)  # half the width, and a thousandth of it
