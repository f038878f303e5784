from nesting.balance.choose import choose_boards
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.shapes.outline import Outline

LIGHT = Board("L", "balsa", 3.0, 1000, 100, mass_g=36.0)
HEAVY = Board("H", "balsa", 3.0, 1000, 100, mass_g=60.0)
OFFCUT = Board("O", "balsa", 3.0, 300, 50, mass_g=7.5)
NEAR = Board("N", "balsa", 3.175, 1000, 100, mass_g=40.0)


def part(**more) -> Part:
    return Part("rib", Outline.rectangle(0, 0, 200, 50), "balsa", 3.0, **more)


def test_each_preference_orders_boards_its_own_way_and_says_why():
    rack = [HEAVY, OFFCUT, LIGHT]
    assert choose_boards([part()], rack, prefer="light").order_for("rib") == ("L", "O", "H")
    assert choose_boards([part()], rack, prefer="stiff").order_for("rib") == ("H", "O", "L")
    assert choose_boards([part()], rack, prefer="offcuts").order_for("rib")[0] == "O"
    assert "lightest of 3" in choose_boards([part()], rack).picks[0].reason


def test_a_tie_beats_every_preference():
    choice = choose_boards([part(board="H")], [HEAVY, LIGHT])
    assert choice.order_for("rib") == ("H",)
    assert choice.boards == (HEAVY,)


def test_only_boards_that_some_part_needs_are_given_to_the_nesting():
    ply = Board("P", "birch ply", 0.8, 300, 300, mass_g=50.0)
    assert [board.name for board in choose_boards([part()], [ply, HEAVY, LIGHT]).boards] == ["L", "H"]


def test_a_substitute_is_offered_in_an_open_note():
    choice = choose_boards([part()], [NEAR])
    assert choice.order_for("rib") == ()
    assert [note.state for note in choice.notes] == ["open"]
    assert "N (3.175 mm)" in choice.notes[0].text


def test_a_part_that_no_board_can_make_is_left_open():
    choice = choose_boards([part()], [Board("T", "balsa", 10.0, 1000, 100)])
    assert choice.picks == ()
    assert choice.notes[0].part == "rib"


def test_a_part_that_may_come_from_some_boards_gets_the_best_of_them():
    choice = choose_boards([part(boards=("H", "O"))], [HEAVY, OFFCUT, LIGHT])
    assert choice.order_for("rib") == ("O", "H")
    assert "lightest of 2 that will do" in choice.picks[0].reason
    assert choose_boards([part(boards=("N",))], [LIGHT, NEAR]).order_for("rib") == ()
