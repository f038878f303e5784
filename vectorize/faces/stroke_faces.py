"""The faces of a drawing: found, held and looked up by their exact boundaries, without a picture."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from vectorize.faces.regions import Loop, Regions
from vectorize.faces.stroke_graph import Graph, ordered_arms
from vectorize.faces.subdivision import Walks, arms_of, walks
from vectorize.lines.split_strokes import Pieces
from vectorize.shapes.segment import Point, Points

GROUND = 1
"""The number of the face without a limit."""

_DEEP_PX = 4.0
"""How closely the point of a face that is farthest from its edge is looked for."""


@dataclass(frozen=True, slots=True, eq=False)
class DrawnRegions(Regions):
    """Faces of a drawing; `rings` are their outer boundaries by number, `held` what stands free in each."""

    size: tuple[float, float] = (0.0, 0.0)
    rings: dict[int, Points] = field(default_factory=dict)
    held: dict[int, list[Points]] = field(default_factory=dict)
    _trees: list[shapely.STRtree] = field(default_factory=list)

    @property
    def extent(self) -> tuple[float, float]:
        """Return the width and height of the page."""
        return self.size

    def at(self, point: Point) -> int | None:
        """Return the face around a point, the ground where nothing is."""
        numbers = list(self.rings)
        near = self._tree(0).query(shapely.Point(point)).tolist() if numbers else []
        around = [numbers[k] for k in near if _contains(self.rings[numbers[k]], point)]
        return min(around, key=lambda n: abs(_area(self.rings[n])), default=GROUND)

    def near(self, point: Point, reach: float) -> set[int]:
        """Return the faces within `reach` of a point."""
        edges = self._tree(1).query(shapely.Point(point), predicate="dwithin", distance=reach).tolist()
        found = {int(self.left[k]) for k in edges} | {int(self.right[k]) for k in edges}
        here = self.at(point)
        return found | ({here} if here is not None else set())

    def mask(self, region: int) -> NDArray[np.uint8] | None:
        """Return None: there is no picture."""
        return None

    def deepest(self, region: int) -> Point:
        """Return the point of a face that is farthest from its edge, about."""
        body = _valid(self.rings[region])
        holes = [_valid(ring) for ring in self.held.get(region, ())]
        body = body.difference(shapely.union_all(holes)) if holes else body
        largest = max(
            (p for p in shapely.get_parts(body) if isinstance(p, Polygon)), key=lambda p: p.area, default=None
        )
        if largest is None:
            x, y = self.rings[region].mean(axis=0)
        else:
            x, y = shapely.maximum_inscribed_circle(largest, tolerance=_DEEP_PX).coords[0]
        return float(x), float(y)

    def loops(self, chosen: Iterable[int]) -> list[Loop]:
        """Return the closed loops that bound the chosen faces, the chosen side on the left."""
        left = dict.fromkeys(self.boundary(chosen))
        loops = []
        while left:
            step = next(iter(left))
            walked = []
            while step in left:
                del left[step]
                walked.append(step)
                step = self._after(step, left, walked[0])
            loops.append(self._loop(walked))
        return loops

    def _after(
        self, step: tuple[int, bool], left: dict[tuple[int, bool], None], first: tuple[int, bool]
    ) -> tuple[int, bool]:
        """Return the step of a boundary that follows: the first clockwise from the way back."""
        edge, forwards = step
        node = self.work.edges[edge].end if forwards else self.work.edges[edge].start
        arms = self.arms[node]
        place = arms.index((edge, 1 if forwards else 0))
        for turn in range(1, len(arms) + 1):
            after, side = arms[place - turn]
            if (after, side == 0) in left or (after, side == 0) == first:
                return after, side == 0
        return first

    def _loop(self, walked: list[tuple[int, bool]]) -> Loop:
        edges = tuple(self.work.edges[k] if forwards else self.work.edges[k].reversed() for k, forwards in walked)
        ids, forwards = zip(*walked, strict=True)
        return Loop(edges, ids, forwards)

    def _tree(self, which: int) -> shapely.STRtree:
        if not self._trees:
            self._trees.append(shapely.STRtree([_box(ring) for ring in self.rings.values()]))
            self._trees.append(shapely.STRtree([shapely.LineString(edge.points) for edge in self.work.edges]))
        return self._trees[which]


def divided(work: Pieces, graph: Graph, size: tuple[float, float]) -> DrawnRegions:
    """Return the faces into which the edges of a drawing of `size` divide the plane."""
    arms = ordered_arms(work, graph, arms_of(graph.work))
    walked = walks(graph.work, arms)
    face_of = walked.face_of()
    rings = {int(face_of[k]): walked.rings[k] for k in np.flatnonzero(~walked.is_outer).tolist()}
    held: dict[int, list[Points]] = {}
    for k, holder in zip(np.flatnonzero(walked.is_outer).tolist(), _holders(walked, face_of), strict=True):
        face_of[k] = holder
        held.setdefault(holder, []).append(walked.rings[k])
    count = 2 + len(rings)
    area, boxes = np.zeros(count), np.zeros((count, 4))
    area[GROUND], boxes[GROUND] = size[0] * size[1], (0, 0, *size)
    np.add.at(area, face_of, walked.areas)
    for n, ring in rings.items():
        boxes[n] = (*ring.min(axis=0), *ring.max(axis=0))
    left, right = face_of[walked.orbit[::2]], face_of[walked.orbit[1::2]]
    labels = np.zeros((0, 0), np.int32)
    return DrawnRegions(
        graph.work, labels, left, right, np.maximum(area, 0.0), boxes, frozenset({GROUND}), arms,
        size=size, rings=rings, held=held,
    )  # fmt: skip


def _holders(walked: Walks, face_of: NDArray[np.int64]) -> list[int]:
    """Return the face in which each connected drawing stands: the smallest of another drawing that contains it."""
    outer = np.flatnonzero(walked.is_outer)
    inner = np.flatnonzero(~walked.is_outer & (walked.areas > 0))
    spots = [walked.rings[k][int(np.argmin(walked.rings[k][:, 0]))] for k in outer.tolist()]
    holders = [GROUND] * len(outer)
    if len(inner) == 0:
        return holders
    tree = shapely.STRtree([_box(walked.rings[k]) for k in inner.tolist()])
    best = np.full(len(outer), np.inf)
    for n, j in tree.query(shapely.points(np.array(spots))).T.tolist():
        k = int(inner[j])
        is_own = walked.component[k] == walked.component[outer[n]]
        if not is_own and walked.areas[k] < best[n] and _contains(walked.rings[k], spots[n]):
            best[n], holders[n] = walked.areas[k], int(face_of[k])
    return holders


def _box(ring: Points) -> Polygon:
    (x0, y0), (x1, y1) = ring.min(axis=0), ring.max(axis=0)
    return Polygon([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def _contains(ring: Points, point: Point | Points) -> bool:
    """Return whether a point lies in a ring, by even and odd: a boundary may run along itself, as by a free end."""
    x, y = ring[:, 0] - point[0], ring[:, 1] - point[1]
    after_x, after_y = np.roll(x, -1), np.roll(y, -1)
    crosses = (y > 0) != (after_y > 0)
    right = x[crosses] - y[crosses] * (after_x[crosses] - x[crosses]) / (after_y[crosses] - y[crosses]) > 0
    return bool(np.count_nonzero(right) % 2)


def _area(ring: Points) -> float:
    x, y = ring.T
    return 0.5 * float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))


def _valid(ring: Points) -> BaseGeometry:
    made: BaseGeometry = Polygon(ring) if len(ring) > 2 else Polygon()
    return made if made.is_valid else shapely.make_valid(made)
