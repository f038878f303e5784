from __future__ import annotations

from functools import cache

import cv2
import numpy as np
import pytest

from fixtures.pen_drawing import Plan
from fixtures.scanning import Truth, Wear, scan
from tests.vectorize.scale.joined.scan_pieces import sheet
from vectorize.basics.errors import ScaleError
from vectorize.page import Page
from vectorize.scale.fit_scale import fit_scale
from vectorize.scale.known import KnownDimension, KnownPoint
from vectorize.scale.lens import Lens, drawn_lines, find_lens
from vectorize.scale.plan_scale import PlanScale
from vectorize.trace.trace_page import find_candidates

STRENGTH = 0.0015
"""A bulge found this well leaves 0.1 mm at the corner of a sheet of 140 mm."""

PHOTO_MM = 0.4
"""Half of what is stated for a part, which also bears the tracing."""

SHEET_MM = (140.0, 110.0)


@cache
def photographed(lens: float) -> tuple[Page, Truth]:
    wear = Wear(dpi=130, skew_deg=1.3, keystone=0.05, lens=lens, margin_mm=10, table=60, blur_px=0.7, noise=3)
    picture, truth = scan(sheet(), wear, 4)
    return Page("photo.png", 1, 1, picture, (), picture.shape[1], picture.shape[0]), truth


def grid() -> np.ndarray:
    return np.array([(x, y) for x in np.linspace(5, 135, 7) for y in np.linspace(5, 105, 6)])


def worst_mm(scale: PlanScale, truth: Truth) -> float:
    away = scale.to_mm(truth.map.to_pixels(grid())) - grid()
    return float(np.hypot(*away.T).max())


@pytest.mark.parametrize("strength", [-0.08, -0.02, 0.03])
def test_the_bulge_is_that_of_opencv(strength: float) -> None:
    """OpenCV's first radial coefficient (calib3d, 'Camera calibration'), with the focal length as unit of radius."""
    lens = Lens(strength, (600.0, 400.0), 720.0)
    seen = np.array([(x, y) for x in (0.0, 300.0, 1200.0) for y in (10.0, 400.0, 790.0)])
    camera = np.array([[720.0, 0, 600.0], [0, 720.0, 400.0], [0, 0, 1.0]])
    criteria = (cv2.TERM_CRITERIA_COUNT + cv2.TERM_CRITERIA_EPS, 100, 1e-12)
    distortion = np.array([strength, 0, 0, 0])
    true = cv2.undistortPoints(seen[:, None], camera, distortion, P=camera, criteria=criteria)
    assert lens.straightened(seen) == pytest.approx(true[:, 0], abs=1e-3)
    assert lens.bent(lens.straightened(seen)) == pytest.approx(seen, abs=1e-6)


@pytest.mark.parametrize("strength", [-0.03, 0.02])
def test_straight_lines_tell_the_bulge(strength: float) -> None:
    page, _ = photographed(strength)
    assert page.grey is not None
    found = find_lens(page.grey.shape, drawn_lines(page.grey))
    assert found is not None
    assert found.strength == pytest.approx(strength, abs=STRENGTH)


def test_a_lens_that_bends_nothing_is_left_alone() -> None:
    page, truth = photographed(0.0)
    scale = fit_scale(page, sheet_mm=SHEET_MM)
    assert scale.lens is None
    assert worst_mm(scale, truth) < PHOTO_MM


def test_drawn_curves_are_no_lens() -> None:
    """Long shallow arcs that all bow the same way, and no straight line at all."""
    plan = Plan("arcs", 140.0, 100.0)
    across = np.linspace(8, 132, 60)
    for y in (15, 30, 50, 70, 88):
        plan.line(*((float(x), float(y + 4 * (1 - ((x - 70) / 62) ** 2))) for x in across))
    picture, _ = scan(plan.settled(), Wear(dpi=130, noise=3), 1)
    assert find_lens(picture.shape, drawn_lines(picture)) is None


def test_a_bulging_photo_is_laid_flat_and_the_size_of_the_bulge_told() -> None:
    page, truth = photographed(-0.03)
    scale = fit_scale(page, sheet_mm=SHEET_MM)
    assert worst_mm(scale, truth) < PHOTO_MM
    (said,) = [note.text for note in scale.notes if note.code == "lens"]
    assert "mm at the edge of the sheet" in said
    px = truth.map.to_pixels(grid())
    assert scale.to_px(scale.to_mm(px)) == pytest.approx(px, abs=1e-6)


def test_the_lens_can_be_kept() -> None:
    page, truth = photographed(-0.03)
    scale = fit_scale(page, sheet_mm=SHEET_MM, corrections=("skew", "perspective"))
    assert scale.lens is None
    assert worst_mm(scale, truth) > 3 * worst_mm(fit_scale(page, sheet_mm=SHEET_MM), truth)
    assert not [note for note in scale.notes if note.code == "lens"]


POINTS = ((0.0, 0.0), (140.0, 0.0), (140.0, 110.0), (0.0, 110.0))


def points(truth: Truth, places: tuple[tuple[float, float], ...] = POINTS) -> list[KnownPoint]:
    seen = truth.map.to_pixels(np.array(places)).tolist()
    return [KnownPoint((x, y), mm, f"point {n}") for n, ((x, y), mm) in enumerate(zip(seen, places, strict=True), 1)]


def test_four_points_give_the_map_that_opencv_gives() -> None:
    page, truth = photographed(0.0)
    four = points(truth, ((5.0, 8.0), (131.0, 3.0), (120.0, 104.0), (20.0, 90.0)))
    scale = fit_scale(page, points=four)
    seen, places = (np.array([getattr(p, key) for p in four], np.float32) for key in ("at", "mm"))
    other = cv2.getPerspectiveTransform(seen, places)
    at = truth.map.to_pixels(grid())
    assert scale.to_mm(at) == pytest.approx(cv2.perspectiveTransform(at[None], other)[0], abs=2e-3)
    assert scale.to_mm(at) == pytest.approx(grid(), abs=1e-6)


def test_more_points_are_fitted_and_each_misfit_is_told() -> None:
    page, truth = photographed(0.0)
    six = points(truth, (*POINTS, (70.0, 50.0), (30.0, 80.0)))
    off = KnownPoint((six[4].at[0] + 1.0, six[4].at[1]), six[4].mm, six[4].name)
    scale = fit_scale(page, points=[*six[:4], off, six[5]])
    assert [misfit.name for misfit in scale.points] == [f"point {n}" for n in range(1, 7)]
    assert 0.05 < max(misfit.error_mm for misfit in scale.points) < 25.4 / 130
    assert worst_mm(scale, truth) < PHOTO_MM


def test_points_on_a_bulging_photo_are_straightened_first() -> None:
    page, truth = photographed(-0.03)
    scale = fit_scale(page, points=points(truth))
    assert scale.lens is not None
    assert worst_mm(scale, truth) < PHOTO_MM


def test_a_point_that_contradicts_the_others_is_named() -> None:
    page, truth = photographed(0.0)
    six = points(truth, (*POINTS, (70.0, 50.0), (30.0, 80.0)))
    wrong = KnownPoint(six[4].at, (82.0, 50.0), six[4].name)
    with pytest.raises(ScaleError, match="point 5 lies"):
        fit_scale(page, points=[*six[:4], wrong, six[5]])


@pytest.mark.parametrize(
    ("places", "said"),
    [
        (((0.0, 0.0), (140.0, 0.0), (140.0, 110.0)), "four are needed"),
        (((0.0, 0.0), (70.0, 0.0), (140.0, 0.0), (140.0, 110.0)), "nearly in line"),
        (((0.0, 0.0), (40.0, 30.0), (80.0, 60.0), (120.0, 90.0)), "nearly in line"),
    ],
)
def test_points_that_do_not_tell_the_slant_are_refused(places: tuple[tuple[float, float], ...], said: str) -> None:
    page, truth = photographed(0.0)
    with pytest.raises(ScaleError, match=said):
        fit_scale(page, points=points(truth, places))


@pytest.mark.parametrize("order", [(0, 2, 1, 3), (1, 0, 2, 3), (3, 2, 1, 0)])
def test_points_that_stand_for_each_other_are_refused(order: tuple[int, ...]) -> None:
    """Two swapped, which makes a bow-tie of the sheet, or all with their heights turned over."""
    page, truth = photographed(0.0)
    right = points(truth)
    swapped = [KnownPoint(p.at, right[k].mm, p.name) for p, k in zip(right, order, strict=True)]
    with pytest.raises(ScaleError, match="do not go round"):
        fit_scale(page, points=swapped)


def test_a_known_dimension_beside_points_is_a_check() -> None:
    page, truth = photographed(0.0)
    start, end = ((x, y) for x, y in truth.map.to_pixels(np.array([(12.0, 10.0), (132.0, 10.0)])).tolist())
    good = KnownDimension(start, end, 120.0)
    assert abs(fit_scale(page, [good], points=points(truth)).residuals[0].error_mm) < 0.01
    with pytest.raises(ScaleError, match=r"measures 120\.00 mm by the points"):
        fit_scale(page, [KnownDimension(start, end, 124.0)], points=points(truth))


def test_letters_in_a_shape_on_a_photo_are_no_holes() -> None:
    page, _ = photographed(-0.03)
    former = next(
        part
        for part in find_candidates(page, fit_scale(page, sheet_mm=SHEET_MM)).parts
        if part.outline.size_mm == pytest.approx((44.0, 30.0), abs=0.3)
    )
    assert former.outline.cutouts == ()
