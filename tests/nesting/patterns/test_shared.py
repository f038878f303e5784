from __future__ import annotations

import pytest

from nesting.job.bring_in import bring_in
from nesting.patterns.pattern_settings import PatternSettings
from nesting.patterns.sheets import board_pattern
from nesting.place.layout import BoardLayout, Placement
from nesting.wood.board import Board
from nesting.wood.part import Part
from tests.nesting.patterns.pattern_shapes import read_dxf
from vectorize.shapes.outline import Outline, Pose

#   ┌────┬────┐
#   │ a  │ b  │   b touches a along 20 of a's 30 mm
#   │    ├────┘
#   └────┘
A = Part("a", Outline.rectangle(0, 0, 40, 30), "balsa", 3.0)
B = Part("b", Outline.rectangle(0, 0, 25, 20), "balsa", 3.0)
BOARD = Board("B1", "balsa", 3.0, 200.0, 50.0)


def touching_dxf(gap_mm: float, **settings) -> bytes:
    layout = BoardLayout("B1", (Placement("a", 1, Pose(5, 5)), Placement("b", 1, Pose(45 + gap_mm, 15))), 0.2, 75.0)
    made = board_pattern(BOARD, layout, [A, B], settings=PatternSettings(**settings), formats=("dxf",))
    return made["board-B1.dxf"]


def cut_length_mm(dxf: bytes) -> float:
    lines = read_dxf(dxf).modelspace().query('LWPOLYLINE[layer=="OUTLINE_CUT"]')
    return sum(piece.dxf.start.distance(piece.dxf.end) for line in lines for piece in line.virtual_entities())


def test_an_edge_that_two_parts_share_is_cut_once():
    assert cut_length_mm(touching_dxf(0.0, tool="knife")) == pytest.approx(140 + 90 - 20)


def test_paths_of_a_laser_that_coincide_are_cut_once():
    # Kerf 0.2 and a gap of 0.2 lay both paths on one line: 140 + 0.8 and 90 + 0.8, less 20.2.
    assert cut_length_mm(touching_dxf(0.2, tool="laser", kerf_mm=0.2)) == pytest.approx(140.8 + 90.8 - 20.2, abs=0.01)


def test_parts_that_do_not_touch_keep_closed_outlines():
    dxf = touching_dxf(2.0, tool="knife")
    assert cut_length_mm(dxf) == pytest.approx(140 + 90)
    assert all(line.closed for line in read_dxf(dxf).modelspace().query('LWPOLYLINE[layer=="OUTLINE_CUT"]'))


def test_both_parts_come_back_when_such_a_file_is_brought_in():
    found = bring_in(touching_dxf(0.0, tool="knife"), name="board-B1.dxf")
    assert found.notes == ()
    assert sorted(outline.area_mm2 for outline in found.outlines) == pytest.approx([25 * 20, 40 * 30])
