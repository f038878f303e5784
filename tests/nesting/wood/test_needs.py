import pytest

from nesting.wood.board import Board
from nesting.wood.needs import (
    Need,
    Substitute,
    cut_advice,
    inherited_bow_mm,
    narrowed,
    need_notes,
    offered_boards,
    why_not,
)
from nesting.wood.part import Part
from vectorize.basics.errors import PartError
from vectorize.shapes.outline import Outline

LIGHT = Board("L", "balsa", 2.4, 1000, 100, mass_g=24.0, cut="tangential")
PLY = Board("P", "birch ply", 0.8, 600, 100, mass_g=33.0)


def part(length=200.0, **more):
    return Part("doubler", Outline.rectangle(0, 0, length, 50), "balsa", 2.4, **more)


def test_bow_is_inherited_by_the_square_of_the_length():
    board = Board("B", "balsa", 2.4, 1000, 100, bow_mm=8.0)
    assert inherited_bow_mm(part(500), board) == pytest.approx(2.0)
    across = part(500, grain_deg=90.0)
    assert inherited_bow_mm(across, board) == pytest.approx(8.0 * 0.05**2)


def test_a_flatness_that_the_board_cannot_give_is_told():
    board = Board("B", "balsa", 2.4, 1000, 100, bow_mm=8.0)
    assert "bowed by 2.0 mm" in (why_not(part(500), Need(flat_mm=1.0), board) or "")
    assert why_not(part(300), Need(flat_mm=1.0), board) is None


def test_density_and_stiffness_limits_hold():
    assert "outside 120 to 200" in (why_not(part(), Need(density_kg_m3=(120, 200)), LIGHT) or "")
    assert why_not(part(), Need(density_kg_m3=(90, 120)), LIGHT) is None
    assert "67% of the stiffness" in (why_not(part(), Need(least_modulus_mpa=3000), LIGHT) or "")
    assert why_not(part(), Need(least_modulus_mpa=1500), LIGHT) is None


def test_substitutes_are_offered_beside_matches():
    need = Need(substitutes=(Substitute("ply", 0.8),))
    assert set(offered_boards(part(), need, [LIGHT, PLY])) == {"L", "P"}
    assert set(offered_boards(part(), Need(), [LIGHT, PLY])) == {"L"}
    assert set(offered_boards(part(), need, [PLY])) == {"P"}


def test_a_tie_leaves_one_board_and_a_wrong_one_is_refused():
    assert set(offered_boards(part(board="L"), Need(), [LIGHT, PLY])) == {"L"}
    assert set(offered_boards(part(board="P"), Need(substitutes=(Substitute("ply", 0.8),)), [LIGHT, PLY])) == {"P"}
    with pytest.raises(PartError, match="tied to board P"):
        offered_boards(part(board="P"), Need(), [LIGHT, PLY])
    with pytest.raises(PartError, match=r"only in 2\.4 mm"):
        offered_boards(Part("x", part().outline, "balsa", 5.0), Need(), [LIGHT, PLY])


def test_an_unsuitable_cut_is_a_warning():
    assert cut_advice(part(), Need(use="bends"), LIGHT) is None
    note = cut_advice(part(), Need(use="flat"), LIGHT)
    assert note is not None
    assert note.state == "fixed"
    assert "common practice" in note.text


@pytest.mark.parametrize("bad", [{"density_kg_m3": (200, 100)}, {"flat_mm": 0.0}, {"least_modulus_mpa": -1.0}])
def test_needs_that_nothing_can_meet_are_refused(bad):
    with pytest.raises(PartError):
        Need(**bad)


def test_a_chosen_board_that_is_not_what_the_part_asks_for_is_an_open_note():
    needs = {"doubler": Need(density_kg_m3=(150, 200), use="flat")}
    not_met, advice = need_notes([part()], [LIGHT], [("doubler", "L"), ("doubler", "L")], needs)
    assert (not_met.state, advice.state) == ("open", "fixed")
    assert "board L is 100 kg/m3" in not_met.text
    assert need_notes([part()], [LIGHT], [("doubler", "L")], {}) == ()


def test_a_part_is_tied_to_the_boards_that_meet_its_need_if_only_some_do():
    heavy = Board("H", "balsa", 2.4, 1000, 100, mass_g=40.0)
    unknown = Board("X", "balsa", 2.4, 1000, 100, mass_g=4000.0)
    rack = [LIGHT, heavy, unknown, PLY]
    dense = Need(density_kg_m3=(150, 200))
    assert narrowed(part(), dense, rack).boards == ("H",)
    assert narrowed(part(), Need(density_kg_m3=(90, 200)), rack).boards == ("L", "H")
    assert narrowed(part(), Need(density_kg_m3=(90, 200)), [LIGHT, heavy]).boards == ()
    assert narrowed(part(), Need(density_kg_m3=(300, 400)), [LIGHT, heavy]).boards == ()
    assert narrowed(part(board="L"), dense, rack).boards == ()
    assert narrowed(part(boards=("L",)), dense, rack).boards == ("L",)
