from __future__ import annotations

import io

from PIL import Image

from tests.vectorize.drawing import Sheet
from vectorize.preview import preview_png
from vectorize.scale import fit_scale
from vectorize.trace import find_candidates


def test_the_preview_shows_outlines_in_colour_over_the_page() -> None:
    sheet = Sheet(60, 40).shape([(10, 10), (50, 10), (50, 30), (10, 30)])
    page = sheet.page()
    scale = fit_scale(page, sheet.known())
    with Image.open(io.BytesIO(preview_png(page, find_candidates(page, scale), scale))) as image:
        assert image.size == (sheet.columns, sheet.rows)
        x, y = sheet.pick(20, 10)
        red, _, blue = image.convert("RGB").getpixel((round(x), round(y)))
    assert red > blue + 80
