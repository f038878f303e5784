"""The skeleton is scikit-image's, pixel for pixel."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from skimage.morphology import skeletonize

from vectorize.lines.thinning import thinned


def blots(sigma_px: float) -> np.ndarray:
    """Random ink whose strokes are some sigma wide, up to the edge of the picture."""
    grey = cv2.GaussianBlur(np.random.default_rng(3).random((180, 140)), (0, 0), sigma_px)
    return (grey > np.median(grey)).astype(np.uint8)


@pytest.mark.parametrize("sigma_px", [0.6, 1.0, 2.0, 4.0, 9.0])
def test_strokes_of_every_width_are_thinned_as_scikit_image_does(sigma_px: float) -> None:
    mask = blots(sigma_px)
    # Source: skimage.morphology.skeletonize, method "zhang".
    assert np.array_equal(thinned(mask), skeletonize(mask.astype(bool), method="zhang"))


@given(arrays(np.uint8, (9, 9), elements=st.integers(0, 1)))
def test_any_little_pattern_is_thinned_as_scikit_image_does(mask: np.ndarray) -> None:
    # Source: skimage.morphology.skeletonize, method "zhang".
    assert np.array_equal(thinned(mask), skeletonize(mask.astype(bool), method="zhang"))


def test_the_mask_is_left_as_it_was() -> None:
    mask = blots(2.0)
    before = mask.copy()
    thinned(mask)
    assert np.array_equal(mask, before)


def test_paper_without_ink_has_no_skeleton() -> None:
    assert not thinned(np.zeros((5, 7), np.uint8)).any()
