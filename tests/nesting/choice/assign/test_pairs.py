"""Parts that must match come from boards that match, in every alternative, and what is left over is told."""

import itertools

import pytest

from nesting.balance.station import Seat
from nesting.choice.assign import assign_boards, make_problem
from nesting.choice.assign.pairs import Couple, couples_of, mismatch
from nesting.wood.board import Board
from vectorize.basics.errors import NoSolutionError

from .test_solve import board, part, shelves

# Room for one half on each board; the two lightest differ by 30 %, the third is near the second.
LIGHT, MIDDLE, NEAR, HARD = board("light", 3.0), board("middle", 4.0), board("near", 4.1), board("hard", 6.0)
BOARDS = (LIGHT, MIDDLE, NEAR, HARD)
HALVES = (part("wing left", 250, 90), part("wing right", 250, 90))
SEATS = {"wing left": Seat(station_mm=50.0, lateral_mm=-130.0), "wing right": Seat(station_mm=50.0, lateral_mm=130.0)}
COUPLE = Couple("wing left", "wing right", "wing left and wing right", 0.10, 260.0)


def assigned(couples=(), boards=BOARDS, best=1):
    problem = make_problem(HALVES, boards, seats=SEATS, couples=couples)
    return assign_boards(problem, lay=shelves, best=best, differing=1, time_limit_s=30.0)


def boards_of(assignment):
    return {assignment.board_of("wing left")[0], assignment.board_of("wing right")[0]}


def test_without_a_pair_the_two_lightest_are_taken():
    assert boards_of(assigned().best[0]) == {"light", "middle"}


def test_a_pair_takes_the_lightest_two_that_match():
    """Against every two boards: the least mass of those within a tenth."""
    (best,) = assigned([COUPLE]).best
    by_mass = sorted(
        (one.mass_g + other.mass_g, {one.name, other.name})
        for one, other in itertools.combinations(BOARDS, 2)
        if abs(one.mass_g - other.mass_g) / ((one.mass_g + other.mass_g) / 2) <= 0.10
    )
    assert boards_of(best) == by_mass[0][1] == {"middle", "near"}
    (pair,) = best.pairs
    assert pair.mismatch.weight == pytest.approx(0.1 / 4.05)
    assert pair.mismatch.stiffness == pytest.approx(0.1 / 4.05)  # E goes as density at one thickness
    # 250 x 90 mm of 4.0 and of 4.1 g/dm2, 130 mm out: what is left over hangs on the heavier side.
    assert abs(pair.moment_g_mm) == pytest.approx(2.25 * 0.1 * 130.0)
    assert pair.tip_weight_g == pytest.approx(2.25 * 0.1 * 130.0 / 260.0)


def test_no_alternative_mixes_what_must_match():
    boards = (*BOARDS, board("hard too", 6.2))
    report = assigned([COUPLE], boards, best=4)
    assert {frozenset(boards_of(one)) for one in report.best} <= {
        frozenset({"middle", "near"}),
        frozenset({"hard", "hard too"}),
    }
    assert len(report.best) > 1


def test_where_none_match_it_says_so():
    with pytest.raises(NoSolutionError, match="the match of wing left and wing right"):
        assigned([COUPLE], (LIGHT, MIDDLE, HARD))


def test_thickness_and_gradient_count():
    graded = Board("graded", "balsa", 3.0, 300, 100, end_readings_g=(5.0, 7.0))
    even = Board("even", "balsa", 3.0, 300, 100, mass_g=12.0)
    apart = mismatch(graded, even)
    assert apart.weight == pytest.approx(0.0)
    assert apart.gradient == pytest.approx(6 * (7 - 5) / 12 / 0.3)  # 6 (R2 - R1) / (R1 + R2), over a metre
    thick = Board("thick", "balsa", 3.0, 300, 100, measured_thickness_mm=3.1, mass_g=12.0)
    # The same weight in more thickness: E falls as density, t^3 rises, so stiffness goes as t^2.
    assert mismatch(thick, even).stiffness == pytest.approx((3.1**2 - 9) / ((3.1**2 + 9) / 2), rel=1e-6)


def test_pieces_are_matched_by_their_names():
    pieces = {"wing left": ("wing left plank 1", "wing left plank 2"), "wing right": ("wing right plank 1",)}
    (couple,) = couples_of("wing left", "wing right", pieces, within=0.1, tip_arm_mm=None)
    assert (couple.left, couple.right) == ("wing left plank 1", "wing right plank 1")
