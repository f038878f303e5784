"""Which closed loops are holes."""

from __future__ import annotations

import numpy as np
import pytest

from tests.vectorize.inked_lines import circle_points
from vectorize.faces.cutouts import guess_cutout

NO_MARKS = np.zeros((0, 4))


@pytest.mark.parametrize("start", [0, 45, 90])
def test_a_circle_is_a_hole_though_a_fold_hides_one_side_of_it(start: int) -> None:
    ring = np.roll(circle_points(10.0, 10.0, 2.0), start, axis=0)
    guess = guess_cutout(ring[25:-25], marks_mm=NO_MARKS)
    assert guess.is_cutout
    assert guess.reason == "circle of 4.0 mm"


def test_half_a_circle_is_no_hole() -> None:
    guess = guess_cutout(circle_points(10.0, 10.0, 1.6)[:80], marks_mm=NO_MARKS)
    assert not guess.is_cutout


@pytest.mark.parametrize("dpi", [150, 200, 300])
@pytest.mark.parametrize(("height_mm", "share"), [(1.8, 0.85), (1.8, 0.9), (2.5, 0.9), (3.5, 0.93)])
def test_a_round_letter_in_a_row_is_no_hole_whatever_the_noise(dpi: int, height_mm: float, share: float) -> None:
    px_mm = 25.4 / dpi
    noise = np.random.default_rng(3).normal(0, 0.1 * px_mm, (120, 2))
    turn = np.linspace(0, 2 * np.pi, 120, endpoint=False)
    letter = np.column_stack([share * np.cos(turn), np.sin(turn)]) * height_mm / 2 + noise
    beside = np.array([[-2.2, -1.0, -1.2, 1.0], [1.2, -1.0, 2.2, 1.0]]) * height_mm / 2
    for is_touched in (False, True):
        guess = guess_cutout(letter, marks_mm=beside, px_mm=px_mm, area_mm2=height_mm**2, is_touched=is_touched)
        assert not guess.is_cutout


def test_a_bolt_hole_of_a_coarse_faint_scan_is_a_hole() -> None:
    px_mm = 25.4 / 150
    ring = circle_points(10.0, 10.0, 1.6)
    ring = ring + np.random.default_rng(4).normal(0, 0.24 * px_mm, ring.shape)
    assert guess_cutout(ring, marks_mm=NO_MARKS, px_mm=px_mm).is_cutout
    assert not guess_cutout(ring, marks_mm=NO_MARKS).is_cutout
