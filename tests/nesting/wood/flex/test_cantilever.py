"""First modes and sags of clamped beams against closed forms and tabulated ones."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import iv, jv

from nesting.wood.flex.cantilever import Beam

BEAM = Beam.of_length(400.0)
INWARD = 1 - BEAM.points_mm / 400.0
FREQUENCY_TOL = 5e-3  # half a per cent, as the page says; the elements are ten times better


def bending(stiffness, mass):
    mode = BEAM.bending_mode(stiffness, mass)
    w = BEAM.weights_mm
    return math.sqrt((w * stiffness) @ mode.strain2 / ((w * mass) @ mode.swing2))


def twisting(stiffness, inertia):
    mode = BEAM.twisting_mode(stiffness, inertia)
    w = BEAM.weights_mm
    return math.sqrt((w * stiffness) @ mode.strain2 / ((w * inertia) @ mode.swing2))


def even(value):
    return np.full(len(BEAM.points_mm), value)


def test_an_even_cantilever_bends_and_twists_as_closed_forms_say():
    """Standard beam tables: 1.8751^2 sqrt(EI / m L^4); a clamped shaft: pi/2 sqrt(GJ / I L^2)."""
    assert bending(even(7e6), even(2e-5)) == pytest.approx(
        1.8751041**2 * math.sqrt(7e6 / (2e-5 * 400.0**4)), rel=FREQUENCY_TOL / 10
    )
    assert twisting(even(3e6), even(5e-3)) == pytest.approx(
        math.pi / 2 * math.sqrt(3e6 / (5e-3 * 400.0**2)), rel=FREQUENCY_TOL / 10
    )


@pytest.mark.parametrize(("breadth", "listed"), [(4.0, 23.289), (5.0, 24.308)])
def test_a_cantilever_tapered_both_ways_agrees_with_the_table(breadth, listed):
    """Mabie & Rogers 1972, J. Acoust. Soc. Am. 51:1771-1774, root 4 times as deep as the tip, as quoted in benchmark
    SDLL09 of VPCS: omega = lambda h1 / L^2 sqrt(E / 12 rho), h1 the depth of the tip."""
    depth, width = 2.0 * (1 + 3 * INWARD), 10.0 * (1 + (breadth - 1) * INWARD)
    e, rho = 3000.0, 1.5e-7
    found = bending(e * width * depth**3 / 12, rho * width * depth)
    assert found == pytest.approx(listed * 2.0 / 400.0**2 * math.sqrt(e / (12 * rho)), rel=FREQUENCY_TOL)


@pytest.mark.parametrize(("order", "mass_power", "known"), [(1, 1, 5.315), (2, 2, 8.719)], ids=["wedge", "cone"])
def test_a_wedge_and_a_cone_to_a_point_agree_with_their_exact_solutions(order, mass_power, known):
    """Kirchhoff's beams: J_n I_n+1 + J_n+1 I_n = 0 at z = 2 sqrt(omega sqrt(m L^4 / EI)), n = 1 wedge, 2 cone.

    The roots are those of clamped round plates (Leissa 1969, NASA SP-160, from memory): 4.611 and 5.906.
    """
    z = brentq(lambda z: jv(order, z) * iv(order + 1, z) + jv(order + 1, z) * iv(order, z), 4.0, 6.5)
    assert (z / 2) ** 2 == pytest.approx(known, abs=0.002)
    found = bending(7e6 * INWARD ** (mass_power + 2), 2e-5 * INWARD**mass_power)
    assert found == pytest.approx((z / 2) ** 2 * math.sqrt(7e6 / (2e-5 * 400.0**4)), rel=FREQUENCY_TOL)


def test_a_cone_twists_as_its_exact_solution_says():
    """GJ and inertia go as r^4; twist is that of spherical waves, tan(k L) = k L at k L = 4.4934."""
    found = twisting(3e6 * INWARD**4, 5e-3 * INWARD**4)
    assert found == pytest.approx(4.493409 * math.sqrt(3e6 / (5e-3 * 400.0**2)), rel=FREQUENCY_TOL)


def test_sags_are_those_of_standard_beam_tables():
    """P L^3 / 3EI and w L^4 / 8EI of an even cantilever; P L^3 / 2 E I0 of a wedge in breadth."""
    stiffness = even(7e6)
    points, weights = BEAM.points_mm, BEAM.weights_mm
    bent = BEAM.tip_curvature(stiffness)
    assert weights @ (bent * (400.0 - points)) == pytest.approx(400.0**3 / (3 * 7e6), rel=1e-9)
    assert weights @ (bent * BEAM.weight_moment(even(1e-3))) == pytest.approx(1e-3 * 400.0**4 / (8 * 7e6), rel=1e-3)
    assert BEAM.tip_load_shape(stiffness) @ (1e-3 * weights) == pytest.approx(1e-3 * 400.0**4 / (8 * 7e6), rel=1e-3)
    narrowing = BEAM.tip_curvature(7e6 * INWARD)
    assert weights @ (narrowing * (400.0 - points)) == pytest.approx(400.0**3 / (2 * 7e6), rel=1e-9)
