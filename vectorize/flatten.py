"""What must be undone before pixels are millimetres: skew, perspective, lens. Nothing is resampled.

Each correction is estimated as part of the one map from original pixels to the flat sheet.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vectorize.curve import Points

SKEW_LIMIT_DEG = 5.0
"""A sheet lies on the glass no farther askew than this; a larger angle is the drawing's own."""

_LONG_SHARE = 0.05
"""A line is long when it spans this share of the page's diagonal."""


@dataclass(frozen=True, slots=True)
class Skew:
    """The angle of the sheet on the picture and how far to trust it.

    `angle_deg` is counter-clockwise as the eye sees the picture (y down in pixels, so a line that
    rises to the right has a positive angle); `confidence` is the share of long straight length that
    agrees within 0.3 degrees, 0 where there is none.
    """

    angle_deg: float
    confidence: float
    length_px: float


def find_skew(grey: NDArray[np.uint8]) -> Skew:
    """Return the skew told by long straight lines; angle 0 and confidence 0 where there are none."""
    segments, diagonal = _straight_segments(grey)
    if len(segments) == 0:
        return Skew(0.0, 0.0, 0.0)
    delta = segments[:, 2:] - segments[:, :2]
    lengths = np.hypot(*delta.T)
    # Angle to the nearest axis, in (-45, 45]; pixels point down.
    angles = (-np.degrees(np.arctan2(delta[:, 1], delta[:, 0])) + 45.0) % 90.0 - 45.0
    usable = (lengths > _LONG_SHARE * diagonal) & (np.abs(angles) <= SKEW_LIMIT_DEG)
    total = float(np.sum(lengths[lengths > _LONG_SHARE * diagonal]))
    if not np.any(usable):
        return Skew(0.0, 0.0, 0.0)
    angle, agreeing = _mode(angles[usable], lengths[usable])
    confidence = agreeing / total
    if confidence < 0.3 or agreeing < 0.25 * diagonal:
        return Skew(0.0, confidence, agreeing)
    return Skew(angle, confidence, agreeing)


def _mode(angles: Points, weights: Points) -> tuple[float, float]:
    """The angle that most length agrees on within 0.3 degrees, refined to the weighted mean."""
    support = [float(np.sum(weights[np.abs(angles - angle) < 0.3])) for angle in angles]
    best = angles[int(np.argmax(support))]
    near = np.abs(angles - best) < 0.3
    return float(np.average(angles[near], weights=weights[near] ** 2)), float(np.sum(weights[near]))


def _straight_segments(grey: NDArray[np.uint8]) -> tuple[Points, float]:
    """Return (N, 4) straight segments x0, y0, x1, y1 on a copy of at most 2000 px, and its diagonal."""
    share = min(1.0, 2000.0 / max(grey.shape))
    small = np.asarray(cv2.resize(grey, None, fx=share, fy=share, interpolation=cv2.INTER_AREA), np.uint8)
    diagonal = math.hypot(*small.shape)
    found = cv2.createLineSegmentDetector(cv2.LSD_REFINE_STD).detect(small)[0]
    if found is None:
        return np.empty((0, 4)), diagonal
    return np.asarray(found, np.float64).reshape(-1, 4), diagonal
