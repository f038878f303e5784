"""How sure the stiffness of a built-up body is: boards are not the same from end to end."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from nesting.wood.board import BendTest, Board
from nesting.wood.density import USUAL
from tests.benchmarks.built_doubt import body, drawn_shape, errors

BOARD = Board("one", "balsa", 6.0, 1000, 100, measured_thickness_mm=6.0, mass_g=90.0)
TESTED = replace(BOARD, bend_test=BendTest(800.0, 200.0, 20.0, sag_step_mm=0.1))


def stiffness_from(board):
    shape = drawn_shape(np.random.default_rng(4))
    core = body(replace(shape, strip_mm=0.0, hole_mm=0.0, doubler_to_mm=-1.0)).layers[:1]
    plank = replace(body(shape), layers=core, stations=10)
    return plank.stiffness(SimpleNamespace(wood=USUAL), {"body": board})


def test_a_station_is_told_less_surely_than_the_whole_because_density_runs_along_a_board():
    """Balsa of one board changes by 10 % from end to end (one sigma; `gradient_spread`), half of it under this body."""
    built = stiffness_from(TESTED)
    effects = dict(built.at("edgewise", 0).doubts)
    off_middle = (250 - 25) / 1000
    assert abs(effects["gradient along body on one"]) == pytest.approx(
        0.10 * off_middle * built.values("edgewise")[0], rel=1e-6
    )
    assert built.at("edgewise", 0).relative_sigma > built.whole("edgewise").relative_sigma
    # Anywhere on the other half of the board: evenly spread over 500 mm (sigma 500 mm / root of 12).
    even = 0.10 * 0.5 / np.sqrt(12)
    assert dict(built.whole("edgewise").doubts)["place of body on one"] / built.whole(
        "edgewise"
    ).value == pytest.approx(even, rel=0.01)


def test_two_weighed_ends_narrow_the_doubt_along_the_board():
    known = replace(TESTED, end_readings_g=(45.0, 45.0))
    one, other = (stiffness_from(board).at("edgewise", 0).relative_sigma for board in (TESTED, known))
    assert other < one


def test_nearly_all_ratios_of_built_up_bodies_lie_within_two_sigma():
    """Laplace's law, outliers, gradients, waves and rounding, which sigma does not assume; of 1,000 it is 94 %.

    110 bodies, four figures each, not drawn before: half of what a normal law would leave out may be chance.
    """
    z = errors(61_803, 110)
    assert 0.91 <= np.mean(np.abs(z) < 2) <= 0.985
    assert 0.8 <= np.sqrt(np.mean(z**2)) <= 1.25
