"""The frame of a drawing, and the ground that it holds: what lies free in it is no part."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from vectorize.faces.stroke_faces import DrawnRegions
from vectorize.lines.graph import mean_along, pieces_of
from vectorize.shapes.segment import Points

SPAN_SHARE = 0.8
"""A frame spans so much of the width and of the height of all that is drawn."""

RECTANGLE_SHARE = 0.98
"""As in `title_block`, for exact curves: only round corners take anything away."""
FEWEST_HELD = 3
HELD_MM = 8.0
"""So many drawings of at least this size stand free in a frame."""

UNLIKE_PEN = 1.25
"""The pen of a frame is by this factor wider or thinner than that of what it holds."""


def with_frame_outside(regions: DrawnRegions, ink: Points, per_mm: float) -> DrawnRegions:
    """Return the faces with what lies free inside a frame counted as outside too.

    A plate with cut-outs looks like a frame with plain parts. So a frame is only what was drawn with another pen than
    the things in it, or what holds drawings that are more than a closed line; `ink` are the pens of the edges.
    """
    if len(regions.work.edges) == 0:
        return regions
    points = np.vstack([edge.points for edge in regions.work.edges])
    whole = np.ptp(points, axis=0)
    of_edge = pieces_of(regions.work)
    lengths = np.array([edge.length for edge in regions.work.edges])
    outside = set(regions.outside)
    for face, ring in regions.rings.items():
        spans = np.ptp(ring, axis=0)
        if np.any(spans < SPAN_SHARE * whole) or abs(_area(ring)) < RECTANGLE_SHARE * float(np.prod(spans)):
            continue
        inner = [held for held in regions.held.get(face, ()) if np.ptp(held, axis=0).max() > HELD_MM * per_mm]
        if len(inner) >= FEWEST_HELD and _is_frame(regions, face, ink, of_edge, lengths):
            outside.add(face)
    return replace(regions, outside=frozenset(outside))


def _is_frame(regions: DrawnRegions, face: int, ink: Points, of_edge: NDArray[np.int64], lengths: Points) -> bool:
    """Return whether a face is bounded by another pen than what stands in it, or holds more than closed lines."""
    beside = (regions.left == face) | (regions.right == face)
    held_faces = set(regions.left[beside].tolist()) | set(regions.right[beside].tolist()) - {face}
    box = regions.boxes[face]
    own = np.array([_touches(edge.points, box) for edge in regions.work.edges]) & beside
    inner = beside & ~own
    if not np.any(own) or not np.any(inner):
        return False
    frame_pen = mean_along(ink[own], lengths[own])
    inner_pen = mean_along(ink[inner], lengths[inner])
    if max(frame_pen, inner_pen) > UNLIKE_PEN * min(frame_pen, inner_pen):
        return True
    within = [n for n in held_faces if n not in (face, 1)]
    has_more_lines = len(set(of_edge[inner].tolist())) < int(np.count_nonzero(inner))
    return has_more_lines or any(regions.held.get(n) for n in within)


def _touches(points: Points, box: Points) -> bool:
    """Return whether a line reaches the side of a box."""
    low, high = points.min(axis=0), points.max(axis=0)
    return bool(np.any(np.abs(low - box[:2]) < 1e-6) or np.any(np.abs(high - box[2:]) < 1e-6))


def _area(ring: Points) -> float:
    x, y = ring.T
    return 0.5 * float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))
