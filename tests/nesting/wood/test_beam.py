"""Worked cases; each was computed from the formula named beside it, with the formula's source in nesting.wood.beam."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.wood.beam import (
    cantilever_sag_mm,
    cantilever_stress_mpa,
    centre_load_sag_mm,
    centre_load_stress_mpa,
    equal_stiffness_thickness,
    equal_stiffness_weight_ratio,
    equal_weight_stiffness_ratio,
    equal_weight_strength_ratio,
    hankinson,
    modulus_from_sag_mpa,
    own_weight_sag_mm,
    ply_share,
    second_moment_mm4,
    shear_factor,
)
from vectorize.basics.errors import CallError
from vectorize.basics.units import KG_M3_PER_LB_FT3, STANDARD_GRAVITY

REL = 1e-6  # digits that the worked cases are given to


@pytest.mark.parametrize(
    ("width", "height", "span", "load", "modulus", "sag"),
    [  # derived from D = P L^3 / (48 E I); E in Record, The Mechanical Properties of Wood, Stiffness of beams
        (10, 3, 200, 1.0, 3400, 2.1786492),
        (100, 2, 400, 0.5, 4000, 2.5),
        (75, 3, 600, 0.980665, 3000, 8.7170222),
        (76.2, 3.175, 762, 0.980665, 3000, 14.8258016),
    ],
)
def test_three_point_bending_and_back(width, height, span, load, modulus, sag):
    moment = second_moment_mm4(width, height)
    assert centre_load_sag_mm(load, span, modulus, moment) == pytest.approx(sag, rel=REL)
    assert modulus_from_sag_mpa(load, span, width, height, sag) == pytest.approx(modulus, rel=REL)


def test_three_point_stress():
    assert second_moment_mm4(10, 3) == pytest.approx(22.5)
    assert centre_load_stress_mpa(1.0, 200, 10, 3) == pytest.approx(3.3333333, rel=REL)
    assert centre_load_stress_mpa(0.5, 400, 100, 2) == pytest.approx(0.75, rel=REL)


@pytest.mark.parametrize(
    ("width", "height", "length", "load", "modulus", "sag"),
    [(10, 3, 100, 0.5, 3400, 2.1786492), (6, 6, 200, 1.0, 10800, 2.2862369)],  # D = P L^3 / (3 E I), beam tables
)
def test_cantilever(width, height, length, load, modulus, sag):
    assert cantilever_sag_mm(load, length, modulus, second_moment_mm4(width, height)) == pytest.approx(sag, rel=REL)


def test_cantilever_stress():
    assert cantilever_stress_mpa(1.0, 200, 6, 6) == pytest.approx(5.5555556, rel=REL)


def test_own_weight():
    # An eighth by three inch strip of 8 lb/ft3 over 762 mm, E 3000 MPa: D = 5 w L^4 / (384 E I), beam tables.
    weight = 8 * KG_M3_PER_LB_FT3 * 1e-9 * 76.2 * 3.175 * STANDARD_GRAVITY
    sag = own_weight_sag_mm(weight, 762, 3000, second_moment_mm4(76.2, 3.175))
    assert sag == pytest.approx(2.1890853, rel=1e-5)


def test_overhangs_that_balance_the_span_lift_it_flat():
    # Mid-span slope-free: with a^2 / 16 = 5 L^2 / 384 the two terms cancel (a = 0.456 L), statics of beam tables.
    overhang = 100 * (16 * 5 / 384) ** 0.5
    assert own_weight_sag_mm(1e-3, 100, 3000, 100, overhang_mm=overhang) == pytest.approx(0.0, abs=1e-12)


def test_shear():
    # 1 + 1.2 (E/G) (h/L)^2 with G/E = 0.04: energy method, exact.
    assert shear_factor(1, 20, 0.04) == pytest.approx(1.075, rel=1e-12)
    assert shear_factor(1, 50, 0.04) == pytest.approx(1.012, rel=1e-12)


@pytest.mark.parametrize(("angle", "share"), [(5, 0.8028208), (10, 0.506337), (45, 0.0582524)])
def test_hankinson(angle, share):
    # Hankinson's equation with s0 = 1, s90 = 0.03, n = 2.
    assert hankinson(1, 0.03, angle) == pytest.approx(share, rel=REL)
    assert hankinson(1, 0.03, -angle) == pytest.approx(share, rel=REL)


def test_hankinson_ends_at_its_two_values_and_needs_both():
    assert hankinson(10, 0.3, 0) == pytest.approx(10)
    assert hankinson(10, 0.3, 90) == pytest.approx(0.3)
    with pytest.raises(CallError):
        hankinson(10, 0, 45)


@pytest.mark.parametrize(
    ("plies", "along", "across"), [(3, 0.9648148, 0.0851852), (5, 0.8024, 0.2476), (7, 0.7258017, 0.3241983)]
)
def test_ply_lay_up(plies, along, across):
    # Equal plies, E across 0.05 of E along: 26/27, 99/125, 244/343 of I run along; derived.
    assert ply_share(plies, 0.05) == pytest.approx(along, rel=REL)
    assert ply_share(plies, 0.05, is_along_face=False) == pytest.approx(across, rel=REL)


def test_one_ply_is_the_veneer_and_an_even_number_is_refused():
    assert ply_share(1, 0.05) == pytest.approx(1.0)
    with pytest.raises(CallError, match="odd"):
        ply_share(4, 0.05)


def test_half_the_density_at_equal_weight_is_four_times_as_stiff_and_twice_as_strong():
    # E and strength in proportion to density; derived, exact.
    assert equal_weight_stiffness_ratio(0.5, 0.5, "flatwise") == pytest.approx(4.0, rel=1e-12)
    assert equal_weight_strength_ratio(0.5, 0.5, "flatwise") == pytest.approx(2.0, rel=1e-12)


def test_half_the_density_at_equal_stiffness_is_a_quarter_thicker_and_a_third_lighter():
    assert equal_stiffness_thickness(1.0, 2.0, 1.0, "flatwise") == pytest.approx(1.2599210, rel=1e-7)
    assert equal_stiffness_weight_ratio(0.5, 0.5, "flatwise") == pytest.approx(0.6299605, rel=1e-7)


@given(st.floats(0.3, 3.0))
def test_edgewise_density_buys_stiffness_in_proportion_and_no_more(ratio):
    assert equal_weight_stiffness_ratio(ratio, ratio, "edgewise") == pytest.approx(1.0)
    assert equal_stiffness_weight_ratio(ratio, ratio, "edgewise") == pytest.approx(1.0)
