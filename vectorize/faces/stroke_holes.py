"""Which closed loops inside a drawn part are cut-outs; lettering and small marks are not."""

from __future__ import annotations

import math

import numpy as np

from vectorize.faces.cutouts import LEAST_CIRCLE_MM, LEAST_OTHER_MM, LETTER_MM
from vectorize.shapes.outline import Ring
from vectorize.shapes.segment import Points

ROUND_QUOTIENT = 0.995
"""Area against the circle of the same length, from which a ring is round: a scale may stretch it a little."""


def guess_hole(ring_mm: Ring, *, own: int, boxes_mm: Points) -> tuple[bool, str]:
    """Return whether a ring is a cut-out, and what it is in words.

    Circles count from 1.5 mm, other shapes from 4 mm unless they stand in a row of like-sized marks.

    Args:
        ring_mm: The ring, exactly.
        own: Number of the mark (all that hangs together) that it belongs to.
        boxes_mm: (M, 4) boxes x0, y0, x1, y1 of all marks.
    """
    width, height = np.ptp(ring_mm.flattened(0.01), axis=0)
    if 4 * math.pi * abs(ring_mm.signed_area_mm2) > ROUND_QUOTIENT * ring_mm.perimeter_mm**2:
        diameter = (width + height) / 2
        return diameter >= LEAST_CIRCLE_MM, f"circle of {diameter:.2f} mm"
    what = f"closed shape of {width:.1f} x {height:.1f} mm"
    is_large = max(width, height) >= LEAST_OTHER_MM and min(width, height) >= LEAST_CIRCLE_MM / 2
    is_letter = max(width, height) < LETTER_MM and _stands_in_a_row(own, boxes_mm)
    return is_large and not is_letter, what


def _stands_in_a_row(own: int, boxes: Points) -> bool:
    """Return whether another mark of like size stands near enough to be the next letter."""
    size = np.max(boxes[:, 2:] - boxes[:, :2], axis=1)
    away = np.hypot(*((boxes[:, :2] + boxes[:, 2:]) / 2 - (boxes[own, :2] + boxes[own, 2:]) / 2).T)
    is_like = (size > 0.6 * size[own]) & (size < 1.6 * size[own])
    return bool(np.any(is_like & (away > 0) & (away < 2.0 * size[own])))
