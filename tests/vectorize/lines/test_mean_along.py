"""The mean of what edges carry, by their lengths."""

import numpy as np
import pytest

from vectorize.lines.graph import mean_along


def test_longer_edges_count_for_more():
    assert mean_along(np.array([1.0, 4.0]), np.array([2.0, 1.0])) == pytest.approx(2.0)


def test_edges_of_one_pixel_have_no_length_and_still_a_mean():
    assert mean_along(np.array([1.0, 4.0]), np.zeros(2)) == pytest.approx(2.5)
