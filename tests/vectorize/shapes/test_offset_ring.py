"""A ring moved sideways is what shapely's buffer makes of it, with its lines and arcs kept."""

from __future__ import annotations

import math

import pytest
import shapely

from vectorize.shapes.offset_ring import MITRE_LIMIT, offset_ring
from vectorize.shapes.outline import Ring
from vectorize.shapes.segment import Arc, Cubic, Line

FINE_MM = 0.0005
SLOT = Ring((Line((0, 0), (30, 0)), Arc((30, 0), (30, 10), 1.0), Line((30, 10), (0, 10)), Arc((0, 10), (0, 0), 1.0)))
NOTCHED = Ring.from_points([(0, 0), (40, 0), (40, 20), (25, 20), (25, 12), (15, 12), (15, 20), (0, 20)])
TIP = Ring(
    (
        Line((0, 0), (60, 0)),
        Cubic((60, 0), (75, 5), (75, 25), (60, 30)),
        Arc((60, 30), (0, 30), 0.1),
        Line((0, 30), (0, 0)),
    )
)


@pytest.mark.parametrize("ring", [SLOT, NOTCHED, TIP], ids=["slot", "notched", "tip"])
@pytest.mark.parametrize("left_mm", [-0.4, -0.1, 0.1, 0.4])
def test_it_lies_where_shapely_puts_it(ring: Ring, left_mm: float) -> None:
    # Source: shapely's buffer with mitred joints.
    true = shapely.Polygon(ring.flattened(FINE_MM)).buffer(-left_mm, join_style="mitre", mitre_limit=MITRE_LIMIT)
    moved = shapely.Polygon(offset_ring(ring, left_mm).flattened(FINE_MM))
    assert shapely.hausdorff_distance(moved.exterior, true.exterior, densify=0.002) < 0.01
    assert moved.area == pytest.approx(true.area, rel=5e-5)


@pytest.mark.parametrize("left_mm", [-0.4, 0.4])
def test_lines_stay_lines_and_arcs_arcs(left_mm: float) -> None:
    moved = offset_ring(SLOT, left_mm)
    assert [type(piece) for piece in moved.segments] == [Line, Arc, Line, Arc]
    assert [piece.radius for piece in moved.segments if isinstance(piece, Arc)] == pytest.approx([5 - left_mm] * 2)


def test_the_left_of_a_ring_walked_clockwise_is_outside_it() -> None:
    assert abs(offset_ring(SLOT.reversed(), 0.4).signed_area_mm2) == pytest.approx(
        abs(offset_ring(SLOT, -0.4).signed_area_mm2)
    )


def test_a_circle_stays_one() -> None:
    assert offset_ring(Ring.circle((3, 4), 5.0), 0.25).as_circle() == ((3, 4), pytest.approx(4.75))
    hole = Ring.circle((3, 4), 5.0).reversed()
    assert offset_ring(hole, 0.25).as_circle() == ((3, 4), pytest.approx(5.25))
    assert offset_ring(hole, 0.25).signed_area_mm2 < 0


def test_a_sharp_tip_is_cut_off_square() -> None:
    half = math.radians(5)
    tip = Ring.from_points([(0, -100 * math.tan(half)), (100, 0), (0, 100 * math.tan(half))])
    moved = offset_ring(tip, -0.3)
    true = shapely.Polygon(tip.flattened()).buffer(0.3, join_style="mitre", mitre_limit=MITRE_LIMIT)
    assert shapely.hausdorff_distance(shapely.Polygon(moved.flattened()).exterior, true.exterior) < 0.001
    assert max(x for x, _ in moved.flattened()) < 100 + 0.3 * MITRE_LIMIT + 1e-6


@pytest.mark.parametrize("radius_mm", [0.2, 0.3])
def test_a_round_tighter_than_the_distance_leaves_a_corner(radius_mm: float) -> None:
    bulge = math.tan(math.radians(90) / 4)
    r = radius_mm
    plate = Ring(
        (Line((0, 0), (20, 0)), Line((20, 0), (20, 10 - r)), Arc((20, 10 - r), (20 - r, 10), bulge),
         Line((20 - r, 10), (0, 10)), Line((0, 10), (0, 0)))
    )  # fmt: skip
    moved = offset_ring(plate, 0.5)
    assert moved.signed_area_mm2 == pytest.approx(19 * 9, rel=1e-4)


def test_no_distance_moves_nothing() -> None:
    assert offset_ring(TIP, 0.0) is TIP
