import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.wood.estimate import Estimate, total


def test_a_common_error_adds_up_in_full_and_others_by_their_squares():
    scale = Estimate.measured(1.0, 0.1, "scale")
    first, second = scale * 10.0, scale * 20.0
    assert (first + second).sigma == pytest.approx(3.0)
    other = Estimate.measured(10.0, 1.0, "another scale")
    assert (first + other).sigma == pytest.approx(math.sqrt(2.0))


def test_what_cancels_leaves_no_doubt():
    thickness = Estimate.measured(3.0, 0.1, "thickness")
    assert (36.0 / thickness.value * thickness / thickness).sigma == pytest.approx(0.0, abs=1e-12)
    assert (thickness - thickness).doubts == ()


def test_a_rounded_reading_has_the_sigma_of_a_uniform_error():
    # JCGM 100:2008 (GUM) 4.3.7: half-width a gives a variance of a**2 / 3.
    assert Estimate.reading(36.0, 0.5, "scale").sigma == pytest.approx(0.25 / math.sqrt(3))


@given(st.floats(0.5, 50), st.floats(0.5, 50), st.floats(0.001, 0.1), st.floats(0.001, 0.1))
def test_products_and_quotients_follow_the_law_of_relative_errors(a, b, ra, rb):
    # JCGM 100:2008 (GUM) 5.1.6: relative variances of independent factors add.
    first, second = Estimate.measured(a, a * ra, "a"), Estimate.measured(b, b * rb, "b")
    for combined in (first * second, first / second):
        assert combined.relative_sigma == pytest.approx(math.hypot(ra, rb))
    assert (first**3).relative_sigma == pytest.approx(3 * ra)


def test_a_total_equals_adding_one_by_one():
    parts = [Estimate(float(i), (("scale", 0.1 * i), (f"wood {i}", 0.2))) for i in range(1, 6)]
    one_by_one = sum(parts, Estimate(0.0))
    assert total(parts).value == pytest.approx(one_by_one.value)
    assert total(parts).sigma == pytest.approx(one_by_one.sigma)
    assert total([]).value == 0.0


def test_the_main_doubt_is_named():
    assert (Estimate.measured(1, 0.1, "scale") + Estimate.measured(1, 0.3, "rule")).main_doubt == "rule"
    assert Estimate(1.0).main_doubt is None


def test_numbers_mix_with_estimates():
    one = Estimate.measured(2.0, 0.1, "scale")
    assert (5 - one).value == 3.0
    assert (1.5 + one).value == 3.5
    assert (2 * one).sigma == pytest.approx(0.2)
