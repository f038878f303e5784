from __future__ import annotations

import io
from types import SimpleNamespace

import numpy as np
import pytest
from PIL import Image
from scipy.ndimage import binary_dilation

from tests.vectorize.inked_lines import Sheet
from vectorize.page import Page
from vectorize.scale.fit_scale import fit_scale
from vectorize.shapes.alternative import Alternative
from vectorize.shapes.outline import Outline
from vectorize.shapes.segment import Line
from vectorize.shapes.stroke import Stroke
from vectorize.trace.readings_preview import ReadPart, readings_png

HEAD_PX = 70
"""The words above the readings reach no farther down."""


def _part(taken: Outline, *others: Outline) -> ReadPart:
    alternatives = tuple(Alternative(other, 0.3, "with a strip", (0.0, 0.0)) for other in others)
    return SimpleNamespace(name="rib", outline=taken, sure=0.6, alternatives=alternatives)


def _shown(png: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB")).astype(int)


def _box(mask: np.ndarray) -> tuple[int, int]:
    """Return width and height of what is marked."""
    rows, columns = np.nonzero(mask)
    return int(np.ptp(columns)), int(np.ptp(rows))


def test_the_readings_of_a_part_lie_side_by_side_and_what_differs_is_shaded() -> None:
    # +-------+---+      as traced: the left 30 of 40 mm; the other reading: all of it
    # |       |   |
    # +-------+---+
    sheet = Sheet(60, 40).shape([(10, 10), (50, 10), (50, 30), (10, 30)]).shape([(40, 10), (40, 30)])
    page = sheet.page()
    scale = fit_scale(page, sheet.known())
    (x0, y0), (x1, y1), (x2, _) = scale.to_mm([sheet.pick(10, 10), sheet.pick(40, 30), sheet.pick(50, 30)]).tolist()
    taken, other = (Outline.rectangle(x0, min(y0, y1), x, max(y0, y1)) for x in (x1, x2))
    picture = _shown(readings_png(page, [_part(taken, other)], scale))
    red = (picture[..., 0] > 150) & (picture[..., 1] < 110) & (picture[..., 2] < 90)
    yellow = (picture[..., 2] < 190) & (picture[..., 0] > 195) & ~red
    half = picture.shape[1] // 2
    (one, high), (two, _) = (_box(side) for side in (red[:, :half], red[:, half:]))
    # The sheet's lines, 0.5 mm wide, lie evenly about the outline in the enlarged view.
    rows, columns = np.nonzero(red[:, :half])
    across = picture[(rows.min() + rows.max()) // 2, columns.min() - 9 : columns.min() + 11, 1]
    dark = np.flatnonzero(across < 200)
    assert abs((dark[0] + dark[-1]) / 2 - 9.5) <= 1.5
    assert one / high == pytest.approx(30 / 20, rel=0.03)
    assert two / high == pytest.approx(40 / 20, rel=0.03)
    assert not yellow[:, :half].any()
    strip, tall = _box(yellow[:, half:])
    assert strip / high == pytest.approx(10 / 20, rel=0.1)
    assert tall / high == pytest.approx(1.0, rel=0.1)


@pytest.mark.parametrize("is_y_up", [True, False])
def test_the_readings_on_a_drawing_are_drawn_over_its_strokes(is_y_up: bool) -> None:
    corners = [(1000.0, 500.0), (1100.0, 500.0), (1000.0, 540.0)]
    ring = tuple(Line(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True))
    page = Page("a.dxf", 1, 1, None, (Stroke(ring, True),), 100, 80, is_y_up=is_y_up, stated_px_per_mm=(1.0, 1.0))
    scale = fit_scale(page, accepts_stated_size=True)
    taken = Outline.from_points(scale.to_mm(corners)[:: 1 if is_y_up else -1])
    picture = _shown(readings_png(page, [_part(taken, taken)], scale))[HEAD_PX:]
    strokes = np.all(picture == 190, axis=2)
    red = (picture[..., 0] > 150) & (picture[..., 1] < 110) & (picture[..., 2] < 90)
    assert not (strokes & ~binary_dilation(red)).any()  # each outline lies on the strokes that it was made of
    rows, columns = np.nonzero(red[:, : picture.shape[1] // 2])
    # The right angle lies at the left, below where y goes up and above where it goes down.
    wide = [np.ptp(columns[rows == row]) for row in (rows.min() + 1, rows.max() - 1)]
    assert (wide[1] > 5 * max(wide[0], 1)) if is_y_up else (wide[0] > 5 * max(wide[1], 1))


def test_every_doubtful_part_has_a_row_and_a_slim_one_room_for_its_words() -> None:
    sheet = Sheet(60, 40).shape([(10, 10), (50, 10), (50, 12), (10, 12)])
    page = sheet.page()
    scale = fit_scale(page, sheet.known())
    slim = Outline.rectangle(10, 10, 11, 30)
    one = _shown(readings_png(page, [_part(slim, slim)], scale))
    three = _shown(readings_png(page, [_part(slim, slim)] * 3, scale))
    assert three.shape == (3 * one.shape[0], *one.shape[1:])
    assert one.shape[1] > 200
