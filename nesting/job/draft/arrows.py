"""The arrow that a word for grain stands beside."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from shapely.geometry import LineString, Polygon

if TYPE_CHECKING:
    from vectorize.faces.sheet import Drawing
    from vectorize.shapes.segment import Point, Points

LEAST_MM, MOST_MM = 5.0, 90.0
"""Lengths of grain arrows."""

BESIDE_HEIGHTS = 2.5
"""The arrow runs within so many heights of its word."""

OFF_MM = 0.6
"""An arrow is straight within this."""

LEAST_PIECE_MM = 3.0
"""Lines that cross an arrow cut it into pieces; shorter ones belong to letters."""

CLEAR_MM = 0.8
"""An arrow keeps so far from the outline."""

LEAN_DEG = 12.0
"""A word for grain is lettered along its arrow within this."""


def grain_arrow(drawing: Drawing, box: Points, area: Polygon, *, px_per_mm: float) -> tuple[Point, Point] | None:
    """Return the ends of the arrow beside a word for grain, in pixels; None where there is none in the part.

    Args:
        drawing: The sheet.
        box: (4, 2) corners of the word, from its upper left as it is read.
        area: The part that it stands in.
        px_per_mm: Pixels per millimetre.
    """
    height = max(1.0, math.dist(box[1], box[2]))
    along = (box[1] - box[0]) / max(math.dist(box[0], box[1]), 1e-9)
    reach = BESIDE_HEIGHTS * height
    word = Polygon(box)
    pieces = []
    for _, edge in drawing.edges_in(box.min(axis=0) - reach, box.max(axis=0) + reach):
        ends = _straight_ends(edge.points, px_per_mm)
        if ends is None or edge.is_dashed or edge.is_bridge:
            continue
        way, line = np.subtract(ends[1], ends[0]), LineString(ends)
        lean = abs(float(np.dot(way, along))) / float(np.hypot(*way))
        is_clear = area.exterior.distance(line) > CLEAR_MM * px_per_mm
        if lean > math.cos(math.radians(LEAN_DEG)) and word.distance(line) < reach and is_clear:
            pieces.append(ends)
    return _joined(pieces, word, px_per_mm)


def _joined(pieces: Sequence[tuple[Point, Point]], word: Polygon, px_per_mm: float) -> tuple[Point, Point] | None:
    """Return the piece nearest to the word with all that lie in its line, from end to end."""
    if not pieces:
        return None
    start, end = (np.array(point) for point in min(pieces, key=lambda ends: word.distance(LineString(ends))))
    way = (end - start) / float(np.hypot(*(end - start)))
    across = np.array([-way[1], way[0]])
    spots = np.array([spot for ends in pieces for spot in ends])
    spots = spots[np.abs((spots - start) @ across) < OFF_MM * px_per_mm]
    places = (spots - start) @ way
    first, last = spots[int(np.argmin(places))].tolist(), spots[int(np.argmax(places))].tolist()
    size = math.dist(first, last)
    if not LEAST_MM * px_per_mm < size < MOST_MM * px_per_mm:
        return None
    return (float(first[0]), float(first[1])), (float(last[0]), float(last[1]))


def _straight_ends(points: Points, px_per_mm: float) -> tuple[Point, Point] | None:
    """Return the ends of a line that is straight and of some length."""
    (x0, y0), (x1, y1) = points[0].tolist(), points[-1].tolist()
    size = math.hypot(x1 - x0, y1 - y0)
    if size < LEAST_PIECE_MM * px_per_mm:
        return None
    away = np.abs((points - points[0]) @ np.array([y0 - y1, x1 - x0])) / size
    return ((x0, y0), (x1, y1)) if float(away.max()) < OFF_MM * px_per_mm else None
