"""Which closed loops inside a part are cut-outs, and which are lettering or marks."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np

from vectorize.shapes.primitives import Round, fit_circle
from vectorize.shapes.segment import Points

LEAST_CIRCLE_MM = 1.47
"""A circle from a diameter of 1.5 mm is a hole: bolt holes count. The rest is for a scale that is a little off."""

LEAST_OTHER_MM = 4.0
"""Any other closed shape counts from this size; below it is lettering or a mark."""

LEAST_TOLD_CIRCLE_MM, LEAST_TOLD_MM = 1.0, 2.0
"""Below these a loop that is none is a speck or a dot, and nobody is told of it."""

LETTER_MM = 12.0
"""Lettering is no taller than this."""

_ROUND_SHARE, _ROUND_MM = 0.02, 0.06
"""The points of a circle lie off it by no more than this share of its radius, and no more than so far: a ring of 48 mm
that was drawn by hand is none."""

_ROUND_PX = 0.25
_KEPT_SHARE = 0.85

LEAST_CIRCLE_SHARE = 0.7
"""A hole that a line touches still encloses this share of its circle; a bay between an arc and a line has a half."""


@dataclass(frozen=True, slots=True)
class Guess:
    """Whether a loop is a cut-out, how long and wide it is, and why it is none; `circle` is what a line has disturbed.

    A circle `is_round`. What is no cut-out `is_doubtful` if its size would be that of one, or nearly so where it stands
    in no word.
    """

    is_cutout: bool
    size_mm: tuple[float, float]
    why_not: str = ""
    circle: Round | None = None
    is_doubtful: bool = False
    is_round: bool = False

    @property
    def what(self) -> str:
        """Return what the loop is, in words."""
        long, short = self.size_mm
        return f"circle of {long:.1f} mm" if self.is_round else f"closed shape of {long:.1f} x {short:.1f} mm"

    @property
    def reason(self) -> str:
        """Return what the loop is and why it is no cut-out, for the list of guesses."""
        return f"{self.what}: {self.why_not}" if self.why_not else self.what


def guess_cutout(
    loop_mm: Points,
    *,
    is_lettered: bool = False,
    px_mm: float = 0.0,
    area_mm2: float | None = None,
    is_touched: bool = False,
) -> Guess:
    """Return whether the closed loop `loop_mm`, (N, 2), is a cut-out.

    Args:
        loop_mm: The loop's measured centre line, where nothing disturbs it.
        is_lettered: Whether the loop stands in a word as a letter does.
        px_mm: Size of a pixel, whose noise a small circle feels most.
        area_mm2: What the whole loop encloses, where that is known.
        is_touched: Whether another line meets the loop, and may have pulled a part of it aside.
    """
    (_, _), (a, b), _ = cv2.minAreaRect(loop_mm.astype(np.float32))
    long, short = max(a, b), min(a, b)
    circle = _circle(loop_mm) if is_touched else fit_circle(loop_mm)
    # A disturbed side is left out of the points, so that they need not span the whole circle.
    is_circle = (
        circle is not None
        and (short > 0.75 * long or _is_nearly_whole(loop_mm, circle, area_mm2))
        and _is_round(loop_mm, circle, px_mm, _KEPT_SHARE if is_touched else 1.0)
    )
    if circle is not None and is_circle:
        long = short = 2 * circle.radius
    size = (long, short)
    if is_circle and long < LEAST_CIRCLE_MM:
        is_doubtful = long >= LEAST_TOLD_CIRCLE_MM and not is_lettered
        return Guess(False, size, "too small for a hole", is_doubtful=is_doubtful, is_round=True)
    if not is_circle and (long < LEAST_OTHER_MM or short < LEAST_CIRCLE_MM / 2):
        return Guess(False, size, "too small for a cut-out", is_doubtful=long >= LEAST_TOLD_MM and not is_lettered)
    if is_lettered:
        return Guess(False, size, "it stands in a word, so lettering", is_doubtful=True, is_round=is_circle)
    return Guess(True, size, circle=circle if is_circle and is_touched else None, is_round=is_circle)


def _circle(points: Points) -> Round | None:
    """Return the circle through the points that a line which touches it has not pulled aside."""
    circle = fit_circle(points)
    for _ in range(2):
        if circle is None:
            break
        away = np.abs(circle.distances(points))
        circle = fit_circle(points[away <= np.quantile(away, _KEPT_SHARE)]) or circle
    return circle


def _is_round(points: Points, circle: Round, px_mm: float, kept: float) -> bool:
    """Whether the share `kept` of points that lie nearest a circle is on it, but for a little of its radius."""
    away = np.sort(np.abs(circle.distances(points)))[: math.ceil(kept * len(points))]
    return float(np.sqrt(np.mean(away**2))) < math.hypot(
        min(_ROUND_SHARE * circle.radius, _ROUND_MM), _ROUND_PX * px_mm
    )


def _is_nearly_whole(points: Points, circle: Round, area_mm2: float | None) -> bool:
    """Return whether points reach round more than half a circle, and their loop encloses most of it."""
    angles = np.sort(np.arctan2(*(points - circle.centre).T[::-1]))
    widest = float(np.max(np.diff(angles, append=angles[0] + 2 * np.pi)))
    share = 0.0 if area_mm2 is None else area_mm2 / (np.pi * circle.radius**2)
    return widest < np.pi and share > LEAST_CIRCLE_SHARE
