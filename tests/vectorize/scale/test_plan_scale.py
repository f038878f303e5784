from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.vectorize.inked_lines import Sheet, circle_points
from vectorize.basics.errors import ScaleError
from vectorize.page import Page
from vectorize.scale.fit_scale import fit_scale
from vectorize.scale.flatten import find_skew
from vectorize.scale.known import KnownDimension

SKEW_TOL_DEG = 0.03  # a line of 90 mm at 200 dpi shows a slope of one pixel in 700


@pytest.fixture
def framed() -> Sheet:
    return Sheet(skew_deg=1.4, axes=(1.004, 0.997)).shape([(3, 3), (97, 3), (97, 57), (3, 57)])


def test_each_axis_gets_its_own_factor_and_skew_is_taken_out(framed: Sheet) -> None:
    scale = fit_scale(framed.page(seed=1), framed.known())
    assert scale.mm_per_px == pytest.approx((25.4 / 200 / 1.004, 25.4 / 200 / 0.997), rel=1e-4)
    assert scale.skew_deg == pytest.approx(1.4, abs=SKEW_TOL_DEG)
    corners = scale.to_mm(framed.px([(3, 3), (97, 3), (97, 57), (3, 57)]))
    sides = np.roll(corners, -1, axis=0) - corners
    assert np.hypot(*sides.T) == pytest.approx([94, 54, 94, 54], rel=1e-4)
    assert abs(sides[0, 1]) < 94 * math.radians(SKEW_TOL_DEG)
    assert corners[0, 0] < corners[1, 0]
    assert corners[0, 1] < corners[3, 1]


def test_pixels_and_millimetres_are_each_others_inverse(framed: Sheet) -> None:
    scale = fit_scale(framed.page(), framed.known())
    points = np.array([(0.0, 0.0), (120.5, 77.25)])
    assert scale.to_px(scale.to_mm(points)) == pytest.approx(points, abs=1e-9)


def test_the_lower_left_of_the_page_is_the_origin() -> None:
    sheet = Sheet(50, 40, dpi=254)
    scale = fit_scale(sheet.page(), [KnownDimension((0, 0), (100, 0), 10.0)])
    assert scale.to_mm([(-0.5, 399.5), (499.5, -0.5)]) == pytest.approx(np.array([(0, 0), (50, 40)]), abs=1e-9)
    assert scale.page_mm == pytest.approx((50, 40))


def test_a_page_without_long_lines_is_not_turned() -> None:
    sheet = Sheet(skew_deg=2.0).shape(circle_points(50, 30, 20))
    assert find_skew(sheet.grey(seed=2)).angle_deg == 0.0


def test_lines_far_from_the_axes_are_the_drawings_own() -> None:
    sheet = Sheet(skew_deg=12.0).shape([(20, 20), (80, 20), (80, 40), (20, 40)])
    assert find_skew(sheet.grey()).angle_deg == 0.0


def test_two_dimensions_along_one_direction_share_one_factor_and_keep_their_residuals() -> None:
    known = [
        KnownDimension((0, 0), (1000, 0), 100.0, name="a"),
        KnownDimension((0, 9), (500, 9), 50.1, name="b"),
    ]
    scale = fit_scale(Sheet().page(), known, corrections=())
    assert scale.mm_per_px[0] == scale.mm_per_px[1]
    assert [r.error_mm for r in scale.residuals] == pytest.approx([0.04, -0.08], abs=0.001)


def test_the_dimension_that_contradicts_the_others_is_named() -> None:
    known = [
        KnownDimension((0, 0), (1000, 0), 100.0, name="span"),
        KnownDimension((0, 0), (0, 500), 50.0, name="chord"),
        KnownDimension((0, 0), (600, 0), 66.0, name="bar"),
    ]
    with pytest.raises(ScaleError, match=r"^bar is stated as 66 mm, but .* 60\.00 mm"):
        fit_scale(Sheet().page(), known)


def test_axes_more_than_a_limit_apart_need_a_word_from_the_user() -> None:
    known = [KnownDimension((0, 0), (1000, 0), 100.0, name="x"), KnownDimension((0, 0), (0, 500), 52.0, name="y")]
    with pytest.raises(ScaleError, match="separate"):
        fit_scale(Sheet().page(), known)
    scale = fit_scale(Sheet().page(), known, axes="separate", corrections=())
    assert scale.mm_per_px == pytest.approx((0.1, 0.104))


@pytest.mark.parametrize("length", [0.0, -3.0, math.nan])
def test_a_known_dimension_needs_a_length(length: float) -> None:
    with pytest.raises(ScaleError):
        KnownDimension((0, 0), (10, 0), length)


def test_a_known_dimension_needs_two_places() -> None:
    with pytest.raises(ScaleError, match="two different points"):
        KnownDimension((5, 5), (5, 5), 10.0)


def test_a_stated_size_is_offered_and_used_only_when_accepted() -> None:
    page = replace(Sheet().page(), stated_px_per_mm=(4.0, 4.0))
    offered = fit_scale(page)
    assert not offered.is_true_size
    assert "as drawn" in offered.notes[0].text
    assert fit_scale(page, accepts_stated_size=True).is_true_size
    with pytest.raises(ScaleError, match="states no size"):
        fit_scale(Sheet().page(), accepts_stated_size=True)


def test_a_tag_that_disagrees_with_the_known_dimensions_is_mentioned() -> None:
    sheet = Sheet()
    page = replace(sheet.page(), stated_px_per_mm=(96 / 25.4, 96 / 25.4))
    assert [n.code for n in fit_scale(page, sheet.known()).notes] == ["tag"]
    honest = replace(page, stated_px_per_mm=(200 / 25.4, 200 / 25.4))
    assert fit_scale(honest, sheet.known()).notes == ()


@pytest.mark.parametrize("length_mm", [1e7, 1e-4])
def test_a_sheet_of_a_size_that_none_has_is_refused(length_mm):
    page = Page("plan.svg", 1, 1, None, (), 200, 100)
    with pytest.raises(ScaleError, match=r"plan\.svg would be .* mm, which is no sheet; check the two points"):
        fit_scale(page, [KnownDimension((0, 0), (100, 0), length_mm)])
