"""Which closed loops inside a part are cut-outs, and which are lettering or marks."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np

from vectorize.curve import Points

LEAST_CIRCLE_MM = 1.5
"""A circle from this diameter is a hole: bolt holes count."""

LEAST_OTHER_MM = 4.0
"""Any other closed shape counts from this size; below it is lettering or a mark."""

_ROUND_RMS_SHARE = 0.035


@dataclass(frozen=True, slots=True)
class Mark:
    """The bounding box of something drawn, x0, y0, x1, y1."""

    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def height(self) -> float:
        """Return the extent in y."""
        return self.y1 - self.y0

    @property
    def width(self) -> float:
        """Return the extent in x."""
        return self.x1 - self.x0


@dataclass(frozen=True, slots=True)
class Guess:
    """Whether a loop is a cut-out, with the reason for the list of guesses."""

    is_cutout: bool
    reason: str


def guess_cutout(loop_mm: Points, *, own: Mark, others: Sequence[Mark]) -> Guess:
    """Return whether the closed loop `loop_mm`, (N, 2), is a cut-out.

    Args:
        loop_mm: The loop's centre line.
        own: Bounding box of the whole mark that the loop belongs to, in mm.
        others: Boxes of the other marks in the part, in mm.
    """
    (_, _), (a, b), _ = cv2.minAreaRect(loop_mm.astype(np.float32))
    long, short = max(a, b), min(a, b)
    roundness = _roundness(loop_mm)
    is_circle = roundness < _ROUND_RMS_SHARE and short > 0.85 * long
    what = f"circle of {long:.1f} mm" if is_circle else f"closed shape of {long:.1f} x {short:.1f} mm"
    if is_circle and long < LEAST_CIRCLE_MM:
        return Guess(False, f"{what}: too small for a hole")
    if not is_circle and (long < LEAST_OTHER_MM or short < LEAST_CIRCLE_MM / 2):
        return Guess(False, f"{what}: too small for a cut-out")
    fellows = _fellows(own, others)
    if fellows >= 1 and long < 12.0 and not (is_circle and fellows < 2 and long > 5.0):
        return Guess(False, f"{what}: one of a row of marks of like size, so lettering")
    return Guess(True, what)


def _roundness(points: Points) -> float:
    """Spread of the radius about its mean, as a share of it."""
    centre = (points.max(axis=0) + points.min(axis=0)) / 2
    away = np.hypot(*(points - centre).T)
    return float(np.std(away) / max(np.mean(away), 1e-9))


def _fellows(own: Mark, others: Sequence[Mark]) -> int:
    """How many marks of like size stand beside this one along a common line, near enough for lettering."""
    size = max(own.width, own.height)
    centre = ((own.x0 + own.x1) / 2, (own.y0 + own.y1) / 2)
    count = 0
    for other in others:
        if other == own:
            continue
        there = ((other.x0 + other.x1) / 2, (other.y0 + other.y1) / 2)
        like = 0.55 < max(other.width, other.height) / size < 1.8
        count += like and 0 < math.dist(centre, there) < 2.0 * size
    return count
