"""Which closed loops are holes."""

from __future__ import annotations

import numpy as np
import pytest

from tests.vectorize.drawing import circle_points
from vectorize.cutouts import guess_cutout

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
