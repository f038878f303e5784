"""What must be undone before pixels are millimetres: skew and perspective. Nothing is resampled.

Each correction is estimated as part of the one map from original pixels to the flat sheet.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

from vectorize.basics.errors import ScaleError
from vectorize.shapes.segment import Point, Points

if TYPE_CHECKING:
    from vectorize.scale.lens import Lens

SKEW_LIMIT_DEG = 5.0
"""A sheet lies on the glass no farther askew than this; a larger angle is the drawing's own."""

_BULGE_SHARE = 0.03
"""A lens bends the side of a sheet by less than this share of its length."""

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


def find_skew(grey: NDArray[np.uint8]) -> Skew:
    """Return the skew told by long straight lines; angle 0 and confidence 0 where there are none."""
    segments, diagonal = _straight_segments(grey)
    if len(segments) == 0:
        return Skew(0.0, 0.0)
    delta = segments[:, 2:] - segments[:, :2]
    lengths = np.hypot(*delta.T)
    # Angle to the nearest axis, in (-45, 45]; pixels point down.
    angles = (-np.degrees(np.arctan2(delta[:, 1], delta[:, 0])) + 45.0) % 90.0 - 45.0
    usable = (lengths > _LONG_SHARE * diagonal) & (np.abs(angles) <= SKEW_LIMIT_DEG)
    total = float(np.sum(lengths[lengths > _LONG_SHARE * diagonal]))
    if not np.any(usable):
        return Skew(0.0, 0.0)
    angle, agreeing = _mode(angles[usable], lengths[usable])
    confidence = agreeing / total
    if confidence < 0.3 or agreeing < 0.25 * diagonal:
        return Skew(0.0, confidence)
    return Skew(angle, confidence)


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


def sheet_map(corners: Sequence[Point], sheet_mm: tuple[float, float]) -> Points:
    """Return the 3 x 3 map from pixels to mm on a sheet, y up, its lower left corner at the origin.

    The corners may come in any direction and begin anywhere, as long as they go round; the sheet's longer side is
    laid along the longer pair of sides that the picture shows.

    Raises:
        ScaleError: The corners cross over (a bow-tie), lie in line, or the sheet has no size.
    """
    points = np.asarray(corners, np.float64)
    if points.shape != (4, 2) or min(sheet_mm) <= 0:
        raise ScaleError("four corners and a sheet with two sides are needed to flatten a photo.")
    turns = [_cross(points[k - 1], points[k], points[(k + 1) % 4]) for k in range(4)]
    if not (min(turns) > 0 or max(turns) < 0):
        raise ScaleError("the four corners do not go round the sheet; give them in order, one after the other.")
    if turns[0] < 0:
        points = points[::-1]
    # Clockwise on the picture from the upper left.
    points = np.roll(points, -int(np.argmin(points.sum(axis=1))), axis=0)
    across = math.dist(points[0], points[1]) + math.dist(points[3], points[2])
    down = math.dist(points[0], points[3]) + math.dist(points[1], points[2])
    long, short = max(sheet_mm), min(sheet_mm)
    w, h = (long, short) if across >= down else (short, long)
    target = np.array([(0, h), (w, h), (w, 0), (0, 0)], np.float32)
    return np.asarray(cv2.getPerspectiveTransform(points.astype(np.float32), target), np.float64)


def _cross(before: Points, at: Points, after: Points) -> float:
    (ax, ay), (bx, by) = at - before, after - at
    return float(ax * by - ay * bx)


def corners_of(sides: Sequence[Points], lens: Lens | None = None) -> tuple[Point, ...]:
    """Return where the four sides of a sheet, given by points along each, meet."""
    lines = [_line_through(side if lens is None else lens.straightened(side)) for side in sides]
    found = []
    for one, other in zip((lines[-1], *lines), lines, strict=False):
        corner = np.linalg.solve(np.array([one[:2], other[:2]]), np.array([one[2], other[2]]))
        x, y = (corner if lens is None else lens.bent(corner)[0]).tolist()
        found.append((float(x), float(y)))
    return tuple(found)


def sheet_sides(grey: NDArray[np.uint8]) -> tuple[Points, ...] | None:
    """Return pixels along the four sides, (N, 2) each, of a light sheet on a darker ground, None where none stands out.

    The outline of the largest light area is cut at its four corners.
    """
    share = min(1.0, 1500.0 / max(grey.shape))
    small = cv2.resize(grey, None, fx=share, fy=share, interpolation=cv2.INTER_AREA)
    closed = cv2.morphologyEx(cv2.GaussianBlur(small, (5, 5), 0), cv2.MORPH_CLOSE, np.ones((15, 15), np.uint8))
    _, mask = cv2.threshold(closed, 0, 255, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    contours, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    largest = max(contours, key=cv2.contourArea, default=None)
    if largest is None or cv2.contourArea(largest) < 0.25 * mask.size:
        return None
    hull = cv2.convexHull(largest)
    rough = cv2.approxPolyDP(hull, 0.03 * cv2.arcLength(hull, True), True).reshape(-1, 2)
    if len(rough) != 4 or cv2.contourArea(rough) < 0.9 * cv2.contourArea(largest):
        return None
    edge = largest.reshape(-1, 2).astype(np.float64)
    sides = [_side(edge, rough[k].astype(float), rough[(k + 1) % 4].astype(float)) for k in range(4)]
    # A side along the picture's border is no side of the sheet, which is cut off there or is not what was found.
    if any(len(side) < 20 or _is_on_border(side, mask.shape) for side in sides):
        return None
    return tuple((side + 0.5) / share - 0.5 for side in sides)


def _is_on_border(points: Points, shape: tuple[int, ...]) -> bool:
    """Return whether most of (N, 2) pixels lie within two of the picture's border."""
    high = np.array([shape[1], shape[0]]) - 1.0
    away = np.minimum(points, high - points).min(axis=1)
    return bool(np.mean(away < 2.0) > 0.5)


def _side(edge: Points, start: Points, end: Points) -> Points:
    """Return the points along the middle of one side of an outline, in order."""
    size = max(float(np.hypot(*(end - start))), 1e-9)
    along = (end - start) / size
    t = (edge - start) @ along / size
    off = (edge - start) @ np.array([-along[1], along[0]])
    near = (t > 0.08) & (t < 0.92) & (np.abs(off) < 12 + _BULGE_SHARE * size)
    return np.asarray(edge[near][np.argsort(t[near], kind="stable")], np.float64)


def _line_through(points: Points) -> Points:
    """Return (nx, ny, d) of the line nx x + ny y = d through points, outliers left out."""
    near, normal = points, np.zeros(2)
    for _ in range(3):
        centre = near.mean(axis=0)
        _, _, axes = np.linalg.svd(near - centre, full_matrices=False)
        normal = axes[1]
        rest = np.abs((near - centre) @ normal)
        near = near[rest <= max(1.0, 2.5 * float(np.median(rest)))]
    return np.array([normal[0], normal[1], float(normal @ near.mean(axis=0))])
