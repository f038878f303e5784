import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.carve.section import HighPoint
from vectorize.basics.errors import PartError


@pytest.mark.parametrize("is_flat", [False, True])
def test_it_is_highest_and_level_at_the_high_point(is_flat: bool) -> None:
    section = HighPoint(0.10, high_at=0.30, nose=0.012, trailing=0.01, is_flat_bottomed=is_flat)
    upper, lower = section.heights(np.array([0.3 - 1e-4, 0.3, 0.3 + 1e-4]))
    assert upper[1] - lower[1] == pytest.approx(0.10)
    assert np.all(np.abs(np.diff(upper)) < 1e-6)
    assert section.high_point == 0.30


def test_the_nose_has_the_radius_asked_for() -> None:
    section = HighPoint(0.10, nose=0.012)
    x = 1e-8
    (upper,), _ = section.heights(np.array([x]))
    assert upper**2 / (2 * x) == pytest.approx(0.012, rel=1e-3)  # y² = 2 r x near the nose


def test_a_flat_bottom_is_flat_behind_its_round_nose() -> None:
    section = HighPoint(0.10, nose=0.012, is_flat_bottomed=True)
    upper, lower = section.heights(np.array([0.0, 0.012, 0.5, 1.0]))
    assert lower == pytest.approx([0.012, 0, 0, 0])
    assert upper[0] == pytest.approx(0.012)
    assert upper[-1] == pytest.approx(0.01)


def test_area_is_the_closed_form() -> None:
    # Front: rise·h·(2a/3 + b/2 + c/3); back: (1-h)·(t/2 - (t/2 - e/2)/3), twice; worked by hand from the definition.
    t, h, r, e = 0.12, 0.35, 0.01, 0.008
    a = math.sqrt(2 * r * h) / (t / 2)
    front = t / 2 * h * (2 * a / 3 + (2 - 1.5 * a) / 2 + (a / 2 - 1) / 3)
    back = (1 - h) * (t / 2 - (t / 2 - e / 2) / 3)
    assert HighPoint(t, h, r, e).area == pytest.approx(2 * (front + back), rel=1e-5)


@given(thickness=st.floats(0.04, 0.2), high_at=st.floats(0.2, 0.5), nose=st.floats(0.002, 0.02), flat=st.booleans())
def test_the_top_rises_to_the_high_point_and_falls_behind_it(
    thickness: float, high_at: float, nose: float, flat: bool
) -> None:
    try:
        section = HighPoint(thickness, high_at, nose, thickness / 10, flat)
    except PartError:
        return
    upper = section.heights(np.linspace(0, 1, 400))[0]
    rises = np.diff(upper)
    x = np.linspace(0, 1, 400)
    assert np.all(rises[x[1:] <= high_at] >= -1e-12)
    assert np.all(rises[x[:-1] >= high_at] <= 1e-12)


@pytest.mark.parametrize(
    ("section", "words"),
    [
        ({"thickness": 0.05, "trailing": 0.06}, "trailing edge of 6.00 %"),
        ({"thickness": 0.05, "nose": 0.2}, "nose radius of 20.00 %"),
        ({"thickness": 0.10, "high_at": 0.99}, "high point at 99 %"),
        ({"thickness": 0.05, "nose": 0.05, "is_flat_bottomed": True}, "nose radius of 5.00 %"),
    ],
)
def test_what_cannot_be_carved_is_refused_with_the_numbers(section: dict[str, float], words: str) -> None:
    with pytest.raises(PartError, match=words):
        HighPoint(**section)


def test_a_thinner_section_has_a_nose_to_match() -> None:
    thin = HighPoint(0.10, nose=0.01).resized(thickness=0.05)
    assert (thin.thickness, thin.nose) == (0.05, 0.0025)
