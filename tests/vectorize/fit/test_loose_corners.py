"""Lines led on beyond a corner, or lifted short of it, cross where the corner was meant."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fixtures.compare_traces import sharp_corners
from tests.vectorize.inked_lines import Sheet
from vectorize.scale.fit_scale import fit_scale
from vectorize.shapes.outline import Outline
from vectorize.trace.trace_page import PartPick, trace_picks

CORNER_MM = 0.1
"""A third of what a builder sands off an edge; overshoots pulled such corners by 0.3 to 0.5 mm."""

GUSSET = [(10.0, 8.0), (52.0, 8.0), (52.0, 20.0), (36.0, 32.0), (10.0, 32.0)]
NOTCHED = [(8.0, 8.0), (56.0, 8.0), (56.0, 24.0), (48.0, 24.0), (48.0, 32.0), (8.0, 32.0)]


def sides(ring: list[tuple[float, float]], ends_mm: list[tuple[float, float]]) -> list[np.ndarray]:
    """Return each side of a ring as a line of its own, led on at start and end by `ends_mm`, or lifted short of it."""
    lines = []
    for k, (first, last) in enumerate(ends_mm):
        start, end = np.array(ring[k]), np.array(ring[(k + 1) % len(ring)])
        step = (end - start) / math.dist(start, end)
        lines.append(np.array([start - first * step, end + last * step]))
    return lines


def farthest(outline: Outline, true: np.ndarray) -> float:
    return max(
        outline.to_polygon().exterior.hausdorff_distance(Outline.from_points(true).to_polygon().exterior),
        max(float(np.hypot(*(np.array(sharp_corners(outline.exterior)) - corner).T).min()) for corner in true),
    )


HABITS = {
    "overshoot": [(0.6, 0.9), (0.3, 0.7), (0.0, 0.5), (0.8, 0.4), (0.5, 0.6)],
    "overshoot one": [(0.0, 0.7), (0.0, 0.7), (0.0, 0.7), (0.0, 0.7), (0.0, 0.7)],
    "short": [(-0.4, -0.2), (-0.3, 0.0), (-0.1, -0.4), (-0.3, -0.3), (0.0, -0.5)],
    "mixed": [(0.5, -0.3), (0.7, 0.4), (-0.3, 0.0), (0.3, -0.2), (0.6, 0.7)],
}
"""How far each side is led on at its start and end, mm: 0.2 to 1 mm too far and up to 0.5 mm short are usual for
hurried and pencilled plans (common practice, no source)."""


@pytest.mark.parametrize("habit", HABITS)
@pytest.mark.parametrize(("pen_mm", "dpi", "seed"), [(0.35, 200, 1), (0.6, 250, 2), (0.6, 300, None)])
@pytest.mark.parametrize("ring", [GUSSET, NOTCHED])
def test_a_corner_is_where_its_sides_cross_however_they_end(
    ring: list[tuple[float, float]], pen_mm: float, dpi: float, seed: int | None, habit: str
) -> None:
    sheet = Sheet(66, 40, dpi=dpi, pen_mm=pen_mm)
    ends = (HABITS[habit] * 2)[: len(ring)]
    for line in sides(ring, ends):
        sheet.line(line)
    page = sheet.page(seed=seed)
    scale = fit_scale(page, sheet.known())
    (part,) = trace_picks(page, scale, [PartPick("part", (sheet.pick(25, 20),))]).parts
    assert farthest(part.outline, scale.to_mm(sheet.px(ring))) < CORNER_MM
