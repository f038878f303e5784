"""How far a picture rounds the edges of what was drawn to whole pixels.

A grey pixel says how much of it is covered, so that edges lie where they were to a fraction of a pixel. A scan in
black and white only has none: each edge is moved to the nearest border between two pixels, for as long as a line
runs along the rows or columns always the same way.
"""

from __future__ import annotations

import numpy as np

from vectorize.lines.ink import Ink

EVERY_ROWS = 16
"""One row in so many is looked at."""

GREY = (0.2, 0.8)
"""Shares of the usual darkness of ink between which a pixel is neither ink nor paper."""

STRAY_SHARE = 0.02
"""So many grey pixels for each place where ink begins or ends leave a picture one in black and white."""

RAMP_SHARE = 0.6
"""An edge that is spread over one whole pixel leaves so many grey pixels where a row or column goes across it."""


def rounding_px(ink: Ink) -> float:
    """Return by how many pixels the width of a drawn line may be rounded: 1 in black and white only, 0 in grey."""
    grey, edges = _grey_and_edges(ink)
    return max(0.0, 1.0 - grey / (RAMP_SHARE * edges)) if edges else 0.0


def is_black_and_white(ink: Ink) -> bool:
    """Whether every pixel of a picture is either black or white."""
    grey, edges = _grey_and_edges(ink)
    return edges > 0 and grey < STRAY_SHARE * edges


def _grey_and_edges(ink: Ink) -> tuple[int, int]:
    """Count, in a few rows, the pixels that are neither ink nor paper, and the places where ink begins or ends."""
    rows = np.arange(0, ink.mask.shape[0] - 1, EVERY_ROWS)
    mask, below, dark = ink.mask[rows], ink.mask[rows + 1], ink.darkness[rows]
    edges = np.count_nonzero(mask != below) + np.count_nonzero(mask[:, 1:] != mask[:, :-1])
    usual = float(np.median(dark[mask > 0])) if np.any(mask) else 255.0
    return int(np.count_nonzero((dark > GREY[0] * usual) & (dark < GREY[1] * usual))), int(edges)
