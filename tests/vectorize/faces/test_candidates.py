"""Without picks, parts come before what lies between them."""

from __future__ import annotations

import pytest

from tests.vectorize.inked_lines import Sheet
from vectorize.scale.fit_scale import fit_scale
from vectorize.trace.trace_page import find_candidates

AREA_SHARE = 0.01


def square(low: float, high: float) -> list[tuple[float, float]]:
    return [(low, low), (high, low), (high, high), (low, high)]


def areas(sheet: Sheet) -> list[float]:
    page = sheet.page()
    return [part.outline.area_mm2 for part in find_candidates(page, fit_scale(page, sheet.known())).parts]


def test_a_part_in_a_cut_out_comes_before_the_waste_around_it() -> None:
    sheet = Sheet(70, 70, dpi=150, pen_mm=0.5)
    sheet.shape(square(8, 62), square(14, 56), square(22, 48))
    wood, hatch, waste = 54**2 - 42**2, 26**2, 42**2 - 26**2
    assert areas(sheet) == pytest.approx([wood, hatch, waste], rel=AREA_SHARE)


def test_an_outline_comes_before_what_dimension_lines_of_the_same_pen_enclose() -> None:
    sheet = Sheet(90, 60, dpi=150, pen_mm=0.4).shape([(30, 10), (60, 10), (60, 20), (30, 20)])
    # A dimension over the part: two extension lines that start off it, and the line between them that runs past.
    sheet.line([(30, 21), (30, 38)]).line([(60, 21), (60, 38)]).line([(25, 35), (65, 35)])
    part, field = 30 * 10, 30 * 15
    assert areas(sheet) == pytest.approx([part, field], rel=AREA_SHARE)


def test_a_frame_round_the_plan_comes_last() -> None:
    sheet = Sheet(90, 60, dpi=150, pen_mm=0.4).shape([(5, 5), (85, 5), (85, 55), (5, 55)])
    for x in (10.0, 34.0, 58.0):
        sheet.shape([(x, 15), (x + 20, 15), (x + 20, 45), (x, 45)])
    found = areas(sheet)
    assert found[:3] == pytest.approx([600.0] * 3, rel=AREA_SHARE)
    assert len(found) <= 4


def lettered(sheet: Sheet, x: float, y: float, rows: int, step: float = 5.0) -> None:
    for row in range(rows):
        sheet.text(x, y + step * row, "SIDE PANEL 2 OFF", height_mm=3.0)


@pytest.fixture
def plan() -> Sheet:
    """A framed sheet with a lettered panel in the middle.

    ```
    +------------------+
    |  +-----+         |
    |  | abc |     +---+
    |  +-----+     |abc|
    +--------------+---+
    ```
    """
    sheet = Sheet(130, 90, dpi=150, pen_mm=0.4).shape([(4, 4), (126, 4), (126, 86), (4, 86)])
    lettered(sheet.shape([(14, 50), (62, 50), (62, 72), (14, 72)]), 17, 53, rows=3)
    return sheet


PANEL = 48 * 22


def test_a_lettered_panel_that_stands_free_is_a_part(plan: Sheet) -> None:
    assert areas(plan)[0] == pytest.approx(PANEL, rel=AREA_SHARE)


@pytest.mark.parametrize("gap_mm", [0.0, 3.0])
def test_a_title_block_in_the_frames_corner_is_none(plan: Sheet, gap_mm: float) -> None:
    low, right = 4 + gap_mm, 126 - gap_mm
    plan.shape([(right - 44, low), (right, low), (right, low + 18), (right - 44, low + 18)])
    lettered(plan, right - 42, low + 2, rows=3)
    assert areas(plan) == pytest.approx([PANEL], rel=AREA_SHARE)


@pytest.mark.parametrize("pen_mm", [0.4, 0.2])
def test_a_ruled_list_and_its_fields_are_none(plan: Sheet, pen_mm: float) -> None:
    plan.shape([(74, 20), (118, 20), (118, 44), (74, 44)]).shape([(14, 12), (62, 12), (62, 30), (14, 30)])
    for y in (28, 36):
        plan.line([(74, y), (118, y)], pen_mm=pen_mm)
    lettered(plan, 76, 22.5, rows=3, step=8.0)
    assert areas(plan) == pytest.approx([PANEL, 48 * 18], rel=AREA_SHARE)
