from __future__ import annotations

import pytest

from nesting.patterns.blades import (
    COMMON_BLADES,
    Blade,
    choose_blade,
    entry_drill_mm,
    teeth_needed,
    thickness_needed_mm,
)
from vectorize.basics.errors import InputError
from vectorize.basics.units import MM_PER_INCH

MEDIUM = Blade(0.965, 0.406, 0.556, 16.5)


# Shop magazines: two teeth in the work at all times, so TPI >= 2 / t with t in inches.
@pytest.mark.parametrize(
    ("thickness_in", "teeth"),
    [(1 / 16, 32), (3 / 32, 21.333), (1 / 8, 16), (3 / 16, 10.667), (1 / 4, 8), (1 / 2, 4)],
)
def test_two_teeth_rule(thickness_in, teeth):
    assert teeth_needed(thickness_in * MM_PER_INCH) == pytest.approx(teeth, abs=0.001)


# Derived by geometry: the diagonal of 0.965 × 0.406 mm.
def test_entry_hole_is_the_diagonal_of_the_blade():
    assert MEDIUM.entry_hole_mm == pytest.approx(1.0469, abs=0.001)
    assert entry_drill_mm(MEDIUM) == 1.2


# Derived by geometry: 0.965² / (8 · 0.15).
def test_least_radius_follows_from_width_and_clearance():
    assert MEDIUM.least_radius_mm == pytest.approx(0.776, abs=0.001)


def test_the_coarsest_blade_with_two_teeth_in_the_work_is_chosen():
    choice = choose_blade(3.175, blades=COMMON_BLADES)  # 1/8 in asks for 16 teeth per inch
    assert choice.blade.teeth_per_inch == 16.5
    assert choice.sandwich_mm == 0
    assert "16.0 teeth" in choice.reason


def test_a_tight_curve_asks_for_a_narrower_blade():
    assert choose_blade(10.0, tightest_mm=0.7, blades=COMMON_BLADES).blade.least_radius_mm <= 0.7
    assert choose_blade(10.0, tightest_mm=0.01, blades=COMMON_BLADES).blade == min(
        COMMON_BLADES, key=lambda blade: blade.least_radius_mm
    )


def test_thin_ply_is_sandwiched_until_two_teeth_are_in_the_work():
    choice = choose_blade(0.8, blades=COMMON_BLADES)
    finest = max(COMMON_BLADES, key=lambda blade: blade.teeth_per_inch)
    assert choice.blade == finest
    assert 0.8 + choice.sandwich_mm == pytest.approx(thickness_needed_mm(finest))
    assert "knife" in choice.reason


def test_a_blade_that_cannot_be_is_refused():
    with pytest.raises(InputError, match="wider"):
        Blade(1.0, 0.5, 0.5, 12)
    with pytest.raises(InputError, match="above zero"):
        Blade(1.0, 0.5, 0.6, 0)
