import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.ops import unary_union

from nesting.alter.planks import Planks
from nesting.alter.step import Setting
from nesting.wood.board import Board
from nesting.wood.part import Part
from tests.nesting.alter.part_shapes import BODY
from vectorize.basics.errors import PartError
from vectorize.shapes.outline import Outline

SUM_TOL = 1e-6


@settings(max_examples=15, deadline=None)
@given(grain=st.floats(0, 180), width=st.floats(12, 35))
def test_planks_add_up_to_the_whole(grain: float, width: float) -> None:
    part = Part("panel", BODY, "balsa", 5.0, grain_deg=grain)
    planks = Planks(width).applied(part, Setting()).parts
    net = [p.outline.area_mm2 * p.finished_share for p in planks]
    assert sum(net) == pytest.approx(BODY.area_mm2, rel=SUM_TOL)
    for axis in (0, 1):
        moment = sum(n * p.centroid[axis] for n, p in zip(net, planks, strict=True))
        assert moment == pytest.approx(BODY.area_mm2 * BODY.centroid[axis], rel=1e-5)
    whole = unary_union([p.outline.to_polygon() for p in planks])
    assert whole.symmetric_difference(BODY.to_polygon()).area < 0.3  # chords of a few curves


def test_each_plank_is_half_a_millimetre_wider_at_a_glued_edge() -> None:
    part = Part("panel", Outline.rectangle(0, 0, 300, 240), "balsa", 5.0)
    planks = Planks(100.0).applied(part, Setting()).parts
    assert [p.name for p in planks] == ["panel plank 1", "panel plank 2", "panel plank 3"]
    assert [p.outline.size_mm[1] for p in planks] == pytest.approx([80.5, 81.0, 80.5])
    assert [p.finished_share for p in planks] == pytest.approx([80 / 80.5, 80 / 81, 80 / 80.5])


def test_the_widest_board_at_hand_sets_the_width_and_a_narrow_part_stays_whole() -> None:
    rack = Setting(boards=(Board("B1", "balsa", 5.0, 915, 75), Board("B2", "balsa", 5.0, 915, 100)))
    wide = Part("panel", Outline.rectangle(0, 0, 300, 190), "balsa", 5.0)
    assert [p.outline.size_mm[1] for p in Planks().applied(wide, rack).parts] == pytest.approx([95.5, 95.5])
    narrow = Part("strip", Outline.rectangle(0, 0, 300, 98), "balsa", 5.0)
    assert Planks().applied(narrow, rack).parts == (narrow,)


def test_no_board_and_planks_too_narrow_are_refused() -> None:
    part = Part("panel", Outline.rectangle(0, 0, 300, 240), "balsa", 5.0)
    with pytest.raises(PartError, match="no board of balsa 5 mm"):
        Planks().applied(part, Setting())
    with pytest.raises(PartError, match="planks of 1 mm leave nothing"):
        Planks(1.0).applied(part, Setting())
