"""A line that only touches a hole leaves it a hole."""

from __future__ import annotations

import math

import pytest

from tests.vectorize.inked_lines import Sheet, circle_points
from vectorize.scale.fit_scale import fit_scale
from vectorize.trace.trace_page import PartPick, trace_picks

RIB = [(15, 15), (85, 15), (85, 45), (15, 45)]
AREA_SHARE = 0.003  # what the product states for a worn scan, and a little: the line pulls at the hole
HOLE_SHARE = 0.03
HOLE_TOL_MM = 0.06  # half a pixel of the drawn sheet


@pytest.mark.parametrize("offset_mm", [4.8, 5.0, 5.3])
@pytest.mark.parametrize("angle_deg", [0.0, 20.0])
def test_a_line_through_a_part_that_touches_a_hole_in_it(offset_mm: float, angle_deg: float) -> None:
    #   +--------|-----+
    #   |      (_|     |
    #   +--------|-----+
    sheet = Sheet(pen_mm=0.6).shape(RIB).shape(circle_points(50, 30, 5.0))
    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    line = [(50 + offset_mm * cos - k * sin, 30 + offset_mm * sin + k * cos) for k in (-24, 24)]
    page = sheet.line(line).page(seed=5)
    (part,) = trace_picks(page, fit_scale(page, sheet.known()), [PartPick("rib", (sheet.pick(22, 30),))]).parts
    (hole,) = [abs(ring.signed_area_mm2) for ring in part.outline.cutouts]
    assert hole == pytest.approx(math.pi * 25, rel=HOLE_SHARE)
    assert part.outline.area_mm2 == pytest.approx(70 * 30 - math.pi * 25, rel=AREA_SHARE)


def _is_round(hole, radius_mm: float) -> bool:
    """Whether a hole is a circle of that radius all round, and not the D that a line leaves of it."""
    circle = hole.as_circle()
    return circle is not None and abs(circle[1] - radius_mm) < HOLE_TOL_MM


@pytest.mark.parametrize("radius_mm", [1.5, 2.0, 3.0])
@pytest.mark.parametrize("beyond_mm", [-0.55, -0.4, 0.0, 0.4])
@pytest.mark.parametrize(("pen_mm", "angle_deg"), [(0.6, 0.0), (0.3, 8.0), (0.25, 0.0)])
def test_a_line_that_touches_a_bolt_hole_leaves_it_a_hole(radius_mm, beyond_mm, pen_mm, angle_deg):
    sheet = Sheet(pen_mm=0.6).shape(RIB).shape(circle_points(50, 30, radius_mm))
    turn = math.radians(angle_deg)
    cos, sin, offset = math.cos(turn), math.sin(turn), radius_mm + beyond_mm
    line = [(50 + offset * cos - k * sin, 30 + offset * sin + k * cos) for k in (-24, 24)]
    page = sheet.line(line, pen_mm=pen_mm).page(seed=5)
    (part,) = trace_picks(page, fit_scale(page, sheet.known()), [PartPick("rib", (sheet.pick(22, 30),))]).parts
    (hole,) = part.outline.cutouts
    assert _is_round(hole, radius_mm)


@pytest.mark.parametrize("radius_mm", [1.5, 2.0, 3.0])
@pytest.mark.parametrize(
    ("off_share", "pen_mm", "angle_deg"),
    [(0.0, 0.6, 0.0), (0.0, 0.25, 8.0), (0.3, 0.3, 8.0), (0.3, 0.25, 0.0), (0.6, 0.3, 8.0), (0.6, 0.25, 0.0)],
)
def test_a_bolt_hole_with_a_centre_line_through_it_is_one_hole(radius_mm, off_share, pen_mm, angle_deg):
    sheet = Sheet(pen_mm=0.6).shape(RIB).shape(circle_points(50, 30, radius_mm))
    turn = math.radians(angle_deg)
    cos, sin, offset = math.cos(turn), math.sin(turn), off_share * radius_mm
    line = [(50 + offset * cos - k * sin, 30 + offset * sin + k * cos) for k in (-24, 24)]
    page = sheet.line(line, pen_mm=pen_mm).page(seed=5)
    (part,) = trace_picks(page, fit_scale(page, sheet.known()), [PartPick("rib", (sheet.pick(22, 30),))]).parts
    (hole,) = part.outline.cutouts
    assert _is_round(hole, radius_mm)


def test_a_cross_of_centre_lines_in_a_bolt_hole_leaves_it_one_hole() -> None:
    sheet = Sheet(pen_mm=0.5).shape(RIB).shape(circle_points(50, 30, 1.6))
    sheet.line([(46, 30), (54, 30)], pen_mm=0.25).line([(50, 26), (50, 34)], pen_mm=0.25)
    page = sheet.page(seed=5)
    (part,) = trace_picks(page, fit_scale(page, sheet.known()), [PartPick("rib", (sheet.pick(22, 30),))]).parts
    (hole,) = part.outline.cutouts
    assert _is_round(hole, 1.6)


def test_a_bay_between_an_arc_and_a_line_is_no_hole() -> None:
    # Half a circle stands on a datum line that runs through: neither is a cut-out's whole edge.
    sheet = Sheet(pen_mm=0.5).shape(RIB).line([(5, 30), (95, 30)])
    sheet.line(circle_points(50, 30, 6.0)[:91])
    page = sheet.page(seed=5)
    (part,) = trace_picks(page, fit_scale(page, sheet.known()), [PartPick("rib", (sheet.pick(22, 22),))]).parts
    assert part.outline.cutouts == ()


@pytest.mark.parametrize("leg_mm", [0.9, 1.2, 1.6])
def test_a_thin_line_across_a_corner_leaves_the_corner_to_the_part(leg_mm: float) -> None:
    #   +--------+
    #   |       /|   hatching that ends a millimetre from the corner: the outline is a loop that ends at both its ends
    #   +--------+
    sheet = Sheet(pen_mm=0.5).shape([(15, 15), (85, 15), (85, 45), (15, 25)])
    slope = (45 - 25) / 70
    sheet.line([(85 - leg_mm, 45 - slope * leg_mm), (85, 45 - slope * leg_mm - leg_mm)], pen_mm=0.25)
    page = sheet.page(seed=5)
    (part,) = trace_picks(page, fit_scale(page, sheet.known()), [PartPick("tip", (sheet.pick(50, 25),))]).parts
    _, low, _, high = part.outline.bounds
    assert high - low == pytest.approx(30, abs=0.12)
