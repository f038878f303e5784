"""A part with what is glued on: transformed sections by hand, holes taken out, and what doubt does."""

import numpy as np
import pytest

from nesting.wood.beam import torsion_constant_mm4
from nesting.wood.estimate import Estimate
from nesting.wood.flex.built_up import Cell, built_ratio, built_stiffness, end_share, weakest_station_mm
from nesting.wood.flex.slabs import Stuff

BALSA, HARD, PLY = 2600.0, 4600.0, 9000.0


def stuff(name, e):
    value = Estimate.measured(e, 0.1 * e, f"E of {name}")
    return Stuff(name, value, value * 0.05, Estimate(150.0))


def built(e, *, stations=40, ply_to=20, hole=(), thicker=0.0):
    """A body 60 mm high of 9.5 mm with 0.8 mm ply on both faces up to a station, and a hole 20 mm high."""

    def cells(number, thick):
        spans = [(0.0, 20.0), (40.0, 60.0)] if number in hole else [(0.0, 60.0)]
        core = thick / 2
        layers = [(0, -core, core)]
        if number < ply_to:
            layers += [(1, core, core + 0.8), (1, -core - 0.8, -core)]
        return [Cell(low, high, tuple(layers)) for low, high in spans]

    woods = (stuff("core", e), stuff("ply", PLY))
    at = list(range(stations))
    return built_stiffness(
        at,
        [cells(n, 9.5) for n in at],
        {"flatwise": woods, "edgewise": woods, "twist": woods},
        thicker={"thickness": [cells(n, 9.5 + thicker) for n in at]} if thicker else {},
    )


def by_hand(e, way):
    """Transformed section: E b h^3 / 12 of each layer about the middle, edgewise and flatwise."""
    if way == "edgewise":
        return (e * 9.5 + PLY * 1.6) * 60**3 / 12
    return 60 * (e * 9.5**3 + PLY * (11.1**3 - 9.5**3)) / 12


@pytest.mark.parametrize("way", ["flatwise", "edgewise"])
def test_a_body_with_doublers_is_its_transformed_section(way):
    one, other = built(HARD), built(BALSA)
    assert other.values(way)[0] == pytest.approx(by_hand(BALSA, way), rel=1e-9)
    ratio = built_ratio(one, other, way)
    assert ratio.least.value == pytest.approx(by_hand(HARD, way) / by_hand(BALSA, way), rel=1e-9)
    # The board alone is 1.77 times as stiff; with ply on both faces the body gains far less.
    assert ratio.least.value < 1.5 < ratio.greatest.value == pytest.approx(HARD / BALSA)
    assert ratio.least_at_mm < 20 <= ratio.greatest_at_mm
    assert ratio.least.value < ratio.whole.value < ratio.greatest.value


def test_the_whole_is_the_even_bar_that_bends_as_far():
    """Springs in a row: the mean of 1/EI (standard)."""
    body = built(BALSA)
    expected = 2 / (1 / by_hand(BALSA, "flatwise") + 12 / (60 * BALSA * 9.5**3))
    assert body.whole("flatwise").value == pytest.approx(expected, rel=1e-9)


def test_a_hole_is_taken_out_and_named_the_weakest_station():
    body = built(BALSA, hole=(30,))
    assert body.values("edgewise")[30] == pytest.approx(BALSA * 9.5 * (60**3 - 20**3) / 12, rel=1e-9)
    assert body.values("flatwise")[30] == pytest.approx(BALSA * 40 * 9.5**3 / 12, rel=1e-9)
    assert weakest_station_mm(body, "edgewise") == 30


def test_the_arms_beside_an_opening_twist_as_bars_of_their_own():
    """J of a rectangle by the form in Roark's formulas; side ratio 2 gives 0.229, as tabulated (Timoshenko)."""
    assert torsion_constant_mm4(20, 10) / (20 * 10**3) == pytest.approx(0.229, abs=1e-3)
    arms = [Cell(0, 20, ((0, -5, 5),)), Cell(40, 60, ((0, -5, 5),))]
    assert end_share(arms) == pytest.approx(0.229 * 3, abs=3e-3)
    assert end_share([Cell(0, 10, ((0, -5, 5),)), Cell(10, 20, ((0, -5, 5),))]) == pytest.approx(0.229 * 3, abs=3e-3)


def test_doubt_of_what_both_share_cancels_and_thickness_counts_by_its_power():
    body = built(BALSA, ply_to=0, thicker=0.05)
    effects = dict(body.at("flatwise", 5).doubts)
    assert effects["thickness"] / body.values("flatwise")[5] == pytest.approx(3 * 0.05 / 9.5, rel=0.02)
    assert dict(body.at("edgewise", 5).doubts)["thickness"] / body.values("edgewise")[5] == pytest.approx(0.05 / 9.5)
    same = built_ratio(body, body, "flatwise")
    assert same.whole.sigma == pytest.approx(0.0, abs=1e-12)
    whole = body.whole("flatwise")
    assert whole.relative_sigma == pytest.approx(np.hypot(0.1, 3 * 0.05 / 9.5), rel=0.02)
