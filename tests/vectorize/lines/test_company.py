"""A line that another one accompanies, almost on top of it, keeps its own place."""

from __future__ import annotations

import numpy as np
import pytest

from fixtures.compare_traces import compare
from tests.vectorize.inked_lines import Sheet
from vectorize.lines.centre import centred
from vectorize.scale.fit_scale import fit_scale
from vectorize.shapes.outline import Outline
from vectorize.trace.trace_page import PartPick, trace_picks

CLEAN_MM = 0.06
"""Half of what is allowed anywhere on a clean scan."""

PLATE = [(14.0, 12.0), (42.0, 12.0), (42.0, 30.0), (14.0, 30.0)]


def dash_dot(start: tuple[float, float], end: tuple[float, float]) -> list[np.ndarray]:
    """Return the dashes of 8 mm and dots of 1.2 mm between, spaces 1.5 mm, of a centre line."""
    a, b = np.array(start), np.array(end)
    length = float(np.hypot(*(b - a)))
    marks = np.array(
        [(x, min(x + size, length)) for n in range(10) for x, size in ((12.2 * n, 8.0), (12.2 * n + 9.5, 1.2))]
    )
    return [a + (b - a) * (mark / length)[:, None] for mark in marks if mark[0] < length]


@pytest.mark.parametrize("rise_mm", [0.4, -0.4, 0.25])
def test_a_centre_line_along_an_edge_does_not_draw_the_edge_to_itself(rise_mm: float) -> None:
    sheet = Sheet(56, 40, dpi=300, pen_mm=0.45).shape(PLATE)
    for mark in dash_dot((6.0, 12.0 + rise_mm), (50.0, 12.0 + 0.1 * rise_mm)):
        sheet.line(mark, pen_mm=0.25)
    page = sheet.page(seed=5, noise=2.0, blur_px=0.5)
    scale = fit_scale(page, sheet.known())
    (part,) = trace_picks(page, scale, [PartPick("plate", (sheet.pick(28, 24),))]).parts
    true = Outline.from_points(scale.to_mm(sheet.px(PLATE)))
    assert compare(part.outline, true).worst_mm < CLEAN_MM


def test_a_line_is_measured_only_where_it_is_alone() -> None:
    sheet = Sheet(60, 20, dpi=300, pen_mm=0.45).line([(5, 10), (55, 10)]).line([(5, 10.2), (25, 10.2)])
    along = np.arange(100, 610.0)
    row = float(sheet.px([(30, 10)])[0, 1])
    found = centred(255 - sheet.grey(), np.column_stack([along, np.full(len(along), row)]), width_px=5.3)
    accompanied = along < sheet.px([(24, 10)])[0, 0]
    assert not np.any(found.is_clean[accompanied])
    assert np.all(found.is_clean[along > sheet.px([(27, 10)])[0, 0]])
    assert np.max(np.abs(found.points[found.is_clean, 1] - row)) < 0.15
