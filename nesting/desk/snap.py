"""Where a click belongs: the centre of the drawn line beside it, or the place where lines meet."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Grey = NDArray[np.uint8]
Field = NDArray[np.float64]
Point = tuple[float, float]

_LEAST_CONTRAST = 24.0
"""Grey levels between paper and line below which there is nothing to snap to."""
_MEETING_SHARE = 0.06
"""Where the weaker direction has less than this share of the stronger, there is one line and no meeting point."""
_SMOOTHING_PX = 2.0
"""Over about a pen width, so that both edges of a line agree on its direction."""
_ROUNDS = 12


def snap_point(grey: Grey, near: Point, *, radius: float, is_edge_meant: bool = False) -> Point | None:
    """Return the sub-pixel centre of the line, or the meeting point of lines, nearest to `near`; None if none is.

    Every dark pixel stands for a short piece of line through it; the point has the least weighted squared
    distance to all of them. Beside a single line only the distance across it is determined, and the point
    slides to the line's centre without moving along it; at a crossing or corner both coordinates are.

    Args:
        grey: The picture around the click, 0 black to 255 white; dark lines on light paper.
        near: The click, (x, y) in pixels of `grey`.
        radius: How far from the click the result may lie, in pixels.
        is_edge_meant: Look for edges between light and dark, as of a sheet on a table, and not for lines.

    Source: after Förstner & Gülch 1987, ISPRS Intercommission Workshop, Interlaken, pp. 281-305 (the corner
    operator), with line pixels in place of edge pixels, so that the result is the pen line's centre.
    """
    levels = grey.astype(np.float64)
    if levels.size == 0 or np.ptp(levels) < _LEAST_CONTRAST:
        return None
    darkness = _steepness(levels) if is_edge_meant else np.maximum(0.0, np.median(levels) - levels)
    darkness[darkness < 0.25 * darkness.max()] = 0.0
    directions = _across(levels)
    at = np.array(near, np.float64)
    for step in range(_ROUNDS):
        moved = _nearest(darkness, directions, at, radius * (1.0 if step == 0 else 0.6))
        if moved is None:
            return None
        at = moved
    is_near = np.hypot(*(at - near)) <= radius
    return (float(at[0]), float(at[1])) if is_near else None


def _steepness(levels: Field) -> Field:
    """Return how much the grey changes at each pixel: an edge of a sheet, however dark the table is."""
    import cv2

    gy, gx = np.gradient(np.asarray(cv2.GaussianBlur(levels, (0, 0), 1.0), np.float64))
    return np.asarray(np.hypot(gx, gy), np.float64)


def _across(levels: Field) -> tuple[Field, Field, Field]:
    """Return, for each pixel, n nᵀ (as xx, xy, yy) of the direction n across the line, scaled by how sure it is."""
    import cv2

    gy, gx = np.gradient(levels)
    xx, xy, yy = (
        np.asarray(cv2.GaussianBlur(np.asarray(product, np.float64), (0, 0), _SMOOTHING_PX), np.float64)
        for product in (gx * gx, gx * gy, gy * gy)
    )
    spread = np.hypot(xx - yy, 2 * xy)
    weaker = (xx + yy - spread) / 2
    size = np.maximum(xx + yy, 1e-9)
    return (xx - weaker) / size, xy / size, (yy - weaker) / size


def _nearest(
    darkness: Field, across: tuple[Field, Field, Field], at: NDArray[np.float64], radius: float
) -> NDArray[np.float64] | None:
    rows, columns = np.indices(darkness.shape)
    dx, dy = columns - at[0], rows - at[1]
    # A soft window, so that a line at its rim does not come and go as the point moves.
    weight = darkness * np.exp(-2.0 * (dx * dx + dy * dy) / (radius * radius))
    xx, xy, yy = (weight * part for part in across)
    total = float(np.sum(xx) + np.sum(yy))
    if total < _LEAST_CONTRAST:
        return None
    right = np.array([np.sum(xx * dx + xy * dy), np.sum(xy * dx + yy * dy)])
    values, vectors = np.linalg.eigh(np.array([[np.sum(xx), np.sum(xy)], [np.sum(xy), np.sum(yy)]]))
    shift = vectors[:, 1] * float(vectors[:, 1] @ right) / values[1]
    if values[0] > _MEETING_SHARE * values[1]:
        shift = shift + vectors[:, 0] * float(vectors[:, 0] @ right) / values[0]
    return np.asarray(at + shift, np.float64)
