"""Free ends of lines taken back to where the ink ends.

Where a line runs at 45 degrees to the pixels and has become two of them wide, thinning walks along it from its end.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from vectorize.lines.graph import Edge, LineWork
from vectorize.shapes.segment import Points

LEAST_PENS = 1.0
"""Ink that goes on by less beyond an end is the pen's own round end."""

MOST_PENS = 6.0
"""Ink that goes on farther is no end that thinning ate: three pens were the most seen."""

TOLD_FROM_PENS, TOLD_TO_PENS = 0.5, 2.5
"""Where the direction of an end is told, counted from it; a shorter stroke is a mark and keeps its ends."""

_STEP_PX = 0.5


def with_whole_ends(
    work: LineWork, mask: NDArray[np.uint8], skeleton: NDArray[np.bool_], *, pen_px: float
) -> tuple[LineWork, NDArray[np.bool_]]:
    """Return the line work with each free end taken on as far as its ink goes, less half a pen, and its skeleton.

    An end whose ink leads to another line stays where it is.
    """
    back, far = max(1, round(TOLD_FROM_PENS * pen_px)), max(3, round(TOLD_TO_PENS * pen_px))
    free = [(index, node) for index, node in work.open_ends() if len(work.edges[index].points) > far]
    if not free:
        return work, skeleton
    legs = np.array([_leg(work.edges[index], node, back, far) for index, node in free])
    at, out = work.nodes[[node for _, node in free]], legs[:, 0] - legs[:, 1]
    out = out / np.maximum(np.hypot(*out.T), 1e-9)[:, None]
    ahead = _ink_ahead(mask, at, out, MOST_PENS * pen_px)
    grows = (ahead > LEAST_PENS * pen_px) & (ahead < MOST_PENS * pen_px)
    nodes, edges = work.nodes.copy(), list(work.edges)
    whole = skeleton.copy() if np.any(grows) else skeleton
    for k in np.flatnonzero(grows).tolist():
        index, node = free[k]
        added = np.round(at[k] + np.arange(1.0, ahead[k] - pen_px / 2 + 1.0)[:, None] * out[k])
        # At a slant two steps may round to one pixel.
        added = added[np.any(np.diff(added, axis=0, prepend=at[k : k + 1]) != 0, axis=1)]
        if _meets(skeleton, added[2:]):
            continue
        edge = edges[index]
        points = np.vstack([edge.points, added] if edge.end == node else [added[::-1], edge.points])
        nodes[node], edges[index] = added[-1], replace(edge, points=points)
        whole[added[:, 1].astype(np.intp), added[:, 0].astype(np.intp)] = True
    return LineWork(nodes, tuple(edges)), whole


def _leg(edge: Edge, node: int, back: int, far: int) -> Points:
    """Return the two points that the direction of an end is told by, the outer one first."""
    points = edge.points if edge.start == node else edge.points[::-1]
    return np.asarray(points[[back, far]], np.float64)


def _ink_ahead(mask: NDArray[np.uint8], at: Points, out: Points, reach_px: float) -> Points:
    """Return how far ink goes on without a break from each point, (N, 2), straight along its direction."""
    steps = np.arange(_STEP_PX, reach_px + _STEP_PX, _STEP_PX)
    is_ink = _values(mask, at[:, None, :] + steps[:, None] * out[:, None, :]) != 0
    return np.asarray(np.where(is_ink.all(axis=1), reach_px, _STEP_PX * np.argmin(is_ink, axis=1)), np.float64)


def _meets(skeleton: NDArray[np.bool_], points: Points) -> bool:
    """Whether another line lies at some of the points, or next to them."""
    around = np.array([(dx, dy) for dx in (-1, 0, 1) for dy in (-1, 0, 1)], np.float64)
    return bool(_values(skeleton, points[:, None, :] + around).any())


def _values(picture: NDArray[np.uint8] | NDArray[np.bool_], points: Points) -> NDArray[np.uint8] | NDArray[np.bool_]:
    """Return the pixels at (..., 2) points, 0 beyond the picture."""
    column, row = np.moveaxis(np.round(points).astype(np.intp), -1, 0)
    rows, columns = picture.shape
    is_inside = (row >= 0) & (column >= 0) & (row < rows) & (column < columns)
    return np.where(is_inside, picture[np.where(is_inside, row, 0), np.where(is_inside, column, 0)], 0)
