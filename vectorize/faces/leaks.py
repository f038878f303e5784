"""Where the outline around a pick is probably open."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vectorize.shapes.segment import Point

_LARGEST_PX = 1600
_GROWTH = 1.1
_SEPARATE_SHARE = 0.6


@dataclass(frozen=True, slots=True)
class Gap:
    """The narrowest place on the widest way out: where it is and how wide, in pixels."""

    at: Point
    width_px: float


def find_gap(region: NDArray[np.uint8] | None, point: Point) -> Gap | None:
    """Return the gap through which the space around a pick opens to the rest of its region.

    The free space is narrowed step by step (its distance to the nearest line must exceed a growing radius) until
    the space around the pick comes apart from the larger rest: the last passage was the gap.

    Args:
        region: 1 in the region, 0 elsewhere, [row, column]; None where a page has no picture.
        point: The pick, (column, row).

    Returns None where no passage stands out: the pick lies on open ground.
    """
    if region is None:
        return None
    depth, factor = _depths(region)
    seed = _nearby_peak(depth, point, factor)
    if seed is None:
        return None
    peak = float(depth[seed])
    radius, step = 1.0 * factor, 0.5
    while radius < 0.9 * peak:
        inner = (depth > radius).astype(np.uint8)
        _, labels = cv2.connectedComponents(inner, connectivity=4, ltype=cv2.CV_32S)
        own = labels == labels[seed]
        if own.sum() < _SEPARATE_SHARE * inner.sum():
            return _between(own.astype(np.uint8), (inner > 0) & ~own, radius, factor)
        radius += step
        step *= _GROWTH
    return None


def _depths(region: NDArray[np.uint8]) -> tuple[NDArray[np.float32], int]:
    """Distance to the nearest line in original pixels, on every `factor`-th one, the greatest of each neighbourhood."""
    depth = cv2.distanceTransform(region, cv2.DIST_L2, 3)
    factor = max(1, max(region.shape) // _LARGEST_PX)
    if factor > 1:
        depth = cv2.dilate(depth, np.ones((factor, factor), np.uint8))[::factor, ::factor]
    return np.ascontiguousarray(depth, np.float32), factor


def _nearby_peak(depth: NDArray[np.float32], point: Point, factor: int) -> tuple[int, int] | None:
    """The deepest spot near the pick, from which the search starts."""
    column, row = round(point[0] / factor), round(point[1] / factor)
    reach = max(8, depth.shape[1] // 60)
    top, left = max(0, row - reach), max(0, column - reach)
    window = depth[top : row + reach + 1, left : column + reach + 1]
    if window.size == 0 or window.max() <= 0:
        return None
    y, x = np.unravel_index(int(np.argmax(window)), window.shape)
    return int(top + y), int(left + x)


def _between(own: NDArray[np.uint8], rest: NDArray[np.bool_], radius: float, factor: int) -> Gap | None:
    """The middle of the shortest way between the two spaces."""
    if not np.any(rest):
        return None
    away, nearest = cv2.distanceTransformWithLabels(1 - own, cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL)
    y, x = np.unravel_index(int(np.argmin(np.where(rest, away, np.inf))), away.shape)
    there = np.argwhere((nearest == nearest[y, x]) & (own > 0))
    if len(there) == 0:
        return None
    middle = (there[0] + (y, x)) / 2 * factor
    return Gap((float(middle[1]), float(middle[0])), 2.0 * radius)
