"""Whether a part can lie on a board at all."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nesting.place.layout_rules import NestRules
from nesting.place.lies import can_lie, lies_on, those_it_lies_on
from nesting.place.nest_parts import nest_parts
from nesting.wood.board import Blemish, Board
from nesting.wood.part import Part
from vectorize.basics.errors import NoSolutionError, NothingFoundError
from vectorize.shapes.outline import Outline

RULES = NestRules.for_tool("saw")  # 6 mm free at the ends, 1 mm at the edges


def part(length, width, **more):
    return Part("part", Outline.rectangle(0, 0, length, width), "balsa", 3.0, is_grain_assumed=False, **more)


def board(length=300.0, width=100.0, **more):
    return Board("B", "balsa", 3.0, length, width, **more)


@pytest.mark.parametrize(
    ("length", "width", "lies"),
    [(288.0, 98.0, True), (288.1, 98.0, False), (288.0, 98.1, False), (50.0, 142.0, False), (142.0, 50.0, True)],
)
def test_its_size_along_and_across_the_grain_decides_on_a_plain_board(length, width, lies):
    # 300 - 2 x 6 = 288 mm and 100 - 2 x 1 = 98 mm; the grain holds it along the board.
    assert can_lie(part(length, width, grain_tolerance_deg=0.0), board(), RULES) is lies


def test_grain_that_may_run_anywhere_lets_it_lie_across():
    assert can_lie(part(50.0, 142.0, grain_tolerance_deg=90.0), board(), RULES)


def test_grain_within_its_tolerance_may_be_tilted():
    # 280 x 10 mm with its grain drawn 3 degrees off its length: 280 sin 3° + 10 cos 3° = 24.6 mm across the grain.
    strip = part(280.0, 10.0, grain_deg=3.0, grain_tolerance_deg=3.0)
    assert can_lie(strip, board(width=13.0), RULES)
    assert not can_lie(part(280.0, 10.0, grain_deg=3.0, grain_tolerance_deg=0.0), board(width=13.0), RULES)


#   +------+
#   |      |        an L: 100 mm wide over its first 100 mm, then 40 mm
#   |      +-------------+
#   +--------------------+
L_SHAPE = Outline.from_points([(0, 0), (300, 0), (300, 40), (100, 40), (100, 100), (0, 100)])


def test_on_an_offcut_its_form_counts_not_its_box():
    offcut = board(outline=L_SHAPE)
    assert can_lie(part(250.0, 30.0), offcut, RULES)
    assert can_lie(part(80.0, 90.0), offcut, RULES)
    assert not can_lie(part(250.0, 60.0), offcut, RULES)
    assert can_lie(part(288.0, 38.0), offcut, RULES)  # fills its leg to the margins: a grid alone may miss it


def test_a_knot_in_the_middle_counts_and_a_soft_patch_only_under_parts_that_mind():
    knot = Outline.rectangle(140, 0, 160, 100)
    assert not can_lie(part(200.0, 50.0), board(blemishes=(Blemish(knot),)), RULES)
    assert can_lie(part(120.0, 50.0), board(blemishes=(Blemish(knot),)), RULES)
    easy = NestRules.for_tool("saw", on_soft_patches=("part",))
    assert can_lie(part(200.0, 50.0), board(blemishes=(Blemish(knot, is_soft=True),)), easy)


@settings(max_examples=12, deadline=None)
@given(st.floats(60, 320), st.floats(40, 120), st.floats(0, 8))
def test_the_search_agrees(length, width, tolerance):
    one = part(length, width, grain_tolerance_deg=tolerance)
    try:
        is_laid = not nest_parts([one], [board()], rules=RULES, time_limit_s=None, max_sweeps=5).unplaced
    except (NoSolutionError, NothingFoundError):
        is_laid = False
    assert can_lie(one, board(), RULES) is is_laid


def test_boards_are_kept_that_hold_it():
    narrow, wide = board(), Board("W", "balsa", 3.0, 300.0, 150.0)
    assert those_it_lies_on(part(200.0, 120.0), [narrow, wide], lies_on(RULES)) == (wide,)
    assert those_it_lies_on(part(200.0, 120.0), [narrow, wide], None) == (narrow, wide)
