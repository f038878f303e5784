"""A scan in black and white only rounds edges to whole pixels: a width that changes is no other line, and a side along
the rows still lies where it was drawn.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fixtures.compare_traces import compare
from tests.vectorize.inked_lines import Sheet
from vectorize.lines.centre import centred
from vectorize.lines.ink import find_ink
from vectorize.lines.pixel_rounding import is_black_and_white, rounding_px
from vectorize.scale.fit_scale import fit_scale
from vectorize.shapes.outline import Outline
from vectorize.trace.trace_page import PartPick, trace_picks

PX_PER_MM = 300 / 25.4

WORN_MM = 0.15
"""Half of what is allowed anywhere on a worn scan."""

PLATE = [(10.0, 10.0), (48.0, 10.0), (48.0, 22.02), (44.5, 26.03), (13.5, 26.03), (10.0, 22.02)]


def one_bit(grey: np.ndarray) -> np.ndarray:
    return np.where(grey < 128, 0, 255).astype(np.uint8)


def test_black_and_white_rounds_by_a_pixel_and_grey_does_not() -> None:
    grey = Sheet(60, 36, dpi=300, pen_mm=0.45, skew_deg=0.3).shape(PLATE).grey(seed=1, noise=2.0, blur_px=0.5)
    assert rounding_px(find_ink(grey, px_per_mm=PX_PER_MM)) < 0.1
    assert rounding_px(find_ink(one_bit(grey), px_per_mm=PX_PER_MM)) > 0.9


def test_a_picture_is_black_and_white_only_without_any_grey() -> None:
    crisp = Sheet(60, 36, dpi=300, pen_mm=0.45).shape(PLATE).grey()
    assert not is_black_and_white(find_ink(crisp, px_per_mm=PX_PER_MM))
    assert is_black_and_white(find_ink(one_bit(crisp), px_per_mm=PX_PER_MM))
    assert not is_black_and_white(find_ink(np.full((200, 200), 255, np.uint8), px_per_mm=PX_PER_MM))


def test_a_page_without_ink_rounds_nothing() -> None:
    assert rounding_px(find_ink(np.full((200, 200), 255, np.uint8), px_per_mm=PX_PER_MM)) == 0.0


def test_a_line_that_is_a_pixel_wider_for_a_while_is_alone_where_widths_are_rounded() -> None:
    darkness = np.zeros((40, 400), np.uint8)
    darkness[18:22] = 255
    darkness[22, 150:] = 255
    points = np.column_stack([np.arange(20.0, 380.0), np.full(360, 20.0)])
    rounded = centred(darkness, points, width_px=4.5, rounding_px=1.0)
    assert np.all(rounded.is_clean)
    assert not np.all(centred(darkness, points, width_px=4.5).is_clean)


@pytest.mark.parametrize("shift_mm", [0.0, 0.012, 0.024, 0.036])
def test_a_round_end_between_sides_along_the_rows_of_a_one_bit_scan_stays_round(shift_mm: float) -> None:
    # The pen is 5.3 pixels wide: a side along the rows shows as 5 or as 6, according to where it lies.
    half = np.linspace(-np.pi / 2, np.pi / 2, 60)
    end = np.column_stack([5 * np.cos(half), 5 * np.sin(half)])
    ring = (
        np.vstack([end, -end]) + np.repeat([[45.0, 18.0], [15.0, 18.0]], 60, axis=0) + np.array([1.0, 0.6]) * shift_mm
    )
    sheet = Sheet(60, 40, dpi=300, pen_mm=0.45).shape(ring)
    page = sheet.page(seed=3, noise=8.0, blur_px=0.5)
    assert page.grey is not None
    scale = fit_scale(page, sheet.known())
    (part,) = trace_picks(
        replace(page, grey=one_bit(page.grey)), scale, [PartPick("strap", (sheet.pick(30, 18),))]
    ).parts
    true = Outline.from_points(scale.to_mm(sheet.px(ring)))
    assert compare(part.outline, true).worst_mm < WORN_MM


SIDE_PX = 0.15
"""Two edges that are each rounded evenly within half a pixel leave their middle 0.2 px off, root mean square."""


def test_sides_along_the_rows_of_a_one_bit_scan_lie_where_they_were_drawn() -> None:
    half = np.linspace(-np.pi / 2, np.pi / 2, 60)
    end = np.column_stack([5 * np.cos(half), 5 * np.sin(half)])
    strap = np.vstack([end, -end]) + np.repeat([[45.0, 18.0], [15.0, 18.0]], 60, axis=0)
    off = []
    for shift_mm in np.arange(0.0, 1.0, 0.13) / PX_PER_MM:
        ring = strap + np.array([0.0, shift_mm])
        sheet = Sheet(60, 40, dpi=300, pen_mm=0.45).shape(ring)
        page = sheet.page(seed=3, noise=8.0, blur_px=0.5)
        assert page.grey is not None
        black_and_white = replace(page, grey=one_bit(page.grey))
        scale = fit_scale(page, sheet.known())
        (part,) = trace_picks(black_and_white, scale, [PartPick("strap", (sheet.pick(30, 18),))]).parts
        sides = [s for s in part.outline.exterior.segments if s.length > 20]
        true = scale.to_mm(sheet.px([(30.0, 13.0 + shift_mm), (30.0, 23.0 + shift_mm)]))[:, 1]
        off += [min(abs(side.point_at(0.5)[1] - y) for y in true) * PX_PER_MM for side in sides]
    assert len(off) == 16
    assert np.sqrt(np.mean(np.square(off))) < SIDE_PX
