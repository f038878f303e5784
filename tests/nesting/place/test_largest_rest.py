import pytest

from nesting.place.largest_rest import largest_offcut
from nesting.place.layout import Placement
from nesting.place.layout_rules import NestRules
from nesting.wood.board import Blemish, Board
from nesting.wood.part import Part
from vectorize.shapes.outline import Outline, Pose

CELL_MM = 1.0  # the offcut is judged on a grid of this size
RULES = NestRules("laser", 0.0, 0.0, 0.0, 0.0)
PLATE = Part("plate", Outline.rectangle(0, 0, 40, 30), "balsa", 3.0)


def test_an_empty_board_is_its_own_offcut():
    assert largest_offcut(Board("B", "balsa", 3, 200, 100), [], [], RULES) == (0, 0, 200, 100)


def test_the_larger_of_two_free_rectangles_is_taken():
    # +----+--------+
    # |    | ####   |   the plate leaves 100 x 100 to its left, 60 wide to its right, 70 high below
    # |    | ####   |
    board = Board("B", "balsa", 3, 200, 100)
    found = largest_offcut(board, [Placement("plate", 1, Pose(100, 70))], [PLATE], RULES)
    assert found == pytest.approx((0, 0, 200, 70), abs=CELL_MM)


def test_kerf_blemishes_and_an_irregular_edge_are_left_out():
    edge = Outline.from_points([(0, 0), (200, 0), (200, 50), (100, 50), (100, 100), (0, 100)])
    board = Board("B", "balsa", 3, 200, 100, outline=edge, blemishes=(Blemish(Outline.rectangle(0, 0, 30, 20)),))
    found = largest_offcut(board, [Placement("plate", 1, Pose(0, 70))], [PLATE], NestRules("saw", 2, 0, 0, 0))
    assert found == pytest.approx((30, 0, 200, 50), abs=CELL_MM)
