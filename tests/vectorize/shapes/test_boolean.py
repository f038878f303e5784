import math
import random

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely.geometry import Point

from nesting.alter.edge_strip import EdgeStrip
from nesting.alter.planks import Planks
from nesting.alter.step import Setting
from nesting.wood.part import Part
from tests.nesting.alter.part_shapes import BODY, has_piece
from vectorize.basics.errors import OutlineError
from vectorize.shapes.boolean import common, cut, united
from vectorize.shapes.outline import Outline, Pose, Ring, check_outline
from vectorize.shapes.segment import Arc, Cubic, Line

AREA_TOL_MM2 = 1e-6  # curves are kept, so areas add up but for rounding
FLAT_TOL = 2e-3  # shapely's areas of the flattened outlines, chords within 0.001 mm
TOUCHING_MM = 2e-3  # nearer than chords lie to their curves


def test_a_hole_inside_leaves_the_outer_curves_as_they_were() -> None:
    (drilled,) = cut(BODY, Outline(Ring.circle((110, 20), 3)))
    assert set(drilled.exterior.segments) == set(BODY.exterior.segments)
    assert len(drilled.cutouts) == 2
    assert drilled.cutouts[1].as_circle() is not None or drilled.cutouts[0].as_circle() is not None


def test_a_bite_keeps_arcs_and_cubics_and_ends_on_both_curves() -> None:
    bite = Outline(Ring.circle((50, 45), 8))
    (left,) = cut(BODY, bite)
    top = BODY.exterior.segments[2]
    assert isinstance(top, Cubic)
    assert has_piece(left.exterior, BODY.exterior.segments[1])
    arcs = [s for s in left.exterior.segments if isinstance(s, Arc) and math.isclose(s.radius, 8, abs_tol=1e-6)]
    assert sum(arc.length for arc in arcs) < 2 * math.pi * 8
    cubics = [s for s in left.exterior.segments if isinstance(s, Cubic)]
    assert len(cubics) == 2
    for arc in arcs:
        assert math.dist(arc.centre, (50, 45)) < 1e-6


def test_areas_add_up_on_curves() -> None:
    bite = Outline(Ring.circle((50, 45), 8))
    (left,), (taken,) = cut(BODY, bite), common(BODY, bite)
    (whole,) = united(BODY, bite)
    assert left.area_mm2 + taken.area_mm2 == pytest.approx(BODY.area_mm2, abs=AREA_TOL_MM2)
    assert whole.area_mm2 == pytest.approx(BODY.area_mm2 + bite.area_mm2 - taken.area_mm2, abs=AREA_TOL_MM2)


def test_a_slot_through_the_body_leaves_two_pieces_largest_first() -> None:
    pieces = cut(BODY, Outline.rectangle(25, -10, 35, 80))
    assert len(pieces) == 2
    assert pieces[0].area_mm2 > pieces[1].area_mm2


def test_nothing_left_is_an_empty_tuple() -> None:
    assert cut(BODY, Outline.rectangle(-10, -10, 200, 100)) == ()
    assert common(BODY, Outline.rectangle(500, 0, 600, 10)) == ()


def test_edges_on_edges_leave_no_dust() -> None:
    left = cut(Outline.rectangle(0, 0, 10, 10), Outline.rectangle(0, 0, 5, 10))
    assert [piece.area_mm2 for piece in left] == [pytest.approx(50)]
    (whole,) = united(Outline.rectangle(0, 0, 10, 10), Outline.rectangle(10, 0, 20, 10))
    assert whole.area_mm2 == pytest.approx(200)


def test_edges_that_differ_by_rounding_leave_no_hairline() -> None:
    left = Outline.from_points([(0, 0), (10, 0), (10 + 2e-9, 4), (10, 10), (0, 10)])
    right = Outline.from_points([(10, 0), (20, 0), (20, 12), (10, 12), (10 - 1e-9, 7), (10 + 1e-9, 3)])
    (whole,) = united(left, right)
    check_outline(whole)
    assert not whole.cutouts
    assert whole.area_mm2 == pytest.approx(100 + 120, abs=1e-6)
    assert len(whole.exterior.segments) <= 8
    assert min(s.length for s in whole.exterior.segments) > 1.0


#        tip
#     ___----|     Straight or bent leading edge with a strip let in, sawn into planks along the grain,
#    |-------|     and turned by any angle: the seams then lie some 1e-15 mm apart.
#    |_______|
def _turned_panel(seed: int) -> Part:
    rng = random.Random(seed)
    span, root, tip, bend = rng.uniform(200, 500), rng.uniform(120, 220), rng.uniform(80, 118), rng.uniform(2, 25)
    top = (Line((span, tip), (0, root)), Cubic((span, tip), (span * 0.7, tip + bend), (span * 0.3, root), (0, root)))
    ring = Ring((Line((0, 0), (span, 0)), Line((span, 0), (span, tip)), top[seed % 2], Line((0, root), (0, 0))))
    pose = Pose(rng.uniform(0, 500), rng.uniform(0, 500), rng.uniform(0, 360))
    return Part("wing", Outline(ring).placed(pose), "balsa", 5.0, grain_deg=pose.angle_deg % 180)


def test_a_hundred_turned_panels_are_whole_again_when_their_pieces_are_put_together() -> None:
    torn = []
    for seed in range(100):
        panel = _turned_panel(seed)
        edge = panel.outline.exterior.segments[2]
        strip = EdgeStrip((edge.point_at(0.5),), 6.0, "basswood").applied(panel, Setting())
        planks = Planks(70.0, trued_mm=0.0).applied(strip.parts[0], Setting()).parts
        whole = united(*(piece.outline for piece in (*planks, *strip.extras)))
        # Seams are cut through curves whose chords differ by up to 0.001 mm.
        if len(whole) != 1 or abs(whole[0].area_mm2 - panel.outline.area_mm2) > 1e-3 * panel.outline.perimeter_mm:
            torn.append(seed)
    assert torn == []


@pytest.mark.parametrize("overlay", [united, cut, common])
def test_what_crosses_itself_is_told_with_the_place(overlay) -> None:
    bow = Outline.from_points([(0, 0), (10, 10), (10, 0), (0, 7)])
    with pytest.raises(OutlineError, match=r"its edge crosses itself at \(4\.1, 4\.1\) mm"):
        overlay(Outline.rectangle(1, 1, 4, 4), bow)


@settings(max_examples=25, deadline=None)
@given(x=st.floats(-20, 140), y=st.floats(-20, 60), radius=st.floats(0.5, 25))
def test_any_disc_cuts_to_what_the_polygons_say(x: float, y: float, radius: float) -> None:
    # A disc that only touches an edge leaves no wood between at that place: such a shape is told, not cut.
    assume(abs(BODY.to_polygon().exterior.distance(Point(x, y)) - radius) > TOUCHING_MM)
    disc = Outline(Ring.circle((x, y), radius))
    left, taken = cut(BODY, disc), common(BODY, disc)
    expected = BODY.to_polygon().difference(disc.to_polygon())
    slack = FLAT_TOL * (BODY.perimeter_mm + disc.perimeter_mm)
    assert sum(piece.area_mm2 for piece in left) == pytest.approx(expected.area, abs=slack)
    assert sum(p.area_mm2 for p in (*left, *taken)) == pytest.approx(BODY.area_mm2, abs=1e-2)
    for piece in left:
        check_outline(piece)
