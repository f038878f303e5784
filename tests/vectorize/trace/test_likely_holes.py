"""A round hole is one hole, however other lines cut it; a balloon or a letter is none."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.vectorize.inked_lines import Sheet, circle_points
from vectorize.faces.sheet import read_drawing
from vectorize.scale.fit_scale import fit_scale
from vectorize.trace.likely_holes import likely_holes
from vectorize.trace.rings import InkRings
from vectorize.trace.trace_page import PartPick, Trace, trace_picks

PLATE = [(12, 12), (74, 12), (74, 48), (12, 48)]
HOLE_MM = 0.1  # a third of what a builder sands off; of such a hole little is seen beside the cross


def crossed(sheet: Sheet, x: float, y: float, radius: float, *, turn_deg: float = 0.0, pen_mm: float) -> Sheet:
    """Return the sheet with a hole and a cross on its middle that reaches out of it.

      |
    -(+)-
      |
    """
    sheet.shape(circle_points(x, y, radius))
    for angle in (turn_deg, turn_deg + 90):
        along = np.array([math.cos(math.radians(angle)), math.sin(math.radians(angle))]) * (radius + 1.4)
        sheet.line([np.array([x, y]) - along, np.array([x, y]) + along], pen_mm=pen_mm)
    return sheet


def traced(sheet: Sheet, seed: int = 3) -> Trace:
    page = sheet.page(seed=seed)
    return trace_picks(page, fit_scale(page, sheet.known()), [PartPick("plate", (sheet.pick(15, 15),))])


@pytest.mark.parametrize("turn_deg", [0.0, 1.5, 20.0])
@pytest.mark.parametrize(
    ("dpi", "pen_mm", "radius"), [(200, 0.5, 1.3), (200, 0.35, 1.3), (300, 0.6, 1.1), (300, 0.6, 1.3)]
)
def test_a_hole_that_a_cross_cuts_into_sectors_is_one_hole(
    radius: float, dpi: float, pen_mm: float, turn_deg: float
) -> None:
    sheet = Sheet(dpi=dpi, pen_mm=pen_mm).shape(PLATE)
    trace = traced(crossed(sheet, 40, 30, radius, turn_deg=turn_deg, pen_mm=0.7 * pen_mm))
    (hole,) = trace.parts[0].outline.cutouts
    circle = hole.as_circle()
    assert circle is not None
    assert circle[1] == pytest.approx(radius, abs=HOLE_MM)


def test_a_hole_that_another_line_of_the_drawing_cuts_is_one_hole() -> None:
    sheet = Sheet().shape(PLATE, circle_points(40, 30, 1.6)).line([(5, 29.4), (80, 30.4)], pen_mm=0.3)
    trace = traced(sheet)
    (hole,) = trace.parts[0].outline.cutouts
    assert hole.as_circle() is not None


@pytest.mark.parametrize("height_mm", [0.0, 3.0])
def test_a_balloon_with_a_figure_in_it_may_be_no_hole(height_mm: float) -> None:
    sheet = Sheet().shape(PLATE, circle_points(40, 30, 3.2))
    if height_mm:
        sheet.line([(40, 30 - height_mm / 2), (40, 30 + height_mm / 2)])  # a one
    page = sheet.page()
    scale = fit_scale(page, sheet.known())
    found = likely_holes(InkRings(read_drawing(page, scale, gap_mm=2.0)), scale)
    assert len(found) == (0 if height_mm else 1)


@pytest.mark.parametrize(("gap_mm", "is_open"), [(0.7, False), (1.5, True)])
def test_a_cut_out_much_of_whose_edge_is_bridged_is_told(gap_mm: float, is_open: bool) -> None:
    """Two letters may stand like [ and ], with a gap above and below."""
    sheet, half = Sheet().shape(PLATE), 1.25 - gap_mm / 2
    for x, way in ((38.0, 1.0), (40.5, -1.0)):
        sheet.line([(x + way * half, 33), (x, 33), (x, 27), (x + way * half, 27)], pen_mm=0.3)
    trace = traced(sheet)
    assert len(trace.parts[0].outline.cutouts) == 1
    assert [note.state == "open" for note in trace.notes if note.code == "cutout"] == [is_open]


@pytest.mark.parametrize("size_mm", [2.4, 3.0, 3.6])
def test_a_small_square_that_nothing_meets_is_a_hole(size_mm: float) -> None:
    """A spar of 3 mm square, or of 1/8 inch, is a common one (common practice, no source)."""
    x, y, half = 40.0, 30.0, size_mm / 2
    square = [(x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)]
    trace = traced(Sheet().shape(PLATE, square))
    (hole,) = trace.parts[0].outline.cutouts
    assert abs(hole.signed_area_mm2) == pytest.approx(size_mm**2, rel=0.03)
    assert [note.text for note in trace.notes if note.code == "cutout"] == [
        f"closed shape of {size_mm:.1f} x {size_mm:.1f} mm taken as a cut-out."
    ]


def test_a_small_square_that_a_line_runs_into_is_only_told_of() -> None:
    square = [(38.5, 28.5), (41.5, 28.5), (41.5, 31.5), (38.5, 31.5)]
    trace = traced(Sheet().shape(PLATE, square).line([(41.5, 30), (50, 38)], pen_mm=0.3))
    assert not trace.parts[0].outline.cutouts
    assert any(note.code == "no-cutout" and "too small" in note.text for note in trace.notes)


@pytest.mark.parametrize("is_touched", [False, True])
def test_a_small_ring_that_nothing_meets_is_a_hole(is_touched: bool) -> None:
    """Control horns are drilled 1.2 mm for their wire (common practice, no source)."""
    sheet = Sheet(dpi=300).shape(PLATE, *(circle_points(x, 30, 0.6) for x in (36, 40, 44)))
    trace = traced(sheet.line([(44.5, 30.3), (50, 38)], pen_mm=0.3) if is_touched else sheet)
    assert len(trace.parts[0].outline.cutouts) == (2 if is_touched else 3)
    told = {note.code for note in trace.notes if note.at is not None and math.dist(note.at, sheet.pick(44, 30)) < 12}
    assert told == ({"no-cutout"} if is_touched else {"cutout"})
