"""Where a line turns within its own width, the ink says whether it is a corner, a blunt end or a bend."""

from __future__ import annotations

import numpy as np
import pytest

from fixtures.compare_traces import sharp_corners
from tests.vectorize.inked_lines import Sheet, circle_points
from vectorize.scale.fit_scale import fit_scale
from vectorize.scale.plan_scale import PlanScale
from vectorize.shapes.outline import Outline
from vectorize.trace.trace_page import PartPick, trace_picks

CORNER_MM = 0.1
"""Less than is allowed anywhere on a clean scan; a point of 20 degrees moves three times as far as its sides."""

WEDGE = [(8.0, 30.0), (8.0, 12.0), (58.0, 12.0), (58.0, 13.0)]
"""Like the rear half of a rib, with a trailing edge of 1 mm."""

POINTED = [(8.0, 30.0), (8.0, 12.0), (58.0, 12.0)]


def traced(sheet: Sheet, at: tuple[float, float], seed: int | None) -> tuple[Outline, PlanScale]:
    """Return the traced outline and the scale, which says where the drawn points lie in it."""
    page = sheet.page(seed=seed)
    scale = fit_scale(page, sheet.known())
    (part,) = trace_picks(page, scale, [PartPick("part", (sheet.pick(*at),))]).parts
    return part.outline, scale


def corner_errors(outline: Outline, scale: PlanScale, sheet: Sheet, corners: list[tuple[float, float]]) -> list[float]:
    """Return how far each drawn corner is from the nearest traced one."""
    found = np.array(sharp_corners(outline.exterior))
    return [float(np.hypot(*(found - true).T).min()) for true in scale.to_mm(sheet.px(corners))]


@pytest.mark.parametrize(("pen_mm", "dpi", "seed"), [(0.45, 200, 1), (0.45, 200, 2), (1.0, 300, None), (0.3, 300, 3)])
@pytest.mark.parametrize("ring", [WEDGE, POINTED])
def test_a_blunt_end_keeps_two_corners_and_a_point_one(
    ring: list[tuple[float, float]], pen_mm: float, dpi: float, seed: int | None
) -> None:
    sheet = Sheet(66, 40, dpi=dpi, pen_mm=pen_mm).shape(ring)
    outline, scale = traced(sheet, (20, 17), seed)
    assert len(outline.exterior.segments) == len(ring)
    assert max(corner_errors(outline, scale, sheet, ring)) < CORNER_MM


def test_a_tight_nose_that_a_thin_line_crosses_stays_round() -> None:
    nose = circle_points(12, 20, 4.0)
    ring = [*nose[(nose[:, 0] < 12)].tolist(), (50.0, 16.0), (50.0, 24.0)]
    sheet = Sheet(60, 40, dpi=200, pen_mm=0.45).shape(ring)
    sheet.line([(3, 22.2), (57, 22.2)], pen_mm=0.25)
    outline, scale = traced(sheet, (30, 20), 4)
    true = Outline.from_points(scale.to_mm(sheet.px(ring)))
    away = true.to_polygon().exterior.hausdorff_distance(outline.to_polygon().exterior)
    assert away < 1.5 * CORNER_MM
    assert outline.area_mm2 == pytest.approx(true.area_mm2, rel=0.002)


def _rounded(x0: float, y0: float, x1: float, y1: float, radius: float) -> list[tuple[float, float]]:
    """Return a rectangle with round corners."""
    middles = [
        (x1 - radius, y1 - radius),
        (x0 + radius, y1 - radius),
        (x0 + radius, y0 + radius),
        (x1 - radius, y0 + radius),
    ]
    angles = [np.radians(np.linspace(90 * k, 90 * k + 90, 16)) for k in range(4)]
    return [
        (x + radius * np.cos(a), y + radius * np.sin(a))
        for (x, y), turn in zip(middles, angles, strict=True)
        for a in turn.tolist()
    ]


@pytest.mark.parametrize("radius", [1.2, 1.5])
@pytest.mark.parametrize("dpi", [200, 300])
def test_a_corner_stays_round_where_a_witness_line_goes_on_along_a_side(radius: float, dpi: float) -> None:
    ring = _rounded(10, 15, 55, 35, radius)
    sheet = Sheet(66, 44, dpi=dpi, pen_mm=0.3).shape(ring)
    sheet.line([(10, 16 + radius), (10, 4)], pen_mm=0.25).line([(55, 16 + radius), (55, 4)], pen_mm=0.25)
    outline, scale = traced(sheet, (30, 25), 5)
    true = Outline.from_points(scale.to_mm(sheet.px(ring)))
    assert true.to_polygon().exterior.hausdorff_distance(outline.to_polygon().exterior) < CORNER_MM
