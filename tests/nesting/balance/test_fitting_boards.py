"""A board that a part cannot lie on is proposed nowhere: weights, choice, comparison, assignment."""

from dataclasses import replace

import pytest

from nesting.balance.choose import choose_boards
from nesting.balance.ledger import Ledger, entry
from nesting.balance.weights import weigh_parts
from nesting.choice.assign import make_problem
from nesting.choice.compare import compare_boards
from nesting.place.layout_rules import NestRules
from nesting.place.lies import lies_on
from nesting.place.nest_parts import nest_parts
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.shapes.outline import Outline

# A wing of 142 mm chord; the lighter board is 100 mm wide. 300 x 142 mm of 8 mm: 300 x 142 x 60/80000 g by hand.
RULES = NestRules.for_tool("saw")
LIES = lies_on(RULES)
WING = Part("wing", Outline.rectangle(0, 0, 300, 142), "balsa", 8.0, is_grain_assumed=False)
NARROW = Board("N", "balsa", 8.0, 1000.0, 100.0, mass_g=70.0)
WIDE = Board("W", "balsa", 8.0, 1000.0, 150.0, mass_g=150.0)
WIDE_G = 300 * 142 / (1000 * 150) * 150.0


def test_the_weight_is_that_of_the_board_that_the_part_is_laid_on():
    before = weigh_parts([WING], [NARROW, WIDE], lies=LIES)
    assert [weight.board for weight in before.weights] == ["W"]
    layout = nest_parts([WING], [NARROW, WIDE], rules=RULES, time_limit_s=None, max_sweeps=5)
    after = weigh_parts([WING], [NARROW, WIDE], layout=layout, lies=LIES)
    assert before.total().value == pytest.approx(WIDE_G)
    assert after.total().value == pytest.approx(WIDE_G)


def test_a_part_that_lies_on_no_board_is_told_and_weighs_nothing():
    table = weigh_parts([WING], [NARROW], lies=LIES)
    assert table.chosen == ()
    (note,) = [note for note in table.notes if note.code == "fits-no-board"]
    assert note.state == "open"
    assert "142.0 mm across the grain, and cannot lie on N" in note.text
    tied = weigh_parts([replace(WING, board="N")], [NARROW, WIDE], lies=LIES)
    assert tied.chosen == ()


def test_what_is_cut_already_needs_no_board_that_holds_it():
    table = weigh_parts([replace(WING, weighed_g=41.0)], [NARROW], lies=LIES, done={"wing"})
    assert table.total().value == pytest.approx(41.0)
    laid = weigh_parts([WING], [NARROW, WIDE], chosen={("wing", 1): "N"}, lies=LIES)
    assert [weight.board for weight in laid.chosen] == ["N"]


def test_the_choice_offers_the_board_that_holds_it_first():
    (pick,) = choose_boards([WING], [NARROW, WIDE], lies=LIES).picks
    assert pick.boards == ("W",)
    assert choose_boards([WING], [NARROW, WIDE]).picks[0].boards == ("N", "W")
    # Where there is no other, nesting is given it and says why it does not do.
    assert choose_boards([WING], [NARROW], lies=LIES).picks[0].boards == ("N",)


def test_a_comparison_gives_no_balance_for_it_and_holds_the_others_against_one_that_fits():
    other = Board("H", "balsa", 8.0, 1000.0, 150.0, mass_g=180.0)
    ledgers = {name: Ledger((entry("wing", mass, 100.0),)) for name, mass in (("N", 30.0), ("W", 43.0), ("H", 51.0))}
    comparison = compare_boards(
        WING, [NARROW, WIDE, other], fits={"N": False, "W": True, "H": True}, ledgers=ledgers
    )  # fmt: skip
    by_name = {candidate.board.name: candidate for candidate in comparison.candidates}
    assert by_name["N"].balanced is None
    assert by_name["W"].balanced is not None
    assert by_name["W"].stiffness_ratio.value == pytest.approx(1.0)
    assert comparison.advice.startswith("Take W for wing")
    assert comparison.as_json()["boards"][0]["balance_mm"] is None


def test_an_assignment_takes_no_board_that_cannot_hold_the_part():
    problem = make_problem([WING], [NARROW, WIDE], lies=LIES)
    objections = {option.board: option.objection for option in problem.units[0].options}
    assert objections == {"N": "it cannot lie on N", "W": None}
