"""A body as a closed surface of triangles, in mm, and how an outline becomes one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from vectorize.shapes.outline import FINE_MM, Outline

if TYPE_CHECKING:
    from shapely.geometry import Polygon

Floats = NDArray[np.float64]
Indices = NDArray[np.int64]

EDGE_MM = 1e-6
"""A body thinner than this comes to an edge there: its two faces share the point."""


@dataclass(frozen=True, slots=True)
class Mesh:
    """Points (N, 3) in mm and triangles (M, 3) of them, counter-clockwise seen from outside.

    Every side of a triangle belongs to exactly one other, run through the other way: the surface is closed.
    """

    points: Floats
    triangles: Indices

    @property
    def volume_mm3(self) -> float:
        """Return the volume enclosed: the sum of the tetrahedra from one point to every triangle."""
        return float(self._tetrahedra().sum())

    @property
    def centroid(self) -> Floats:
        """Return the centre of the volume."""
        corners = self.points[self.triangles] - self.points[0]
        volumes = self._tetrahedra()
        centre: Floats = self.points[0] + (volumes @ corners.sum(axis=1)) / (4 * volumes.sum())
        return centre

    def _tetrahedra(self) -> Floats:
        # From a point of the body itself, so that one far from the origin loses no digits.
        a, b, c = np.moveaxis(self.points[self.triangles] - self.points[0], 1, 0)
        volumes: Floats = np.einsum("ij,ij->i", a, np.cross(b, c)) / 6
        return volumes

    def moved(self, turn: ArrayLike, shift: ArrayLike = (0.0, 0.0, 0.0)) -> Mesh:
        """Return the body under p -> turn p + shift; where `turn` mirrors, triangles are turned to face outwards."""
        matrix = np.asarray(turn, dtype=np.float64)
        points = self.points @ matrix.T + np.asarray(shift, dtype=np.float64)
        return Mesh(points, self.triangles[:, ::-1] if np.linalg.det(matrix) < 0 else self.triangles)


def triangulated(polygons: Sequence[Polygon]) -> tuple[Floats, Indices]:
    """Return the points (N, 2) of polygons and triangles that fill them, counter-clockwise.

    Polygons that share a stretch of edge must have the same points along it: then their triangles meet there.
    """
    import shapely

    found = shapely.get_parts(shapely.constrained_delaunay_triangles(np.asarray(polygons, dtype=object)))
    corners = shapely.get_coordinates(found).reshape(-1, 4, 2)[:, :3]
    a, b, c = np.moveaxis(corners, 1, 0)
    is_clockwise = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) < (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    corners[is_clockwise] = corners[is_clockwise, ::-1]
    points, numbers = np.unique(corners.reshape(-1, 2), axis=0, return_inverse=True)
    return points, numbers.reshape(-1, 3)


def between(plane: Floats, triangles: Indices, low: Floats, high: Floats) -> Mesh:
    """Return the body over triangles of the plane, from height `low` to `high` at each of their points.

    Where the two heights are one, the body comes to an edge and has no wall.
    """
    count = len(plane)
    is_edge = high - low < EDGE_MM
    above = np.where(is_edge, np.arange(count), np.arange(count) + count)
    walls = _rim(triangles)
    begin, end = walls.T
    faces = np.concatenate([
        triangles[:, ::-1],
        above[triangles],
        np.column_stack([begin, end, above[end]]),
        np.column_stack([begin, above[end], above[begin]]),
    ])  # fmt: skip
    points = np.column_stack([np.concatenate([plane, plane]), np.concatenate([low, high])])
    return _packed(points, faces)


def _rim(triangles: Indices) -> Indices:
    """Return the sides (begin, end) that belong to one triangle alone."""
    sides = triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2)
    _, where, counts = np.unique(np.sort(sides, axis=1), axis=0, return_index=True, return_counts=True)
    rim: Indices = sides[where[counts == 1]]
    return rim


def _packed(points: Floats, faces: Indices) -> Mesh:
    """Return the mesh without triangles that have fallen to a line, pairs that cancel, and points of none."""
    a, b, c = faces.T
    faces = faces[(a != b) & (b != c) & (c != a)]
    _, same, counts = np.unique(np.sort(faces, axis=1), axis=0, return_inverse=True, return_counts=True)
    faces = faces[counts[same.ravel()] == 1]
    used, numbers = np.unique(faces, return_inverse=True)
    return Mesh(points[used], numbers.reshape(-1, 3))


def extruded(outline: Outline, thickness_mm: float, *, tolerance_mm: float = FINE_MM) -> Mesh:
    """Return an outline with a thickness, its lower face at height zero; chords stay within `tolerance_mm`."""
    plane, triangles = triangulated([outline.to_polygon(tolerance_mm)])
    low = np.zeros(len(plane))
    return between(plane, triangles, low, low + thickness_mm)
