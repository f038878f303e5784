"""How far a picture rounds the edges of what was drawn to whole pixels.

A grey pixel says how much of it is covered, so that edges lie where they were to a fraction of a pixel. A scan in
black and white only has none: each edge is moved to the nearest border between two pixels, for as long as a line
runs along the rows or columns always the same way.
"""

from __future__ import annotations

import numpy as np

from vectorize.ink import Ink

EVERY_ROWS = 16
"""One row in so many is looked at."""

GREY = (0.2, 0.8)
"""Shares of the usual darkness of ink between which a pixel is neither ink nor paper."""

RAMP_SHARE = 0.6
"""An edge that is spread over one whole pixel leaves so many grey pixels where a row or column goes across it."""


def rounding_px(ink: Ink) -> float:
    """Return by how many pixels the width of a drawn line may be rounded: 1 in black and white only, 0 in grey."""
    rows = np.arange(0, ink.mask.shape[0] - 1, EVERY_ROWS)
    mask, below, dark = ink.mask[rows], ink.mask[rows + 1], ink.darkness[rows]
    edges = np.count_nonzero(mask != below) + np.count_nonzero(mask[:, 1:] != mask[:, :-1])
    if edges == 0:
        return 0.0
    usual = float(np.median(dark[mask > 0])) if np.any(mask) else 255.0
    grey = np.count_nonzero((dark > GREY[0] * usual) & (dark < GREY[1] * usual))
    return max(0.0, 1.0 - grey / (RAMP_SHARE * edges))
