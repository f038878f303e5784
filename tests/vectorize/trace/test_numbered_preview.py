from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from tests.vectorize.inked_lines import Sheet
from vectorize.page import Page
from vectorize.scale.fit_scale import fit_scale
from vectorize.shapes.segment import Line
from vectorize.shapes.stroke import Stroke
from vectorize.trace.numbered_preview import preview_png
from vectorize.trace.trace_page import PartPick, find_candidates, trace_picks


def test_the_preview_shows_outlines_in_colour_over_the_page() -> None:
    sheet = Sheet(60, 40).shape([(10, 10), (50, 10), (50, 30), (10, 30)])
    page = sheet.page()
    scale = fit_scale(page, sheet.known())
    with Image.open(io.BytesIO(preview_png(page, find_candidates(page, scale), scale))) as image:
        assert image.size == (sheet.columns, sheet.rows)
        x, y = sheet.pick(20, 10)
        red, _, blue = image.convert("RGB").getpixel((round(x), round(y)))
    assert red > blue + 80


@pytest.mark.parametrize("is_y_up", [True, False])
def test_outlines_lie_on_the_strokes_of_a_drawing_the_right_way_up(is_y_up: bool) -> None:
    corners = [(1000.0, 500.0), (1100.0, 500.0), (1100.0, 540.0), (1000.0, 540.0)]
    ring = tuple(Line(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True))
    notch = (Line((1000.0, 560.0), (1010.0, 580.0)),)
    strokes = (Stroke(ring, True), Stroke(notch, False))
    page = Page("a.dxf", 1, 1, None, strokes, 100, 80, is_y_up=is_y_up, stated_px_per_mm=(1.0, 1.0))
    scale = fit_scale(page, accepts_stated_size=True)
    trace = trace_picks(page, scale, [PartPick("part", ((1050.0, 520.0),))])
    image = Image.open(io.BytesIO(preview_png(page, trace, scale, longest_px=400)))
    picture = np.asarray(image.convert("RGB")).astype(int)
    assert max(picture.shape) == 400
    red = (picture[..., 0] > 150) & (picture[..., 2] < 100)
    rows, columns = np.nonzero(red)
    # The margin is 3 % of 100 units on each side, so 106 units are 400 pixels.
    assert columns.min() == pytest.approx(3 / 106 * 400, abs=3)
    top = 3 + (40 if is_y_up else 0)
    assert rows.min() == pytest.approx(top / 106 * 400, abs=3)
