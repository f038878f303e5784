"""From true outlines to the shapes that the search moves: grown by half the gap, simplified outwards.

What is free of overlap for these shapes keeps the gap for the true outlines, never the reverse.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from nesting.place.poles import find_poles
from vectorize.basics.errors import OutlineError
from vectorize.shapes.outline import Outline, Pose, fault_in_words
from vectorize.shapes.segment import Line, Points

_CHORD_MM = 0.01
_NO_GROWTH_MM = 1e-9  # less than this confuses an offset
_FEW_EDGES = 32
_ADDED_SHARE = 1e-3  # of the area, as the published engine allows


@dataclass(frozen=True, slots=True, eq=False)
class SearchShape:
    """A shape about its own reference point: rings with material on their left, and circles inside.

    `poles` is (N, 3): x, y, radius; the first `hearts` of them hold one in every separate piece.
    """

    rings: tuple[Points, ...]
    poles: Points
    hearts: int
    area_mm2: float
    hull_area_mm2: float
    diameter_mm: float

    @property
    def edges(self) -> Points:
        """Return (N, 4) edges: x0, y0, x1, y1."""
        return _edges_of(self.rings)

    def turned(self, angle_deg: float) -> SearchShape:
        """Return the shape turned about its reference point."""
        pose = Pose(angle_deg=angle_deg)
        rings = tuple(_moved(ring, pose) for ring in self.rings)
        poles = np.column_stack((_moved(self.poles[:, :2], pose), self.poles[:, 2]))
        return SearchShape(rings, poles, self.hearts, self.area_mm2, self.hull_area_mm2, self.diameter_mm)


def _moved(points: Points, pose: Pose) -> Points:
    bare = Pose(0.0, 0.0, pose.angle_deg, pose.is_flipped)
    turn = np.array([bare.moved((1.0, 0.0)), bare.moved((0.0, 1.0))])
    return np.asarray(points @ turn + np.array([pose.x_mm, pose.y_mm]), dtype=np.float64)


def grown_polygon(outline: Outline, *, grow_mm: float, what: str) -> Polygon:
    """Return a polygon that contains `outline` grown by `grow_mm`, with few vertices.

    Straight outlines of few edges are grown exactly, with sharp corners up to 60 degrees, so that exact
    fits stay exact; the bounding box is exact for all.

    Raises:
        OutlineError: The outline crosses itself or a cut-out lies outside.
    """
    is_straight = all(isinstance(s, Line) for ring in outline.rings for s in ring.segments)
    polygon = outline.to_polygon(_CHORD_MM)
    if not polygon.is_valid:
        raise OutlineError(f"{what} is not a simple shape: {fault_in_words(shapely.is_valid_reason(polygon))}")
    grown = _as_polygon(
        polygon.buffer(grow_mm + (0.0 if is_straight else _CHORD_MM), join_style="mitre", mitre_limit=2)
    )
    if grow_mm < _NO_GROWTH_MM and is_straight:
        grown = shapely.orient_polygons(polygon)
    if not is_straight or _edge_count(grown) > _FEW_EDGES:
        grown = fewer_edges(grown)
    # Sharp corners of the growth stick out beyond what the part needs; its box is exact.
    x0, y0, x1, y1 = outline.bounds
    box = shapely.box(x0 - grow_mm, y0 - grow_mm, x1 + grow_mm, y1 + grow_mm)
    if not box.covers(grown):
        grown = _as_polygon(grown.intersection(box))
    return grown


def shape_of(polygon: Polygon | MultiPolygon, centre: tuple[float, float]) -> SearchShape:
    """Return the shape of a valid polygon about `centre`."""
    pieces = sorted(getattr(polygon, "geoms", [polygon]), key=lambda piece: -piece.area)
    rings: list[Points] = []
    poles: list[Points] = []
    for piece in map(shapely.orient_polygons, pieces):
        own = [_ring_points(ring.coords, centre) for ring in (piece.exterior, *piece.interiors)]
        rings += own
        poles.append(_poles_of(piece, own, centre))
    hull = polygon.convex_hull
    firsts = np.array([group[0] for group in poles])
    others = np.concatenate([group[1:] for group in poles])
    others = others[np.argsort(-others[:, 2], kind="stable")]
    x0, y0, x1, y1 = polygon.bounds
    return SearchShape(
        tuple(rings),
        np.concatenate([firsts, others]),
        len(pieces),
        polygon.area,
        hull.area,
        max(_diameter(hull), x1 - x0, y1 - y0),
    )


def _ring_points(coords: Iterable[tuple[float, ...]], centre: tuple[float, float]) -> Points:
    points = np.asarray(list(coords), dtype=np.float64)[:-1, :2] - np.array(centre)
    keep = np.hypot(*(points - np.roll(points, 1, axis=0)).T) > 1e-9
    return np.ascontiguousarray(points[keep])


def _poles_of(piece: Polygon, rings: list[Points], centre: tuple[float, float]) -> Points:
    """Find the circles in the frame of the least rectangle round the piece, so that the grid suits slanting ones."""
    long_side = _long_side_deg(piece)
    turn = Pose(angle_deg=-long_side)
    edges = _edges_of([_moved(ring, turn) for ring in rings])
    poles = find_poles(edges, piece.area, 0.1)
    poles = np.column_stack((_moved(poles[:, :2], Pose(angle_deg=long_side)), poles[:, 2]))
    if poles[0, 2] <= 0:  # thinner than the grid
        point = piece.representative_point()
        poles[0] = (point.x - centre[0], point.y - centre[1], 0.0)
    return np.asarray(poles)


def _edges_of(rings: Sequence[Points]) -> Points:
    """Return (N, 4) edges: x0, y0, x1, y1."""
    edges = np.concatenate([np.hstack((ring, np.roll(ring, -1, axis=0))) for ring in rings])
    return np.ascontiguousarray(edges, dtype=np.float64)


def _long_side_deg(piece: Polygon) -> float:
    corners = np.asarray(shapely.get_coordinates(piece.minimum_rotated_rectangle))
    sides = np.diff(corners, axis=0)
    dx, dy = sides[int(np.argmax(np.hypot(*sides.T)))]
    angle = math.degrees(math.atan2(dy, dx))
    quarter = round(angle / 90) * 90
    return float(quarter) if abs(angle - quarter) < 1e-7 else angle


def _diameter(hull: BaseGeometry) -> float:
    points = np.asarray(hull.exterior.coords) if isinstance(hull, Polygon) else np.asarray(hull.coords)
    return float(np.max(np.hypot(*(points[:, None, :] - points[None, :, :]).transpose(2, 0, 1))))


def _as_polygon(geometry: BaseGeometry) -> Polygon:
    if isinstance(geometry, Polygon):
        return geometry
    pieces = [piece for piece in getattr(geometry, "geoms", []) if isinstance(piece, Polygon)]
    return max(pieces, key=lambda piece: piece.area)


def _edge_count(polygon: Polygon) -> int:
    return sum(len(ring.coords) - 1 for ring in (polygon.exterior, *polygon.interiors))


def fewer_edges(polygon: Polygon) -> Polygon:
    """Return a polygon that contains `polygon`, with fewer edges if that had many, and at most 0.1 % more area."""
    if _edge_count(polygon) <= _FEW_EDGES // 2:
        return polygon
    polygon = shapely.orient_polygons(polygon)
    rings = [np.asarray(ring.coords)[:-1] for ring in (polygon.exterior, *polygon.interiors)]
    for share in (_ADDED_SHARE, _ADDED_SHARE / 30):
        budget = share * polygon.area / len(rings)
        exterior, *holes = (fewer_vertices(ring, added_area=budget) for ring in rings)
        simple = Polygon(exterior, holes)
        if simple.is_valid and simple.buffer(1e-6).covers(polygon):
            return simple
    return polygon


def fewer_vertices(ring: Points, *, added_area: float) -> Points:
    """Return a ring that encloses more on its left, by no more than `added_area`, with fewer vertices.

    Reflex vertices are dropped, and edges between two convex ones are replaced by the corner in which
    their neighbours meet, cheapest first. The result may cross itself; the caller checks.
    """
    points: dict[int, tuple[float, float]] = dict(enumerate(map(tuple, ring.tolist())))
    after = {k: (k + 1) % len(ring) for k in points}
    before = {k: (k - 1) % len(ring) for k in points}
    stamp = dict.fromkeys(points, 0)
    queue: list[tuple[float, int, int, tuple[float, float] | None]] = []

    def consider(k: int) -> None:
        stamp[k] += 1
        a, b, c, d = (points[j] for j in (before[k], k, after[k], after[after[k]]))
        turn_b, turn_c = _cross(a, b, c), _cross(b, c, d)
        if turn_b <= 0:
            heapq.heappush(queue, (-turn_b / 2, k, stamp[k], None))
        elif turn_c > 0 and (corner := _meeting(a, b, c, d)) is not None:
            heapq.heappush(queue, (abs(_cross(b, corner, c)) / 2, k, stamp[k], corner))

    for k in list(points):
        consider(k)
    while queue and len(points) > 4:
        cost, k, when, corner = heapq.heappop(queue)
        if k not in points or when != stamp[k]:
            continue
        if cost > added_area:
            break
        added_area -= cost
        gone = k if corner is None else after[k]
        if corner is not None:
            points[k] = corner
        after[before[gone]], before[after[gone]] = after[gone], before[gone]
        near = [before[before[gone]], before[gone], after[gone]]
        del points[gone]
        for j in dict.fromkeys((before[near[0]], *near)):
            consider(j)
    first = min(points)
    walk = [first]
    while after[walk[-1]] != first:
        walk.append(after[walk[-1]])
    return np.array([points[k] for k in walk])


def _cross(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])


def _meeting(
    a: tuple[float, float], b: tuple[float, float], c: tuple[float, float], d: tuple[float, float]
) -> tuple[float, float] | None:
    """Return where the lines a-b, beyond b, and d-c, beyond c, meet, if that is not far away."""
    ux, uy, vx, vy = b[0] - a[0], b[1] - a[1], c[0] - d[0], c[1] - d[1]
    slant = ux * vy - uy * vx
    if slant >= -1e-12:
        return None
    wx, wy = c[0] - b[0], c[1] - b[1]
    t = (wx * vy - wy * vx) / slant
    corner = (b[0] + t * ux, b[1] + t * uy)
    is_near = t >= 0 and math.dist(corner, b) + math.dist(corner, c) < 3 * math.dist(b, c)
    return corner if is_near else None
