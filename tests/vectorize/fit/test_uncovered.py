"""A ring that leaves its line for bare paper is fitted again to what was left out."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from vectorize.fit.ink_view import InkView
from vectorize.fit.uncovered import refit_uncovered_stretches
from vectorize.shapes.outline import Outline, Ring

PEN_MM = 0.5
PX_MM = 0.1
DRAWN = [(5.0, 5.0), (35.0, 5.0), (35.0, 15.0), (5.0, 15.0)]
LEFT_OUT = (10.0, 20.0)  # of the lower side, in mm


def sight(gaps: tuple[np.ndarray, ...] = (), *, is_dashed: bool = False) -> InkView:
    y, x = np.mgrid[0:200, 0:400] * PX_MM
    away = shapely.distance(shapely.LinearRing(DRAWN), shapely.points(x.ravel(), y.ravel())).reshape(x.shape)
    darkness = (255 * np.clip((PEN_MM / 2 - away) / PX_MM + 0.5, 0, 1)).astype(np.uint8)
    return InkView(darkness, lambda p: p * PX_MM, lambda p: p / PX_MM, PX_MM, gaps=gaps, is_dashed=is_dashed)


def measured() -> tuple[np.ndarray, np.ndarray]:
    line = shapely.LinearRing(DRAWN)
    along = shapely.line_interpolate_point(line, np.arange(0.0, line.length, PX_MM))
    points = shapely.get_coordinates(along)
    return points, ~((points[:, 1] == 5.0) & (points[:, 0] > LEFT_OUT[0]) & (points[:, 0] < LEFT_OUT[1]))


def dipped(depth_mm: float, width_mm: float) -> Ring:
    dip = [(12.0, 5.0), (12.0, 5.0 - depth_mm), (12.0 + width_mm, 5.0 - depth_mm), (12.0 + width_mm, 5.0)]
    return Outline.from_points([DRAWN[0], *dip, *DRAWN[1:]]).exterior


def test_what_was_left_out_beside_bare_paper_is_needed() -> None:
    points, is_clean = measured()
    assert not is_clean.all()
    wider = refit_uncovered_stretches(dipped(0.8, 4.0), points, is_clean, sight(), pen_mm=PEN_MM)
    assert wider is not None
    assert wider.all()


@pytest.mark.parametrize(("depth_mm", "width_mm"), [(0.05, 4.0), (0.8, 1.0)])
def test_a_ring_that_keeps_to_the_ink_but_for_a_corner_stays(depth_mm: float, width_mm: float) -> None:
    points, is_clean = measured()
    assert refit_uncovered_stretches(dipped(depth_mm, width_mm), points, is_clean, sight(), pen_mm=PEN_MM) is None


def test_bare_paper_in_a_gap_or_in_a_dashed_line_tells_nothing() -> None:
    points, is_clean = measured()
    gap = np.array([(11.0, 4.2), (17.0, 4.2)])
    for seen in (sight((gap,)), sight(is_dashed=True)):
        assert refit_uncovered_stretches(dipped(0.8, 4.0), points, is_clean, seen, pen_mm=PEN_MM) is None
