import pytest

from nesting.place.layout_rules import NestRules
from nesting.place.other_boards import fit_each_board
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.shapes.outline import Outline

RULES = NestRules("knife", 0.0, 0.0, 0.0, 0.0)
CELL_MM = 1.0  # the offcut is judged on a grid of this size


def test_the_same_parts_are_tried_on_each_board_alone():
    parts = [Part("A", Outline.rectangle(0, 0, 100, 50), "balsa", 3.0, count=2, board="light")]
    boards = [
        Board("light", "balsa", 3.0, 100.0, 60.0),
        Board("heavy", "balsa", 3.0, 300.0, 100.0),
        Board("tiny", "balsa", 3.0, 60.0, 60.0),
    ]
    light, heavy, tiny = fit_each_board(parts, boards, rules=RULES, max_sweeps=20, time_limit_s=None)
    assert (light.fits, light.placed) == (False, 1)
    assert heavy.fits
    assert heavy.used_length_mm == pytest.approx(100.0)
    assert heavy.offcut_mm == pytest.approx((200.0, 100.0), abs=CELL_MM)
    assert (tiny.placed, tiny.layout) == (0, None)
