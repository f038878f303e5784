"""A scan that was torn, or whose sheet moved on the glass, is told; one that only lay uneven is not called torn."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import cv2
import numpy as np
import pytest

from tests.vectorize.scale.joined.scan_pieces import DPI, WINDOWS, Piece, piece, sheet, uneven
from vectorize.basics.notes import Note
from vectorize.page import Page
from vectorize.scale.joined import SeamMisfit, join_tiles

PX_PER_MM = DPI / 25.4
STEP_MM = 0.03
"""A quarter of a pixel at 200 dpi."""

PLACE_MM = 8.0
"""Lines that tell lie no closer than that to each other on the sheet of these tests."""


@cache
def halves() -> tuple[Piece, Piece]:
    left = piece(sheet(), WINDOWS["left"], name="left.png", skew_deg=-0.6)
    return left, piece(sheet(), WINDOWS["right"], name="right.png", skew_deg=0.8, seed=2)


def torn(
    page: Page, share: float, step_mm: tuple[float, float], *, slant_deg: float = 0.0, turn_deg: float = 0.0
) -> Page:
    """Return a scan whose part below a line across it lies a step away, and turned about the line's middle."""
    assert page.grey is not None
    rows, columns = page.grey.shape
    middle = (columns / 2, rows * share)
    matrix = cv2.getRotationMatrix2D(middle, turn_deg, 1.0)
    matrix[:, 2] += np.array(step_mm) * PX_PER_MM
    moved = cv2.warpAffine(page.grey, matrix, (columns, rows), flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
    row, column = np.indices(page.grey.shape)
    below = row - middle[1] > math.tan(math.radians(slant_deg)) * (column - middle[0])
    return replace(page, grey=np.where(below, moved, page.grey))


def joined(left: Page, right: Page) -> tuple[SeamMisfit, list[Note]]:
    found = join_tiles((left, right))
    (seam,) = found.seams
    return seam, [note for note in found.scale.notes if note.code == "torn"]


@pytest.mark.parametrize(
    ("share", "step_mm", "slant_deg"),
    [
        (0.5, (0.2, 0.0), 0.0),
        (0.3, (2.0, 0.0), 0.0),
        (0.7, (0.0, 0.6), 0.0),
        (0.5, (0.5, -0.4), 12.0),
    ],
)
def test_a_torn_scan_is_told_with_its_step_and_place(
    share: float, step_mm: tuple[float, float], slant_deg: float
) -> None:
    left, right = halves()
    seam, notes = joined(left.page, torn(right.page, share, step_mm, slant_deg=slant_deg))
    assert seam.tear is not None
    assert seam.tear.step_mm == pytest.approx(math.hypot(*step_mm), abs=STEP_MM)
    assert seam.doubt_mm > seam.rms_mm
    aside = right.page.width / 4
    tear_px = np.array([[aside, right.page.height * share - aside * math.tan(math.radians(slant_deg))]])
    upright = left.pixel(*right.mm(tear_px)[0])[1]
    assert seam.tear.at[1] == pytest.approx(upright, abs=PLACE_MM * PX_PER_MM)
    (note,) = notes
    assert note.state == "open"
    assert note.at == (*seam.tear.at, 1)
    assert "left.png and right.png fit on one side of" in note.text
    assert f"miss by {seam.tear.step_mm:.2f} mm on the other" in note.text


def test_a_torn_half_may_also_be_turned() -> None:
    left, right = halves()
    seam, notes = joined(left.page, torn(right.page, 0.5, (0.4, 0.3), turn_deg=0.3))
    assert seam.tear is not None
    assert seam.tear.step_mm == pytest.approx(0.5, abs=0.15)
    assert len(notes) == 1


@pytest.mark.parametrize(("size_mm", "seed"), [(0.0, 3), (0.05, 3), (0.05, 6), (0.15, 3), (0.3, 3), (0.3, 6)])
def test_a_sheet_that_lay_uneven_is_not_called_torn(size_mm: float, seed: int) -> None:
    left, right = halves()
    bent = uneven(right.page, size_mm, seed=seed) if size_mm else right.page
    seam, notes = joined(left.page, bent)
    assert seam.tear is None
    assert notes == []
    assert seam.rms_mm > size_mm / 10
