"""Traced areas against what general-purpose libraries measure on a filled picture of the same shape."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from skimage import measure

from fixtures import outline_shapes
from fixtures.pen_drawing import Blot, Plan, moved
from fixtures.scanning import Wear, scan
from vectorize.page import Page
from vectorize.scale.fit_scale import fit_scale
from vectorize.scale.known import KnownDimension
from vectorize.shapes.outline import Outline
from vectorize.trace.trace_page import PartPick, TraceSettings, trace_picks

DPI = 300
PER_MM = DPI / 25.4

# The limit stated for clean scans; counting pixels at this resolution is good to about half of it.
AREA_SHARE = 0.0008
FILL = {
    "fuselage": outline_shapes.stick_fuselage(110, 26),
    "bracket": outline_shapes.bracket(50, 56, 16),
    "tip": outline_shapes.tip(40, 62),
}


def page_of(plan: Plan) -> tuple[Page, list[KnownDimension], tuple[float, float]]:
    picture, truth = scan(plan, Wear(dpi=DPI, blur_px=0.5, noise=1.5), 5)
    rows, columns = picture.shape
    page = Page("plan.png", 1, 1, picture, (), columns, rows)
    return page, [KnownDimension(*k) for k in truth.known], truth.picks["part"]


def sheet_with(outline: Outline, *, is_filled: bool) -> Plan:
    """The part drawn with a pen, or laid down as a dark silhouette without cut-outs."""
    plan = Plan("outside", 134.0, 84.0)
    plan.check((8.0, 5.0), (128.0, 5.0), "120")
    # Askew, so that no straight edge lies along a row of pixels and is counted a fraction of a pixel off.
    plan.part("part", moved(outline, 14.0, 14.0, angle_deg=6.0), draw=not is_filled)
    if is_filled:
        plan.blots.append(Blot(plan.parts[0].outline.exterior))
    return plan.settled()


def half_tone(grey: np.ndarray) -> float:
    """The grey half-way between paper and part: a pixel of it is half covered."""
    return (float(np.percentile(grey, 1)) + float(np.percentile(grey, 90))) / 2


def opencv_area_px(grey: np.ndarray) -> float:
    """Area by findContours, which runs through pixel centres: half its length and one pixel are missing.

    Source: Pick's theorem; lattice points on and inside a lattice polygon = area + points on it / 2 + 1.
    """
    mask = (grey < half_tone(grey)).astype(np.uint8)
    contours, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    largest = max(contours, key=cv2.contourArea)
    return cv2.contourArea(largest) + len(largest) / 2 + 1


def skimage_contour_area_px(grey: np.ndarray) -> float:
    """Area inside the sub-pixel contour at half tone."""
    rings = measure.find_contours(grey.astype(float), half_tone(grey))
    return max(cv2.contourArea(ring.astype(np.float32)) for ring in rings)


def skimage_region_area_px(grey: np.ndarray) -> float:
    """Area by counting pixels."""
    regions = measure.regionprops(measure.label(grey < half_tone(grey)))
    return float(max(region.area for region in regions))


@pytest.mark.parametrize("name", sorted(FILL))
def test_a_traced_line_encloses_what_other_libraries_measure_on_the_filled_shape(name: str) -> None:
    outline = Outline(FILL[name].exterior)
    page, known, pick = page_of(sheet_with(outline, is_filled=False))
    (traced,) = trace_picks(page, fit_scale(page, known), [PartPick("part", (pick,))]).parts
    filled, _, _ = page_of(sheet_with(outline, is_filled=True))
    assert filled.grey is not None
    for area_px in (opencv_area_px, skimage_contour_area_px, skimage_region_area_px):
        assert traced.outline.area_mm2 == pytest.approx(area_px(filled.grey) / PER_MM**2, rel=AREA_SHARE)


def test_a_solid_part_has_the_area_that_other_libraries_measure() -> None:
    page, known, pick = page_of(sheet_with(Outline(FILL["tip"].exterior), is_filled=True))
    settings = TraceSettings(edge="solid")
    (traced,) = trace_picks(page, fit_scale(page, known), [PartPick("part", (pick,))], settings).parts
    assert page.grey is not None
    for area_px in (opencv_area_px, skimage_contour_area_px, skimage_region_area_px):
        assert traced.outline.area_mm2 == pytest.approx(area_px(page.grey) / PER_MM**2, rel=AREA_SHARE)


def test_contours_through_pixel_centres_would_be_noticed() -> None:
    square = np.full((140, 140), 255, np.uint8)
    square[20:120, 20:120] = 0
    assert opencv_area_px(square) == pytest.approx(10000)
    bare = cv2.findContours(255 - square, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)[0][0]
    assert cv2.contourArea(bare) < (1 - 10 * AREA_SHARE) * 10000
