"""Where words and arrows go: inside the part, clear of every line, as large as fits."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray
from shapely import affinity, box, contains, contains_xy, distance, get_coordinates, points, prepare
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from nesting.patterns.drawing import Align, Text
from nesting.patterns.typeface import text_width_mm
from vectorize.shapes import segment

XY: TypeAlias = segment.Point

HEIGHTS_MM = (4.0, 3.5, 3.0, 2.5)
SMALL_HEIGHTS_MM = (2.2, 1.8)
"""1.8 mm capitals are about 7 point: the smallest that reads well on a matt print."""
CLEAR_MM = 1.0
"""Least distance of a text from any line."""
LEADING = 1.75
"""Line pitch over capital height."""
LONGEST_ARROW_MM = 60.0
SHORTEST_ARROW_MM = 8.0


@dataclass(frozen=True, slots=True)
class PlacedWords:
    """Lines of text that were found a place, and the box that they cover."""

    texts: tuple[Text, ...]
    box: Polygon


def words_inside(free: BaseGeometry, choices: Sequence[Sequence[str]], *, part: str) -> PlacedWords | None:
    """Return the first of `choices` (lines of text, most wanted first) that fits in `free`, as large as fits.

    The first line is bold. None if not even the last choice fits at the smallest height.
    """
    if free.is_empty:
        return None
    rough = free.simplify(0.2)
    angles = _angles(rough)
    ways: dict[float, _Way] = {}
    for heights in (HEIGHTS_MM, SMALL_HEIGHTS_MM):
        for lines in choices:
            for height in heights:
                for angle_deg in angles:
                    if angle_deg not in ways:
                        ways[angle_deg] = _Way.along(rough, angle_deg)
                    placed = ways[angle_deg].place(lines, height, part)
                    if placed is not None:
                        return placed
    return None


def words_beside(
    free: BaseGeometry, target: BaseGeometry, lines: Sequence[str], *, part: str, height_mm: float = 2.2
) -> PlacedWords | None:
    """Return the lines placed in `free` as near to `target` as can be, level; None if there is no room."""
    width, height = _size(lines, height_mm)
    x0, y0, x1, y1 = target.bounds
    grids = []
    for gap in (2.0, 5.0, 10.0, 18.0):
        x = np.linspace(x0 - width / 2 - gap, x1 + width / 2 + gap, 13)
        y = np.linspace(y0 - height / 2 - gap, y1 + height / 2 + gap, 13)
        grids.append(np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2))
    x, y = np.concatenate(grids).T
    boxes = box(x - width / 2, y - height / 2, x + width / 2, y + height / 2)
    prepare(free)
    fitting = np.flatnonzero(contains(free, boxes))
    if len(fitting) == 0:
        return None
    away = np.round(np.asarray(distance(boxes[fitting], target)), 3)
    best = int(fitting[np.lexsort((y[fitting], x[fitting], away))[0]])
    return PlacedWords(_texts(lines, (float(x[best]), float(y[best])), height_mm, 0.0, part), boxes[best])


@dataclass(frozen=True, slots=True)
class _Way:
    """One direction of writing, and where a block may be centred: (N, 3) rows of x, y and distance to the edge."""

    free: BaseGeometry
    angle_deg: float
    spots: NDArray[np.float64]

    @staticmethod
    def along(free: BaseGeometry, angle_deg: float) -> _Way:
        level = affinity.rotate(free, -angle_deg, origin=(0, 0))
        prepare(level)
        spots = _spots(level)
        middle = level.centroid
        away = np.hypot(spots[:, 0] - middle.x, spots[:, 1] - middle.y)
        # Widest place first, in whole millimetres; of equal ones the nearest to the middle of the part.
        return _Way(level, angle_deg, spots[np.lexsort((away, -np.round(spots[:, 2])))])

    def place(self, lines: Sequence[str], height_mm: float, part: str) -> PlacedWords | None:
        width, height = _size(lines, height_mm)
        x, y, clear = self.spots.T
        near = np.flatnonzero(clear >= min(width, height) / 2)
        x, y = x[near], y[near]
        boxes = box(x - width / 2, y - height / 2, x + width / 2, y + height / 2)
        fitting = np.flatnonzero(contains(self.free, boxes))
        if len(fitting) == 0:
            return None
        first = int(fitting[0])
        at = _turned((float(x[first]), float(y[first])), self.angle_deg)
        turned = affinity.rotate(boxes[first], self.angle_deg, origin=(0, 0))
        return PlacedWords(_texts(lines, at, height_mm, self.angle_deg, part), turned)


def _spots(level: BaseGeometry) -> NDArray[np.float64]:
    """Grid points inside, with how far they are from the edge."""
    x0, y0, x1, y1 = level.bounds
    across = max(3, min(40, round((x1 - x0) / 2)))
    up = max(3, min(24, round((y1 - y0) / 1.0)))
    x = x0 + (np.arange(across) + 0.5) / across * (x1 - x0)
    y = y0 + (np.arange(up) + 0.5) / up * (y1 - y0)
    grid = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    inside = grid[contains_xy(level, grid[:, 0], grid[:, 1])]
    return np.column_stack([inside, np.asarray(distance(level.boundary, points(inside)))])


def _angles(free: BaseGeometry) -> tuple[float, ...]:
    """Level first, then along the longest side of the narrowest box round the shape, then upright."""
    corners = list(get_coordinates(free.minimum_rotated_rectangle).tolist()) if free.area > 0 else []
    angles = [0.0]
    if len(corners) >= 4:
        first, second, third = corners[:3]
        a, b = (first, second) if math.dist(first, second) > math.dist(second, third) else (second, third)
        angles.append(upright_deg(math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))))
    angles.append(90.0)
    return tuple(dict.fromkeys(round(angle, 3) for angle in angles))


def upright_deg(angle_deg: float) -> float:
    """Return the angle, or its opposite, at which a text is not upside down: above -90, up to 90."""
    angle = (angle_deg + 90.0) % 180.0 - 90.0
    return 90.0 if angle == -90.0 else angle


def _size(lines: Sequence[str], height_mm: float) -> tuple[float, float]:
    widths = [text_width_mm(line, height_mm, is_bold=i == 0) for i, line in enumerate(lines)]
    return max(widths), height_mm * (LEADING * (len(lines) - 1) + 1.6)


def _texts(lines: Sequence[str], centre: XY, height_mm: float, angle_deg: float, part: str) -> tuple[Text, ...]:
    middle: Align = "middle"
    top = height_mm * LEADING * (len(lines) - 1) / 2 - height_mm / 2
    texts = []
    for i, line in enumerate(lines):
        dx, dy = _turned((0.0, top - i * LEADING * height_mm), angle_deg)
        at = (centre[0] + dx, centre[1] + dy)
        texts.append(Text(line, at, height_mm, angle_deg, middle, is_bold=i == 0, part=part))
    return tuple(texts)


def _turned(point: XY, angle_deg: float) -> XY:
    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return (cos * point[0] - sin * point[1], sin * point[0] + cos * point[1])


def chord_along(free: BaseGeometry, angle_deg: float) -> tuple[XY, XY] | None:
    """Return the ends of an arrow in direction `angle_deg` within `free`, or None where none of 8 mm fits.

    A long chord in the open is taken, shortened about its middle to 60 mm.
    """
    if free.is_empty:
        return None
    level = affinity.rotate(free, -angle_deg, origin=(0, 0))
    x0, y0, x1, y1 = level.bounds
    best: LineString | None = None
    best_rank = (0.0, 0.0)
    for y in np.linspace(y0, y1, 42)[1:-1]:
        cut = level.intersection(LineString([(x0 - 1, y), (x1 + 1, y)]))
        for piece in getattr(cut, "geoms", [cut]):
            if isinstance(piece, LineString):
                # Longest first, in steps of 4 mm; of equal ones the farthest from any line.
                middle = piece.interpolate(0.5, normalized=True)
                rank = (round(min(piece.length, LONGEST_ARROW_MM) / 4), float(level.boundary.distance(middle)))
                best, best_rank = (piece, rank) if rank > best_rank else (best, best_rank)
    if best is None or best.length < SHORTEST_ARROW_MM:
        return None
    middle = best.interpolate(0.5, normalized=True)
    half = min(best.length, LONGEST_ARROW_MM) / 2
    ends = (middle.x - half, middle.y), (middle.x + half, middle.y)
    return _turned(ends[0], angle_deg), _turned(ends[1], angle_deg)
