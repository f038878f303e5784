"""Lines that only just meet: a dash that ends on a corner, an outline that ends in a space, a line along a circle."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.vectorize.inked_lines import Sheet, circle_points
from vectorize.lines.graph import Edge, LineWork
from vectorize.lines.runs import found_runs
from vectorize.scale.fit_scale import fit_scale
from vectorize.shapes.outline import Outline
from vectorize.trace.trace_page import PartPick, trace_picks

AREA_SHARE = 0.005

CROSSING_MM = 0.08
"""Two thirds of what is allowed on a clean scan: nothing but the crossing disturbs these lines."""

AXIS_X = 20.0
CORNERS = (15.0, 40.0)
"""A half-part from the axis out: its lines end on the axis at these heights."""


def half_part(*, first_dash_at: float) -> Sheet:
    """A rectangle of 30 by 25 mm, open at a dash-dot centre line whose dashes of 6 mm have spaces of 2 mm."""
    sheet = Sheet(70, 55, dpi=300, pen_mm=0.5)
    low, high = CORNERS
    sheet.line([(AXIS_X, low), (AXIS_X + 30, low), (AXIS_X + 30, high), (AXIS_X, high)])
    y = first_dash_at
    while y < 52:
        sheet.line([(AXIS_X, y), (AXIS_X, min(y + 6.0, 52.0))], pen_mm=0.25)
        y += 8.0
    return sheet


def traced_half(sheet: Sheet) -> Outline:
    page = sheet.page()
    axis = (sheet.pick(AXIS_X, 3), sheet.pick(AXIS_X, 52))
    pick = PartPick("half", (sheet.pick(AXIS_X + 15, 28),), mirror=axis)
    trace = trace_picks(page, fit_scale(page, sheet.known()), [pick])
    assert [part.name for part in trace.parts] == ["half"], trace.notes
    return trace.parts[0].outline


# Dashes are thickened by half a pen at each end, so a dash that ends 0.2 mm past a corner meets it squarely.
@pytest.mark.parametrize(
    ("meets", "first_dash_at"),
    [("a dash ends on the corner", 1.0), ("the corner lies in a space", 0.2), ("a dash runs through", 4.0)],
)
def test_a_half_plan_is_closed_by_its_centre_line_wherever_the_dashes_fall(meets: str, first_dash_at: float) -> None:
    assert traced_half(half_part(first_dash_at=first_dash_at)).area_mm2 == pytest.approx(60 * 25, rel=AREA_SHARE), meets


def test_a_circle_stays_closed_however_smoothly_a_line_runs_up_to_it() -> None:
    circle = circle_points(0, 0, 40)
    nodes = np.array([circle[0], circle[0] + [3, 100]])
    edges = (Edge(0, 0, np.vstack([circle, circle[:1]])), Edge(1, 0, np.linspace(nodes[1], nodes[0], 100)))
    runs = found_runs(LineWork(nodes, edges), np.array([4.0, 2.0]), px_per_mm=12.0, pen_px=6.0)
    assert runs.runs[runs.of_edge[0]].is_closed
    assert runs.of_edge[0] != runs.of_edge[1]


@pytest.mark.parametrize("angle_deg", [12.0, 20.0])
def test_outlines_that_cross_at_a_shallow_angle_stay_straight_through_the_crossing(angle_deg: float) -> None:
    sheet = Sheet(80, 50, dpi=300, pen_mm=0.45).shape([(10, 8), (70, 8), (70, 25), (10, 25)])
    rise = 25.0 * math.tan(math.radians(angle_deg))
    wedge = [(15.0, 25 + rise), (65.0, 25 - rise), (65.0, 44.0), (15.0, 44.0)]
    sheet.shape(wedge)
    page = sheet.page()
    scale = fit_scale(page, sheet.known())
    (part,) = trace_picks(page, scale, [PartPick("upper", (sheet.pick(40, 38),))]).parts
    true = Outline.from_points(scale.to_mm(sheet.px(wedge)))
    away = true.to_polygon().exterior.hausdorff_distance(part.outline.to_polygon().exterior)
    assert away < CROSSING_MM
