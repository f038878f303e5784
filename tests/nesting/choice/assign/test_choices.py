"""The numbers that the choice of boards is made by."""

import pytest

from nesting.balance.station import Datum, Seat
from nesting.choice.assign import make_problem
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.shapes.outline import Outline

BOARD = Board("B", "balsa", 3.0, 1000.0, 100.0, mass_g=30.0)


@pytest.mark.parametrize(("count", "lateral"), [(1, 150.0), (2, 0.0)])
def test_halves_that_lie_on_either_side_cancel(count, lateral):
    # 30 g over 1000 x 100 mm: 60 x 300 mm weigh 5.4 g, their middle 150 mm from the root.
    half = Part("half", Outline.rectangle(0, 0, 60, 300), "balsa", 3.0, count=count)
    seat = Seat(anchor=(0.0, 0.0), at=(10.0, 0.0), is_from_above=True)
    problem = make_problem([half], [BOARD], seats={"half": seat}, datum=Datum((0.0, 0.0)))
    (option,) = problem.units[0].options
    assert option.mass_g == pytest.approx(5.4)
    assert option.moment_g_mm == pytest.approx(5.4 * 40.0)
    assert option.lateral_g_mm == pytest.approx(5.4 * lateral)
