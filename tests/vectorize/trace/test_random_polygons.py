"""Any simple polygon drawn with a pen is found again within the limits stated for clean scans."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
from hypothesis import example, given, settings
from hypothesis import strategies as st

from fixtures.compare_traces import aligning_pose, compare
from fixtures.pen_drawing import Plan
from fixtures.scanning import Wear, scan
from vectorize.page import Page
from vectorize.scale.fit_scale import fit_scale
from vectorize.scale.known import KnownDimension
from vectorize.shapes.outline import Outline
from vectorize.trace.trace_page import PartPick, trace_picks

# The limits stated for clean scans at 300 dpi.
WORST_MM = 0.12
MEAN_MM = 0.03
AREA_SHARE = 0.0008

SHORTEST_EDGE_MM = 4.0
SHARPEST_DEG = 40.0


@st.composite
def simple_polygons(draw: st.DrawFn) -> tuple[tuple[float, float], ...]:
    """Corners round a middle, hollows included; no edge shorter and no corner sharper than a builder cuts."""
    count = draw(st.integers(3, 8))
    turn = draw(st.floats(0, 2 * math.pi))
    shifts = draw(st.lists(st.floats(-0.25, 0.25), min_size=count, max_size=count))
    radii = draw(st.lists(st.floats(7.0, 19.0), min_size=count, max_size=count))
    angles = [turn + (k + shift) * 2 * math.pi / count for k, shift in enumerate(shifts)]
    return tuple((30 + r * math.cos(a), 25 + r * math.sin(a)) for r, a in zip(radii, angles, strict=True))


def is_cuttable(corners: tuple[tuple[float, float], ...]) -> bool:
    points = np.array([*corners, *corners[:2]])
    steps = np.diff(points, axis=0)
    if np.hypot(*steps.T).min() < SHORTEST_EDGE_MM:
        return False
    headings = np.arctan2(steps[:, 1], steps[:, 0])
    turns = [abs((b - a + math.pi) % (2 * math.pi) - math.pi) for a, b in pairwise(headings)]
    # A corner of nearly nothing is a straight line to any pen.
    return max(turns) < math.radians(180 - SHARPEST_DEG) and min(turns) > math.radians(12)


@settings(max_examples=12, deadline=None, derandomize=True)
@given(corners=simple_polygons().filter(is_cuttable), pen=st.floats(0.2, 0.8), skew=st.floats(-2, 2))
@example(corners=((12.0, 12.0), (48.0, 12.0), (48.0, 40.0), (12.0, 40.0)), pen=0.4, skew=0.0)
def test_a_polygon_drawn_with_a_pen_is_found_again(
    corners: tuple[tuple[float, float], ...], pen: float, skew: float
) -> None:
    plan = Plan("polygon", 60.0, 50.0)
    plan.check((5.0, 3.0), (55.0, 3.0), "50")
    outline = Outline.from_points(corners)
    plan.part("part", outline, pen=pen)
    plan = plan.settled()
    picture, truth = scan(plan, Wear(dpi=300, skew_deg=skew, blur_px=0.5, noise=1.5), 9)
    rows, columns = picture.shape
    page = Page("plan.png", 1, 1, picture, (), columns, rows)
    scale = fit_scale(page, [KnownDimension(*k) for k in truth.known])
    (traced,) = trace_picks(page, scale, [PartPick("part", (truth.picks["part"],))]).parts
    pose = aligning_pose({"part": traced.outline}, {"part": outline})
    found = compare(traced.outline.placed(pose), outline)
    assert found.worst_mm <= WORST_MM
    assert found.corner_mm <= WORST_MM
    assert found.mean_mm <= MEAN_MM
    assert found.area_error <= AREA_SHARE
    assert len(traced.outline.exterior.segments) == len(corners)
