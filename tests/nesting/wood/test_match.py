import pytest

from nesting.balance.weights import weigh_parts
from nesting.place.layout_rules import NestRules
from nesting.place.nest_parts import nest_parts
from nesting.wood.board import Board
from nesting.wood.match import matching_boards
from nesting.wood.part import Part
from vectorize.basics.errors import NoSolutionError
from vectorize.shapes.outline import Outline

NEAR = Board("N", "balsa", 3.175, 300, 100, mass_g=12.0)


def part(**more) -> Part:
    return Part("rib", Outline.rectangle(0, 0, 100, 40), "balsa", 3.0, **more)


@pytest.mark.parametrize(
    ("thickness", "is_match", "is_near"),
    [
        (3.0, True, False),
        (3.15, True, False),
        (2.85, True, False),
        (3.16, False, True),
        (3.24, False, True),
        (3.25, False, False),
    ],
)
def test_a_match_ends_at_fifteen_hundredths_and_an_offer_at_eight_percent(thickness, is_match, is_near):
    board = Board("B", "balsa", thickness, 300, 100)
    match, near = matching_boards(part(), [board])
    assert (bool(match), bool(near)) == (is_match, is_near)


def test_a_part_tied_to_a_substitute_is_weighed_nested_and_proved_on_it():
    tied = part(board="N")
    assert weigh_parts([tied], [NEAR]).chosen[0].board == "N"
    layout = nest_parts([tied], [NEAR], rules=NestRules(), max_sweeps=0, time_limit_s=None)
    assert layout.proof.is_proved
    assert [b.board for b in layout.boards] == ["N"]


def test_a_part_that_is_not_tied_does_not_take_a_substitute_unasked():
    with pytest.raises(NoSolutionError):
        nest_parts([part()], [NEAR], rules=NestRules(), max_sweeps=0, time_limit_s=None)
