"""A line that fades below what counts as ink is one line; paper texture, shadows and tints lead nowhere."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from vectorize.lines.faint import with_faint
from vectorize.lines.ink import find_ink
from vectorize.lines.thinning import thinned

PX_PER_MM = 8.0
PEN_PX = 4
PAPER, DARK = 230, 90
FAINT = 0.15
"""Darkness of a faint place: below the 0.16 that counts as ink anywhere, several times the noise of the paper."""


def sheet(*, faint: float = FAINT, seed: int = 1, noise: float = 2.0) -> np.ndarray:
    """Two closed squares of 60 mm, of which the right side of the first fades over 5 mm, on noisy paper."""
    grey = np.full((600, 1200), float(PAPER))
    for left in (40, 640):
        cv2.rectangle(grey, (left, 60), (left + 480, 540), float(DARK), PEN_PX)
    stretch = grey[300:340, 510:530]
    stretch[stretch < PAPER] = PAPER * (1 - faint)
    grey = cv2.GaussianBlur(grey, (0, 0), 0.8) + np.random.default_rng(seed).normal(0, noise, grey.shape)
    return np.clip(np.round(grey), 0, 255).astype(np.uint8)


def followed(grey: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The skeleton before and after."""
    ink = find_ink(grey, px_per_mm=PX_PER_MM)
    before = thinned(ink.mask)
    after, skeleton = with_faint(ink, before, pen_px=PEN_PX, px_per_mm=PX_PER_MM)
    assert np.all(after.mask[skeleton] == 1), "lines lie on ink"
    assert np.all(after.mask >= ink.mask), "no ink is lost"
    return before, skeleton


def free_ends(skeleton: np.ndarray) -> int:
    around = cv2.filter2D(skeleton.astype(np.uint8), cv2.CV_16S, np.ones((3, 3)), borderType=cv2.BORDER_CONSTANT)
    return int(np.count_nonzero(skeleton & (around == 2)))


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_line_is_followed_through_a_faint_place(seed: int) -> None:
    before, after = followed(sheet(seed=seed))
    assert free_ends(before) == 2
    assert free_ends(after) == 0
    rows, columns = np.nonzero(after & ~before)
    assert rows.min() >= 300 - PEN_PX
    assert rows.max() <= 340 + PEN_PX
    assert np.abs(columns - 520).max() <= 2


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_bare_paper_leads_nowhere(seed: int) -> None:
    before, after = followed(sheet(faint=0.0, seed=seed))
    assert free_ends(before) == 2
    assert free_ends(after) == 2
    assert np.count_nonzero(after & ~before) <= PEN_PX


def test_a_shadow_that_a_line_ends_in_is_not_followed() -> None:
    grey = sheet(faint=0.0).astype(float)
    grey[230:410, 470:570] *= 1 - FAINT  # wider than any pen
    before, after = followed(grey.astype(np.uint8))
    assert free_ends(after) == free_ends(before) == 2


def test_a_picture_in_black_and_white_stays_as_it_is() -> None:
    grey = np.where(sheet(faint=0.0, noise=0.0) < 160, 0, 255).astype(np.uint8)
    before, after = followed(grey)
    assert np.array_equal(before, after)
