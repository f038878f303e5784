import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nesting.alter.lighten import Lighten
from nesting.alter.step import Setting
from nesting.wood.part import Part
from tests.nesting.alter.part_shapes import FUSELAGE
from vectorize.basics.errors import PartError
from vectorize.shapes.outline import Outline, Ring

DOUBLER = Part("doubler", Outline(FUSELAGE.exterior, (Ring.circle((60, 20), 2),)), "birch ply", 0.8)
RULE_TOL_MM = 0.002  # chords of the flattened edge


@settings(max_examples=8, deadline=None)
@given(web=st.floats(3, 10), edge=st.floats(3, 8), fastener=st.floats(40, 250))
def test_every_hole_keeps_web_edge_and_fastener(web: float, edge: float, fastener: float) -> None:
    rule = Lighten(web, edge, least_mm=8, fasteners=((fastener, 22.0),), clear_mm=7)
    holes = rule.holes(DOUBLER, Setting())
    rim = DOUBLER.outline.to_polygon().boundary
    from shapely.geometry import Point

    for centre, radius in holes:
        assert radius >= 4
        assert rim.distance(Point(centre)) - radius >= edge - RULE_TOL_MM
        assert math.dist(centre, (fastener, 22.0)) - radius >= 7
    for (a, ra), (b, rb) in itertools.combinations(holes, 2):
        assert math.dist(a, b) - ra - rb >= web - 1e-9
    assert len(holes) >= 3


def test_a_plain_strip_gets_the_row_that_the_rule_allows() -> None:
    #  _________________________
    # |  O    O    O    O    O  |   20 mm high: holes of 12, webs of 4
    # |_________________________|
    strip = Part("strip", Outline.rectangle(0, 0, 100, 20), "balsa", 2.0)
    change = Lighten(web_mm=4, edge_mm=4).applied(strip, Setting())
    holes = change.parts[0].outline.cutouts
    # 8 mm between the ends of row: 92 / 16 = 5.75, so five holes of nearly 12 mm.
    assert len(holes) >= 5
    assert change.parts[0].outline.area_mm2 < 2000 - 5 * math.pi * 5.5**2
    assert "lightening holes take out" in change.notes[0].text


def test_a_greatest_diameter_is_kept() -> None:
    strip = Part("strip", Outline.rectangle(0, 0, 100, 40), "balsa", 2.0)
    holes = Lighten(4, 4, greatest_mm=15).holes(strip, Setting())
    assert max(radius for _, radius in holes) == pytest.approx(7.5)


def test_no_room_is_refused_with_the_largest_hole_there_is() -> None:
    strip = Part("strip", Outline.rectangle(0, 0, 100, 14), "balsa", 2.0)
    with pytest.raises(PartError, match=r"leaves 4 mm of edge is [56]\.\d mm; at least 8 mm"):
        Lighten(4, 4).applied(strip, Setting())


def test_a_rule_with_nothing_left_is_refused() -> None:
    with pytest.raises(PartError, match="web of 0 mm"):
        Lighten(0, 4).check("rib", Setting())
