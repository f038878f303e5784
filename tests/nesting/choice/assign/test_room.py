import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nesting.choice.assign.room import _SQUASHES, room_bounds
from nesting.place.layout_rules import NestRules
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.shapes.outline import Outline

RULES = NestRules(kerf_mm=0.5, clearance_mm=1.5, ends_mm=6.0, edges_mm=1.0)
BOARD = Board("B", "balsa", 3.0, 1000, 100)


def part(name: str, length: float, width: float, **more) -> Part:
    return Part(name, Outline.rectangle(0, 0, length, width), "balsa", 3.0, **more)


@pytest.mark.parametrize("squash", _SQUASHES)
@given(st.lists(st.floats(0.01, 1.0), min_size=1, max_size=8))
def test_the_functions_are_dual_feasible(squash, shares):
    # Fekete & Schepers: sum of x <= 1 implies sum of u(x) <= 1.
    shares = np.array(shares)
    if shares.sum() > 1:
        shares = shares / (shares.sum() * (1 + 1e-9))
    assert squash(shares).sum() <= 1 + 1e-9


def fits_by_bounds(parts, board=BOARD) -> bool:
    return all(
        sum(bound.need[p.name] * p.count for p in parts) <= bound.room.get(board.name, math.inf)
        for bound in room_bounds(parts, [board], RULES)
    )


def test_two_parts_wider_than_half_the_board_cannot_lie_side_by_side():
    assert fits_by_bounds([part("a", 480, 60), part("b", 480, 60)])
    assert not fits_by_bounds([part("a", 520, 60), part("b", 520, 60)])  # by area they would fit


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.floats(30, 300), st.floats(8, 90)), min_size=1, max_size=10))
def test_what_does_fit_is_never_ruled_out(sizes):
    # Boxes laid on shelves along the board, with gap and margins kept: a layout that exists.
    x, y, deep, laid = RULES.ends_mm, RULES.edges_mm, 0.0, []
    for length, width in sizes:
        if y + width > BOARD.width_mm - RULES.edges_mm:
            x, y, deep = x + deep + RULES.gap_mm, RULES.edges_mm, 0.0
        if x + length > BOARD.length_mm - RULES.ends_mm:
            break
        laid.append(part(f"p{len(laid)}", length, width))
        y, deep = y + width + RULES.gap_mm, max(deep, length)
    assert fits_by_bounds(laid)


def test_parts_of_free_grain_are_bounded_by_area_alone():
    free = [part("a", 520, 60, grain_tolerance_deg=90.0), part("b", 520, 60, grain_tolerance_deg=90.0)]
    area, *slices = room_bounds(free, [BOARD], RULES)
    assert area.need["a"] > 520 * 60
    assert all(bound.need["a"] == 0.0 for bound in slices)
