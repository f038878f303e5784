"""Which closed loops are holes."""

from __future__ import annotations

import numpy as np
import pytest

from tests.vectorize.inked_lines import circle_points
from vectorize.faces.cutouts import guess_cutout


@pytest.mark.parametrize("start", [0, 45, 90])
def test_a_circle_is_a_hole_though_a_fold_hides_one_side_of_it(start: int) -> None:
    ring = np.roll(circle_points(10.0, 10.0, 2.0), start, axis=0)
    guess = guess_cutout(ring[25:-25])
    assert guess.is_cutout
    assert guess.reason == "circle of 4.0 mm"


def test_half_a_circle_is_no_hole() -> None:
    guess = guess_cutout(circle_points(10.0, 10.0, 1.6)[:80])
    assert not guess.is_cutout


@pytest.mark.parametrize("is_touched", [False, True])
@pytest.mark.parametrize("is_round", [False, True])
def test_a_letter_of_a_word_is_no_hole_however_round_and_large(is_round: bool, is_touched: bool) -> None:
    letter = circle_points(10.0, 10.0, 5.0) * (1.0 if is_round else 0.8, 1.0)
    assert guess_cutout(letter, area_mm2=20.0, is_touched=is_touched).is_cutout
    guess = guess_cutout(letter, is_lettered=True, area_mm2=20.0, is_touched=is_touched)
    assert not guess.is_cutout
    assert "lettering" in guess.reason


@pytest.mark.parametrize(("size_mm", "is_told"), [(3.5, True), (2.2, True), (1.5, False)])
def test_a_shape_a_little_too_small_for_a_cut_out_is_doubtful_unless_it_is_a_letter(
    size_mm: float, is_told: bool
) -> None:
    side = np.linspace(0, size_mm, 20)
    none, all_ = np.zeros(20), np.full(20, size_mm)
    square = np.concatenate([
        np.stack(pair, axis=1) for pair in ((side, none), (all_, side), (side[::-1], all_), (none, side[::-1]))
    ])  # fmt: skip
    guess = guess_cutout(square)
    assert (guess.is_cutout, guess.is_doubtful) == (False, is_told)
    assert not guess_cutout(square, is_lettered=True).is_doubtful


@pytest.mark.parametrize(("radius_mm", "is_told"), [(0.65, True), (0.4, False)])
def test_a_circle_a_little_too_small_for_a_hole_is_doubtful(radius_mm: float, is_told: bool) -> None:
    guess = guess_cutout(circle_points(10.0, 10.0, radius_mm))
    assert (guess.is_cutout, guess.is_doubtful) == (False, is_told)


def test_a_bolt_hole_of_a_coarse_faint_scan_is_a_hole() -> None:
    px_mm = 25.4 / 150
    ring = circle_points(10.0, 10.0, 1.6)
    ring = ring + np.random.default_rng(4).normal(0, 0.24 * px_mm, ring.shape)
    assert guess_cutout(ring, px_mm=px_mm).is_cutout
    assert not guess_cutout(ring).is_cutout


@pytest.mark.parametrize(("radius_mm", "is_circle"), [(2.0, True), (24.0, False)])
def test_a_large_ring_drawn_by_hand_is_no_circle_though_a_line_touches_it(radius_mm: float, is_circle: bool) -> None:
    """Both wave by 1.5 % of their radius: the small one by the width of a tenth of a pen, the large one by a pen."""
    ring = circle_points(0.0, 0.0, radius_mm)
    waved = ring * (1 + 0.015 * np.sin(3 * np.arctan2(*ring.T[::-1])))[:, None]
    guess = guess_cutout(waved, is_touched=True, area_mm2=np.pi * radius_mm**2)
    assert guess.is_cutout
    assert (guess.circle is not None) == is_circle
