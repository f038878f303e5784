"""Strokes in a row are one dashed line, also where one of them goes round a corner."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from tests.vectorize.inked_lines import Sheet
from vectorize.faces.sheet import read_drawing
from vectorize.scale.fit_scale import fit_scale
from vectorize.shapes.segment import Points
from vectorize.trace.trace_page import PartPick, trace_picks

FAR_MM = 0.2  # a dashed outline on a clean scan of 300 dpi: about two pixels off, and no spike

CORNERS = np.array([(20.0, 12.0), (56.0, 8.0), (76.0, 12.0), (72.0, 44.0), (34.0, 40.0)])


def strokes(corners: Points, begin_mm: float, *, dash_mm: float = 3.9, space_mm: float = 2.1) -> list[Points]:
    """Return the dashes of a closed polygon; the first starts `begin_mm` along it, and some go round corners."""
    ring = np.vstack([corners, corners[:1], corners[1:2]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(ring, axis=0).T))])
    count = round(along[-2] / (dash_mm + space_mm))
    dash = dash_mm * along[-2] / count / (dash_mm + space_mm)
    found = []
    for a, b in itertools.pairwise(begin_mm + np.arange(count + 1) * along[-2] / count):
        marks = np.array([a, *(s for s in along if a < s < a + dash), a + dash])
        found.append(np.column_stack([np.interp(marks, along, ring[:, k]) for k in (0, 1)]))
        assert a + dash < b
    return found


@pytest.mark.parametrize("leg_mm", [0.6, 1.0, 1.4])
def test_a_dash_with_a_short_leg_round_a_corner_belongs_to_its_line(leg_mm):
    # The last stroke ends `leg_mm` past the first corner, which is a sharp one.
    sheet = Sheet(95, 55, dpi=300, pen_mm=0.45)
    corners = np.roll(CORNERS, 1, axis=0)
    for stroke in strokes(corners, leg_mm + 2.1):
        sheet.line(stroke)
    page = sheet.page()
    scale = fit_scale(page, sheet.known())
    (part,) = trace_picks(page, scale, [PartPick("doubler", (sheet.pick(50, 25),), line="dashed")]).parts
    (points,) = [ring.flattened(0.05) for ring in part.outline.rings]
    true = scale.to_mm(sheet.px(CORNERS))
    away = [np.hypot(*(points - corner).T).min() for corner in true]
    assert max(away) < FAR_MM
    assert np.all(points.min(axis=0) > true.min(axis=0) - FAR_MM)
    assert np.all(points.max(axis=0) < true.max(axis=0) + FAR_MM)


@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_a_solid_line_with_random_breaks_is_no_dashed_line(seed):
    # Strokes between breaks are of any length and the breaks are short; dashes are even.
    rng = np.random.default_rng(seed)
    sheet = Sheet(95, 55, dpi=300, pen_mm=0.45)
    ring = np.vstack([CORNERS, CORNERS[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(ring, axis=0).T))])
    breaks = np.sort(rng.choice(np.arange(4.0, along[-1] - 4.0, 2.5), 24, replace=False))
    ends = [0.0, *(at + half for at in breaks for half in (-0.35, 0.35)), along[-1]]
    for a, b in zip(ends[::2], ends[1::2], strict=True):
        marks = np.array([a, *(s for s in along if a < s < b), b])
        sheet.line(np.column_stack([np.interp(marks, along, ring[:, k]) for k in (0, 1)]))
    page = sheet.page()
    scale = fit_scale(page, sheet.known())
    (part,) = trace_picks(page, scale, [PartPick("rib", (sheet.pick(50, 25),))]).parts
    (points,) = [ring.flattened(0.05) for ring in part.outline.rings]
    true = scale.to_mm(sheet.px(CORNERS))
    assert max(np.hypot(*(points - corner).T).min() for corner in true) < FAR_MM


def chain(begin: float, end: float, pattern_mm: tuple[float, ...] = (9.0, 1.2, 1.5, 1.2)) -> list[tuple[float, float]]:
    """Return where the strokes of a chain line begin and end."""
    found, at = [], begin
    while at < end:
        for stroke, space in zip(pattern_mm[::2], pattern_mm[1::2], strict=True):
            found.append((at, min(at + stroke, end)))
            at += stroke + space
    return [(a, b) for a, b in found if b - a > 0.5]


def test_a_chain_line_through_a_dashed_part_is_its_centre_line():
    sheet = Sheet(95, 55, dpi=300, pen_mm=0.45)
    for stroke in strokes(CORNERS, 1.2):
        sheet.line(stroke)
    for a, b in chain(6.0, 90.0):
        sheet.line([(a, 26.0), (b, 26.0)], pen_mm=0.3)
    page = sheet.page()
    scale = fit_scale(page, sheet.known())
    work = read_drawing(page, scale, gap_mm=2.0).regions.work
    chains = [edge for edge in work.edges if edge.is_chain]
    centre = sheet.px([(0.0, 26.0)])[0, 1]
    assert sum(edge.length for edge in chains) > 0.5 * 84 * scale.px_per_mm  # short rows outside the part are none
    assert all(np.abs(edge.points[:, 1] - centre).max() < 0.5 * scale.px_per_mm for edge in chains)
    (part,) = trace_picks(page, scale, [PartPick("doubler", (sheet.pick(50, 20),), line="dashed")]).parts
    true = np.vstack([CORNERS, CORNERS[:1]])
    area = 0.5 * abs(float(np.sum(true[:-1, 0] * true[1:, 1] - true[1:, 0] * true[:-1, 1])))
    assert part.outline.area_mm2 == pytest.approx(area, rel=0.01)
