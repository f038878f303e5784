"""Two sides at a sharp angle melt into one line: where its ink ends tells a point from a blunt end."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from tests.benchmarks.tips import tip_off_mm
from tests.vectorize.fit.test_loose_corners import sides
from tests.vectorize.inked_lines import Sheet, circle_points
from vectorize.basics.notes import Note
from vectorize.scale.fit_scale import fit_scale
from vectorize.trace.trace_page import PartPick, TracedPart, trace_picks

SANDED_MM = 0.3
"""What a builder sands off an edge (common practice, no source)."""

SIDE_MM = 0.015
"""How far a fitted straight side of 40 mm may be off at 150 dpi: a point of two sides moves by so much over the sine of
half its angle."""

PointMm = tuple[float, float]


def wedge(angle_deg: float, blunt_mm: float) -> list[PointMm]:
    """Return a wedge whose tip, a point or a blunt end, lies at (58, 20)."""
    slope = math.tan(math.radians(angle_deg) / 2)
    half = blunt_mm / 2
    back = half + slope * 44
    tip = [(58.0, 20.0 - half), (58.0, 20.0 + half)] if blunt_mm else [(58.0, 20.0)]
    return [(14.0, 20.0 + back), (14.0, 20.0 - back), *tip]


def traced(sheet: Sheet, ring: list[PointMm], seed: int | None) -> tuple[TracedPart, float, list[Note]]:
    """Return the part, how far it is off near its tip, and the open notes."""
    page = sheet.page(seed=seed)
    scale = fit_scale(page, sheet.known())
    trace = trace_picks(page, scale, [PartPick("rib", (sheet.pick(22, 20),))])
    (part,) = trace.parts
    true = shapely.LinearRing(scale.to_mm(sheet.px(ring)))
    off = tip_off_mm(part.outline, true, scale.to_mm(sheet.px([(58, 20)]))[0])
    return part, off, [note for note in trace.notes if note.state == "open"]


@pytest.mark.parametrize(("pen_mm", "dpi", "seed"), [(0.35, 150, 1), (0.45, 250, 2), (0.6, 300, None)])
@pytest.mark.parametrize(("angle_deg", "blunt_mm"), [(15.0, 0.2), (20.0, 0.3), (30.0, 0.3), (15.0, 1.0)])
def test_a_blunt_end_thinner_than_the_pen_is_not_drawn_out_past_its_ink(
    angle_deg: float, blunt_mm: float, pen_mm: float, dpi: float, seed: int | None
) -> None:
    ring = wedge(angle_deg, blunt_mm)
    _, off, _ = traced(Sheet(72, 40, dpi=dpi, pen_mm=pen_mm).shape(ring), ring, seed)
    assert off < SANDED_MM


@pytest.mark.parametrize(("pen_mm", "dpi", "seed"), [(0.35, 150, 1), (0.45, 250, 2), (0.6, 300, None)])
@pytest.mark.parametrize("angle_deg", [10.0, 15.0, 25.0, 40.0])
def test_a_point_stays_a_point(angle_deg: float, pen_mm: float, dpi: float, seed: int | None) -> None:
    ring = wedge(angle_deg, 0.0)
    _, off, notes = traced(Sheet(72, 40, dpi=dpi, pen_mm=pen_mm).shape(ring), ring, seed)
    assert off < max(SANDED_MM / 3, SIDE_MM / math.sin(math.radians(angle_deg) / 2))
    assert notes == []


def test_sides_that_run_on_beyond_a_blunt_end_do_not_move_it() -> None:
    ring = wedge(22.0, 1.2)
    sheet = Sheet(72, 40, dpi=250, pen_mm=0.45)
    for line in sides(ring, [(0.4, 0.4), (0.5, 0.8), (0.0, 0.0), (0.7, 0.5)]):
        sheet.line(line)
    _, off, _ = traced(sheet, ring, 1)
    assert off < SANDED_MM / 2


@pytest.mark.parametrize(("short_mm", "angle_deg"), [(0.4, 16.0), (0.3, 12.0)])
def test_where_all_sides_fall_short_a_point_lies_where_they_would_cross(short_mm: float, angle_deg: float) -> None:
    ring = wedge(angle_deg, 0.0)
    sheet = Sheet(72, 40, dpi=300, pen_mm=0.35)
    for line in sides(ring, [(-short_mm, -short_mm)] * 3):
        sheet.line(line)
    _, off, _ = traced(sheet, ring, 1)
    assert off < SANDED_MM / 3


def test_a_blot_on_a_tip_leaves_it_open_at_both_its_places_and_the_edge_less_sure() -> None:
    ring = wedge(20.0, 0.0)
    sheet = Sheet(72, 40, dpi=200, pen_mm=0.4).shape(ring)
    sheet.filled(circle_points(58.0, 20.0, 0.8, 40))
    part, _, notes = traced(sheet, ring, 1)
    (note,) = [note for note in notes if note.code == "doubtful-corner"]
    assert note.at is not None
    # Within 4 mm of the blot, at 200 dpi.
    assert math.dist(note.at, sheet.pick(58.0, 20.0)) < 4.0 * 200 / 25.4
    assert "the tip of rib at" in note.text
    assert "may as well lie at" in note.text
    clean, _, notes = traced(Sheet(72, 40, dpi=200, pen_mm=0.4).shape(ring), ring, 1)
    assert notes == []
    assert part.sigma_edge_mm > 0.14 > 5 * clean.sigma_edge_mm


def test_a_line_that_ends_on_a_tip_does_not_draw_it_out() -> None:
    ring = wedge(24.0, 0.3)
    sheet = Sheet(72, 40, dpi=200, pen_mm=0.45).shape(ring)
    slope = np.tan(np.radians(30.0))
    sheet.line([(58.0, 20.0), (40.0, 20.0 + 18.0 * slope)])
    _, off, notes = traced(sheet, ring, 3)
    assert off < SANDED_MM
    assert notes == []
