from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image, ImageDraw

from nesting.patterns.overlay import overlay_proof
from nesting.patterns.pattern_settings import PatternSettings
from tests.nesting.patterns.pattern_shapes import PEN_MM, letter_f, pdf_pages, white_regions
from vectorize.basics.errors import CallError

PX_PER_MM = (8.0, 8.05)  # a scanner whose axes differ
PLAN_HEIGHT_MM = 90.0


def to_px(points):
    """Millimetres, y up, to pixels of the scan, y down."""
    x, y = np.asarray(points, dtype=float).T
    return np.stack([(x + 15) * PX_PER_MM[0], (PLAN_HEIGHT_MM - 15 - y) * PX_PER_MM[1]], axis=1)


def scan_of(outline, shift_px=0):
    picture = Image.new("L", (round(70 * PX_PER_MM[0]), round(PLAN_HEIGHT_MM * PX_PER_MM[1])), 240)
    points = [(x + shift_px, y) for x, y in to_px(outline.exterior.flattened(0.1))]
    ImageDraw.Draw(picture).line([*points, points[0], points[1]], fill=20, width=6, joint="curve")
    return np.asarray(picture)


def proof(**settings):
    outline = letter_f().outline
    return overlay_proof(
        scan_of(outline), to_px, [("F", outline)], name="sheet-1", settings=PatternSettings(**settings)
    )


def test_the_proof_is_a_pdf_at_true_size_and_a_picture_for_the_screen():
    made = proof()
    assert set(made) == {"overlay-sheet-1.pdf", "overlay-sheet-1.png"}
    with Image.open(io.BytesIO(made["overlay-sheet-1.png"])) as picture:
        dpi = picture.info["dpi"][0]
        assert picture.width / dpi * 25.4 == pytest.approx(40 + 24, abs=0.5)


def test_plan_line_and_outline_lie_on_each_other_on_the_printed_page():
    (page,) = pdf_pages(proof()["overlay-sheet-1.pdf"], 300)
    # Black is the outline, grey the bleached line of the plan, 6 px or 0.75 mm wide, centred on it.
    black = page < 70
    grey = (page >= 70) & (page < 200)
    near_black = np.zeros_like(black)
    reach = round((0.75 / 2 + 0.15) / 25.4 * 300)
    for dx in range(-reach, reach + 1):
        for dy in range(-reach, reach + 1):
            near_black |= np.roll(black, (dy, dx), axis=(0, 1))
    assert grey.sum() > 2000
    assert (grey & ~near_black).sum() < 0.02 * grey.sum()


def test_the_outline_on_the_proof_is_at_true_size():
    (page,) = pdf_pages(proof()["overlay-sheet-1.pdf"], 300)
    mm = (210 / page.shape[1], 297 / page.shape[0])
    regions = white_regions(np.where(page < 70, 0, 255), mm)
    sizes = [sorted((r.bounds[2] - r.bounds[0] - PEN_MM, r.bounds[3] - r.bounds[1] - PEN_MM)) for r in regions]
    assert any(size == pytest.approx([40, 60], abs=0.3) for size in sizes)


def test_nothing_to_show_is_said():
    with pytest.raises(CallError, match="trace its parts first"):
        overlay_proof(np.zeros((9, 9), np.uint8), to_px, [], name="sheet-1", settings=PatternSettings())
