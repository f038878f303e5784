"""The plane divided by line work: which region lies where, what bounds it, and how regions nest."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field

import cv2
import numpy as np
from numpy.typing import NDArray

from vectorize.faces.subdivision import subdivide
from vectorize.lines.graph import Edge, LineWork, end_direction
from vectorize.lines.runs import Arm
from vectorize.shapes.segment import Point, Points

Labels = NDArray[np.int32]


@dataclass(frozen=True, slots=True, eq=False)
class Regions:
    """Numbered regions of a page.

    `labels` is the region of each pixel, 0 on a line. `left` and `right` give, for every edge of `work`, the
    regions beside it as one walks it with y pointing down (left is at the walker's left hand on the picture).
    `area_px` and `boxes` (x0, y0, x1, y1) are indexed by region; `outside` holds the regions that reach the
    page's border. `arms` are the edges that leave each node, anticlockwise on the picture.
    """

    work: LineWork
    labels: Labels
    left: NDArray[np.int64]
    right: NDArray[np.int64]
    area_px: Points
    boxes: Points
    outside: frozenset[int]
    arms: dict[int, tuple[Arm, ...]]
    _neighbours: dict[int, list[tuple[int, int]]] = field(default_factory=dict)

    def at(self, point: Point) -> int | None:
        """Return the region at `point`, 0 on a line, None outside the page."""
        column, row = round(point[0]), round(point[1])
        rows, columns = self.labels.shape
        if not (0 <= row < rows and 0 <= column < columns):
            return None
        return int(self.labels[row, column])

    @property
    def extent(self) -> tuple[float, float]:
        """Return the width and height of the page."""
        rows, columns = self.labels.shape
        return columns, rows

    def near(self, point: Point, reach: float) -> set[int]:
        """Return the regions within `reach` of a point."""
        column, row, r = round(point[0]), round(point[1]), max(0, round(reach))
        window = self.labels[max(0, row - r) : row + r + 1, max(0, column - r) : column + r + 1]
        return {int(i) for i in np.unique(window)} - {0}

    def mask(self, region: int) -> NDArray[np.uint8] | None:
        """Return the region as 1 on a picture of 0, None on a page without a picture."""
        return np.asarray(self.labels == region, np.uint8)

    def deepest(self, region: int) -> Point:
        """Return the point of a region that is farthest from its edge."""
        x0, y0, x1, y1 = (int(v) for v in self.boxes[region])
        inside = np.zeros((y1 - y0 + 2, x1 - x0 + 2), np.uint8)
        inside[1:-1, 1:-1] = self.labels[y0:y1, x0:x1] == region
        depth = cv2.distanceTransform(inside, cv2.DIST_L2, 3)
        row, column = np.unravel_index(int(np.argmax(depth)), depth.shape)
        return (float(x0 + column - 1), float(y0 + row - 1))

    def neighbours(self) -> dict[int, list[tuple[int, int]]]:
        """Return, for each region, the edges that bound it, each with the region on its other side."""
        if self._neighbours:
            return self._neighbours
        found: dict[int, list[tuple[int, int]]] = defaultdict(list)
        for edge, (left, right) in enumerate(zip(self.left.tolist(), self.right.tolist(), strict=True)):
            if left != right:
                found[left].append((edge, right))
                found[right].append((edge, left))
        self._neighbours.update(found)
        return self._neighbours

    def holes(self, chosen: Iterable[int]) -> list[frozenset[int]]:
        """Return the sets of regions that the chosen ones enclose."""
        inside = frozenset(chosen)
        neighbours = self.neighbours()
        beside = {other for region in inside for _, other in neighbours.get(region, ())} - inside
        found: list[frozenset[int]] = []
        seen: set[int] = set()
        for first in sorted(beside):
            if first in seen:
                continue
            queue, group = [first], {first}
            # Whoever comes out need not go through all that lies out there.
            while queue and not group & self.outside:
                for _, other in neighbours.get(queue.pop(), ()):
                    if other not in inside and other not in group:
                        group.add(other)
                        queue.append(other)
            seen |= group
            if not group & self.outside:
                found.append(frozenset(group))
        return found

    def sides_in(self, chosen: Iterable[int]) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
        """Return for every edge whether a chosen region lies on its left, and on its right."""
        inside = np.zeros(len(self.area_px), np.bool_)
        inside[list(chosen)] = True
        return inside[self.left], inside[self.right]

    def bounds(self, chosen: Iterable[int]) -> NDArray[np.bool_]:
        """Return which edges have a chosen region on one side only."""
        left, right = self.sides_in(chosen)
        return np.asarray(left != right)

    def boundary(self, chosen: Iterable[int]) -> list[tuple[int, bool]]:
        """Return (edge, walked forwards) for every edge with a chosen region on its left only."""
        left, right = self.sides_in(chosen)
        forwards = [(int(i), True) for i in np.flatnonzero(left & ~right)]
        return forwards + [(int(i), False) for i in np.flatnonzero(right & ~left)]

    def loops(self, chosen: Iterable[int]) -> list[Loop]:
        """Return the closed loops that bound the chosen regions, the chosen side on the left."""
        edges = self.work.edges
        steps = self.boundary(chosen)
        return _chained([edges[i] if forwards else edges[i].reversed() for i, forwards in steps], steps)


@dataclass(frozen=True, slots=True, eq=False)
class Loop:
    """A closed chain of edges, turned the way they are walked.

    `ids` are their indices in the line work, where those with `forwards` lie the same way round.
    """

    edges: tuple[Edge, ...]
    ids: tuple[int, ...]
    forwards: tuple[bool, ...]

    @property
    def points(self) -> Points:
        """Return (N, 2) pixels once round, the first not repeated."""
        return np.vstack([edge.points[:-1] for edge in self.edges])

    @property
    def signed_area_px(self) -> float:
        """Return the area, positive where the loop has its inside on the picture's left (an exterior)."""
        x, y = self.points.T
        around = float(np.dot(x[:-1], y[1:]) - np.dot(y[:-1], x[1:]))
        return -0.5 * (around + float(x[-1] * y[0] - y[-1] * x[0]))


def divided(work: LineWork, *, rows: int, columns: int) -> Regions:
    """Return the regions between the lines on a page of `rows` by `columns` pixels."""
    found = subdivide(work, rows=rows, columns=columns)
    outside = frozenset({found.ground})
    return Regions(work, found.labels, found.left, found.right, found.area, found.boxes, outside, found.arms)


def _chained(edges: list[Edge], steps: list[tuple[int, bool]]) -> list[Loop]:
    """Join directed edges head to tail; where several leave a node, take the sharpest turn to the left."""
    leaving: dict[int, list[int]] = defaultdict(list)
    for index, edge in enumerate(edges):
        leaving[edge.start].append(index)
    unused = set(range(len(edges)))
    loops = []
    for first in range(len(edges)):
        if first not in unused:
            continue
        chain = [first]
        unused.discard(first)
        while edges[chain[-1]].end != edges[first].start:
            choices = [i for i in leaving[edges[chain[-1]].end] if i in unused]
            if not choices:
                break
            chosen = (
                choices[0] if len(choices) == 1 else _leftmost(edges[chain[-1]], [edges[i] for i in choices], choices)
            )
            chain.append(chosen)
            unused.discard(chosen)
        if edges[chain[-1]].end == edges[first].start:
            ids, forwards = zip(*(steps[i] for i in chain), strict=True)
            loops.append(Loop(tuple(edges[i] for i in chain), ids, forwards))
        else:
            unused.update(chain[1:])
    return loops


def _leftmost(arriving: Edge, leaving: list[Edge], indices: list[int]) -> int:
    """With the inside at the left, the leftmost turn keeps one loop from crossing another at a node."""
    back = end_direction(arriving, arriving.end, skip_px=2.0, reach_px=8.0)

    def turn(edge: Edge) -> float:
        out = end_direction(edge, edge.start, skip_px=2.0, reach_px=8.0)
        # Angle from the way back to the way out, clockwise on the picture; the smallest hugs the left.
        angle = math.atan2(back[0] * out[1] - back[1] * out[0], back[0] * out[0] + back[1] * out[1])
        return angle % (2 * math.pi)

    turns = [turn(edge) for edge in leaving]
    return indices[turns.index(min(turns))]
