"""An outline as points along its edges, each with the direction out of the wood."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vectorize.shapes.outline import Outline, Ring
from vectorize.shapes.segment import Points

STEP_MM = 0.1
CORNER_DEG = 25.0
"""What turns by more within twice `CORNER_REACH_MM` is a corner, and no bend (chosen)."""
CORNER_REACH_MM = 0.7
"""So near to a corner nothing is judged: no saw and no scanner keeps it sharp (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class EdgeSamples:
    """Points along one ring, `STEP_MM` apart or a little less.

    `points` and `normals` are (N, 2), the normals point out of the wood; `is_corner` marks what lies so near to a
    corner that it is not judged. `step_mm` is what lies between two neighbours.
    """

    points: Points
    normals: Points
    is_corner: NDArray[np.bool_]
    step_mm: float


def ring_samples(ring: Ring) -> EdgeSamples:
    """Return points along a ring of an outline: exteriors run counter-clockwise, cut-outs clockwise.

    So the wood always lies to the left, and the normal to the right points out of it.
    """
    corners = ring.flattened(STEP_MM / 20)
    closed = np.vstack([corners, corners[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    count = max(24, int(np.ceil(along[-1] / STEP_MM)))
    wanted = (np.arange(count) + 0.5) * (along[-1] / count)
    points = np.column_stack([np.interp(wanted, along, closed[:, k]) for k in (0, 1)])
    piece = np.clip(np.searchsorted(along, wanted, side="right") - 1, 0, len(corners) - 1)
    tangents = np.diff(closed, axis=0)[piece]
    tangents /= np.hypot(*tangents.T)[:, None]
    normals = np.column_stack([tangents[:, 1], -tangents[:, 0]])
    step = float(along[-1] / count)
    return EdgeSamples(points, normals, _near_corners(tangents, step), step)


def outline_samples(outline: Outline) -> tuple[EdgeSamples, ...]:
    """Return the points of the exterior and then of each cut-out."""
    return tuple(ring_samples(ring) for ring in outline.rings)


def _near_corners(tangents: Points, step_mm: float) -> NDArray[np.bool_]:
    """Return which samples lie within `CORNER_REACH_MM` of a sudden turn; a small round hole has none."""
    ahead = np.roll(tangents, -1, axis=0)
    turn = np.degrees(np.arctan2(np.abs(_cross(tangents, ahead)), np.sum(tangents * ahead, axis=1)))
    reach = max(1, round(CORNER_REACH_MM / step_mm))
    sudden = np.flatnonzero(turn > CORNER_DEG)
    found = np.zeros(len(tangents), np.bool_)
    for offset in range(-reach + 1, reach + 1):
        found[(sudden + offset) % len(tangents)] = True
    return found


def _cross(a: Points, b: Points) -> Points:
    return np.asarray(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], np.float64)
