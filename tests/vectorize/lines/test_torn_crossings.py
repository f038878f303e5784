"""Lines that meet close to each other on a third: each keeps its own place on it."""

from __future__ import annotations

import pytest

from fixtures.training.examples import faces_within
from tests.vectorize.inked_lines import Sheet
from vectorize.faces.sheet import read_drawing
from vectorize.scale.fit_scale import fit_scale

MISSED_SHARE = 0.06
"""The faces of the line work make up the plate to this share of its area; up to 5 % lies under the strokes."""
PEN_MM = 0.5


def hatched_plate(*, step_mm: float, is_crossed: bool) -> Sheet:
    """A plate of 40 by 30 mm whose left third is hatched, and a line of the same pen across the strokes."""
    sheet = Sheet(80, 60, dpi=300, pen_mm=PEN_MM)
    sheet.line([(20, 15), (60, 15), (60, 45), (20, 45)], is_closed=True)
    # Strokes at 45 degrees from the left edge up to the line x = 33.
    steps = int(30 / step_mm)
    for k in range(1, steps):
        y = 15 + k * step_mm
        sheet.line([(20, y), (20 + min(13, 45 - y), y + min(13, 45 - y))], pen_mm=0.25)
        if is_crossed:
            sheet.line([(20, y), (20 + min(13, y - 15), y - min(13, y - 15))], pen_mm=0.25)
    return sheet.line([(14, 32), (66, 36)])


@pytest.mark.parametrize("is_crossed", [False, True], ids=["strokes", "strokes both ways"])
@pytest.mark.parametrize("step_mm", [1.2, 1.6, 2.0])
def test_hatching_that_ends_on_an_outline_leaves_it_where_it_is(step_mm: float, is_crossed: bool) -> None:
    sheet = hatched_plate(step_mm=step_mm, is_crossed=is_crossed)
    page = sheet.page()
    drawing = read_drawing(page, fit_scale(page, sheet.known()), gap_mm=2.0)
    ring = sheet.px([(20, 15), (60, 15), (60, 45), (20, 45)])
    _, missed, held = faces_within(drawing.regions, [ring])
    assert missed < MISSED_SHARE * held
