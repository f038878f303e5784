from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest

from tests.vectorize.inked_lines import Sheet
from vectorize.basics.errors import ScaleError, UnitError
from vectorize.page import Page
from vectorize.scale.fit_scale import fit_scale
from vectorize.scale.flatten import corners_of, sheet_map, sheet_sides
from vectorize.scale.known import KnownDimension, parse_sheet
from vectorize.trace.trace_page import PartPick, trace_picks

CORNERS = [(60.0, 50.0), (890.0, 90.0), (930.0, 600.0), (30.0, 560.0)]
PHOTO_AREA = 0.006  # a share: what the product states for a photo


@pytest.mark.parametrize(
    ("text", "sides"),
    [
        ("A3", (420.0, 297.0)),
        ("letter", (279.4, 215.9)),
        ("420 x 297 mm", (420.0, 297.0)),
        ("11 in × 17 in", (431.8, 279.4)),
    ],
)
def test_a_sheet_is_named_or_measured(text: str, sides: tuple[float, float]) -> None:
    assert parse_sheet(text) == pytest.approx(sides)


@pytest.mark.parametrize("text", ["A9", "420", "420 x 297"])
def test_a_sheet_without_a_size_or_unit_is_refused(text: str) -> None:
    with pytest.raises(UnitError):
        parse_sheet(text)


@pytest.mark.parametrize("shift", range(4))
@pytest.mark.parametrize("is_reversed", [False, True])
def test_corners_may_begin_anywhere_and_go_either_way(shift: int, is_reversed: bool) -> None:
    corners = CORNERS[shift:] + CORNERS[:shift]
    matrix = sheet_map(corners[::-1] if is_reversed else corners, (100, 60))
    lower_left = matrix @ (*CORNERS[3], 1.0)
    upper_right = matrix @ (*CORNERS[1], 1.0)
    assert lower_left[:2] / lower_left[2] == pytest.approx([0, 0], abs=1e-3)
    assert upper_right[:2] / upper_right[2] == pytest.approx([100, 60], abs=1e-3)


def test_corners_that_cross_over_are_refused() -> None:
    with pytest.raises(ScaleError, match="in order"):
        sheet_map([CORNERS[0], CORNERS[2], CORNERS[1], CORNERS[3]], (100, 60))


def photographed() -> tuple[Page, np.ndarray]:
    """A light sheet with a drawn rectangle, seen at an angle on a dark table."""
    sheet = Sheet(100, 60, dpi=254).shape([(20, 15), (80, 15), (80, 45), (20, 45)])
    flat = sheet.grey()
    high, wide = flat.shape
    source = np.array([(0, 0), (wide, 0), (wide, high), (0, high)], np.float32) - 0.5
    matrix = cv2.getPerspectiveTransform(source, np.array(CORNERS, np.float32))
    white = cv2.warpPerspective(flat, matrix, (960, 660), flags=cv2.INTER_AREA, borderValue=70)
    grey = np.asarray(cv2.GaussianBlur(white, (0, 0), 0.7), np.uint8)
    return Page("photo.jpg", 1, 1, grey, (), 960, 660), matrix @ np.array([*sheet.pick(50, 30), 1.0])


def test_the_sheets_corners_are_found() -> None:
    page, _ = photographed()
    assert page.grey is not None
    sides = sheet_sides(page.grey)
    assert sides is not None
    found = corners_of(sides)
    for corner in CORNERS:
        assert min(np.hypot(*np.subtract(corner, f)) for f in found) < 1.0


def test_a_page_without_a_sheet_has_no_corners() -> None:
    assert sheet_sides(Sheet().grey(seed=1)) is None


def test_a_sheet_that_the_picture_cuts_off_is_not_measured_by_its_edge() -> None:
    page, _ = photographed()
    assert page.grey is not None
    for grey in (page.grey[:, 300:], np.full_like(page.grey, 220)):
        assert sheet_sides(np.ascontiguousarray(grey)) is None
    cut = replace(page, grey=np.ascontiguousarray(page.grey[:, 300:]), width=660)
    with pytest.raises(ScaleError, match="take it with the whole sheet in the picture"):
        fit_scale(cut, sheet_mm=(100, 60))


@pytest.mark.parametrize("are_given", [True, False])
def test_a_photo_is_traced_flat(are_given: bool) -> None:
    page, middle = photographed()
    scale = fit_scale(page, sheet_mm=(100, 60), corners=CORNERS if are_given else None)
    pick = PartPick("plate", ((middle[0] / middle[2], middle[1] / middle[2]),))
    (part,) = trace_picks(page, scale, [pick]).parts
    assert part.outline.area_mm2 == pytest.approx(1800, rel=PHOTO_AREA)
    assert part.outline.size_mm == pytest.approx((60, 30), abs=0.2)


def test_a_known_dimension_corrects_the_sheet() -> None:
    page, _ = photographed()
    first, second = CORNERS[0], CORNERS[1]
    scale = fit_scale(page, [KnownDimension(first, second, 102.0)], sheet_mm=(100, 60), corners=CORNERS)
    assert scale.page_mm == pytest.approx((102.0, 61.2), rel=1e-4)
    assert "sheet" in [note.code for note in scale.notes]
