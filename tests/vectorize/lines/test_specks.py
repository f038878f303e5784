"""Specks and pinholes go by their size, measured as OpenCV measures connected components."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from vectorize.lines.specks import without_pinholes, without_specks


def sprinkled(seed: int) -> np.ndarray:
    """Ink in crumbs and blots of every size; most of it falls apart or touches at corners."""
    random = np.random.default_rng(seed)
    grey = cv2.GaussianBlur(random.random((150, 110)), (0, 0), random.uniform(0.3, 2.0))
    return (grey > np.quantile(grey, random.uniform(0.3, 0.8))).astype(np.uint8)


@pytest.mark.parametrize("seed", range(8))
def test_a_speck_is_what_opencv_finds_in_a_small_box(seed: int) -> None:
    mask, side_px = sprinkled(seed), 1.5 + seed
    # Source: cv2.connectedComponentsWithStats, 8-connected.
    _, labels, stats, _ = cv2.connectedComponentsWithStats(mask, connectivity=8)
    is_kept = np.maximum(stats[:, cv2.CC_STAT_WIDTH], stats[:, cv2.CC_STAT_HEIGHT]) >= side_px
    is_kept[0] = False
    assert np.array_equal(without_specks(mask, side_px=side_px), is_kept[labels])


@pytest.mark.parametrize("seed", range(8))
def test_a_pinhole_is_what_opencv_finds_of_small_area(seed: int) -> None:
    mask, area_px = sprinkled(seed), 0.5 + 3.0 * seed
    # Source: cv2.connectedComponentsWithStats, 4-connected, of the paper.
    _, labels, stats, _ = cv2.connectedComponentsWithStats(1 - mask, connectivity=4)
    is_ink = stats[:, cv2.CC_STAT_AREA] <= area_px
    is_ink[0] = True
    assert np.array_equal(without_pinholes(mask, area_px=area_px), is_ink[labels])


def test_a_mask_is_left_as_it_was() -> None:
    mask = sprinkled(1)
    before = mask.copy()
    without_specks(mask, side_px=4.0)
    without_pinholes(mask, area_px=9.0)
    assert np.array_equal(mask, before)
