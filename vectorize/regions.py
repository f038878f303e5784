"""The plane divided by line work: which region lies where, what bounds it, and how regions nest."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vectorize.curve import Point, Points
from vectorize.linework.graph import Edge, LineWork, end_direction
from vectorize.linework.mend import mended

Labels = NDArray[np.int32]


@dataclass(frozen=True, slots=True, eq=False)
class Regions:
    """Numbered regions of a page.

    `labels` is the region of each pixel, 0 on a line. `left` and `right` give, for every edge of `work`, the
    regions beside it as one walks it with y pointing down (left is at the walker's left hand on the picture).
    `area_px` and `boxes` (x0, y0, x1, y1) are indexed by region; `outside` holds the regions that reach the
    page's border.
    """

    work: LineWork
    labels: Labels
    left: NDArray[np.int64]
    right: NDArray[np.int64]
    area_px: Points
    boxes: Points
    outside: frozenset[int]

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

    def boundary(self, chosen: Iterable[int]) -> list[tuple[int, bool]]:
        """Return (edge, walked forwards) for every edge with a chosen region on its left only."""
        inside = np.zeros(len(self.area_px), np.bool_)
        inside[list(chosen)] = True
        left, right = inside[self.left], inside[self.right]
        forwards = [(int(i), True) for i in np.flatnonzero(left & ~right)]
        return forwards + [(int(i), False) for i in np.flatnonzero(right & ~left)]

    def loops(self, chosen: Iterable[int]) -> list[Loop]:
        """Return the closed loops that bound the chosen regions, the chosen side on the left."""
        edges = self.work.edges
        steps = _without_dead_ends(edges, mended(edges, self.boundary(chosen)))
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
        return -0.5 * float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))


def divided(work: LineWork, skeleton: NDArray[np.bool_]) -> Regions:
    """Return the regions between the lines of a skeleton; bridges of `work` are drawn in as walls."""
    free = (~skeleton).astype(np.uint8)
    for edge in work.edges:
        if edge.is_bridge:
            # A wall must be 8-connected only: regions are told apart along straight steps.
            cv2.polylines(free, [np.round(edge.points).astype(np.int32)], False, (0,), 1, cv2.LINE_8)
    _, found, stats, _ = cv2.connectedComponentsWithStats(free, connectivity=4, ltype=cv2.CV_32S)
    labels = np.asarray(found, np.int32)
    left, right = _sides(work, labels)
    x0, y0 = stats[:, cv2.CC_STAT_LEFT], stats[:, cv2.CC_STAT_TOP]
    boxes = np.column_stack([x0, y0, x0 + stats[:, cv2.CC_STAT_WIDTH], y0 + stats[:, cv2.CC_STAT_HEIGHT]])
    rim = np.concatenate([labels[0], labels[-1], labels[:, 0], labels[:, -1]])
    outside = frozenset(int(i) for i in np.unique(rim) if i != 0)
    area = stats[:, cv2.CC_STAT_AREA].astype(np.int64)
    return Regions(work, labels, left, right, area.astype(np.float64), boxes.astype(np.float64), outside)


def _sides(work: LineWork, labels: Labels) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Vote, along each edge, on the regions one to two pixels to its left and right."""
    if not work.edges:
        return np.zeros(0, np.int64), np.zeros(0, np.int64)
    lines = [_middle(edge) for edge in work.edges]
    counts = np.array([len(line) for line in lines])
    owner = np.repeat(np.arange(len(counts)), counts)
    points = np.vstack(lines)
    step = _steps(points, owner)
    sides = []
    for sign in (1.0, -1.0):
        normal = sign * np.column_stack([step[:, 1], -step[:, 0]])
        votes_owner, votes_label = [], []
        for far in (1.0, 1.5, 2.0):
            at = np.round(points + far * normal).astype(np.intp)
            at[:, 0] = np.clip(at[:, 0], 0, labels.shape[1] - 1)
            at[:, 1] = np.clip(at[:, 1], 0, labels.shape[0] - 1)
            found = labels[at[:, 1], at[:, 0]]
            votes_owner.append(owner[found > 0])
            votes_label.append(found[found > 0])
        sides.append(_majority(np.concatenate(votes_owner), np.concatenate(votes_label), len(counts)))
    return sides[0], sides[1]


def _middle(edge: Edge) -> Points:
    """Return an edge's points without those close to its ends, where other regions are near; bridges are filled."""
    points = edge.points
    if edge.is_bridge:
        pairs = itertools.pairwise(points)
        points = np.vstack([np.linspace(a, b, max(2, math.ceil(math.dist(a, b)) + 1)) for a, b in pairs])
    spare = min(3, (len(points) - 3) // 2)
    return points[spare : len(points) - spare] if spare > 0 else points


def _steps(points: Points, owner: NDArray[np.int64]) -> Points:
    """Unit direction at each point from its neighbours on the same edge, two each way where there are."""
    ahead, behind = points.copy(), points.copy()
    for reach in (1, 2):
        same = owner[reach:] == owner[:-reach]
        ahead[:-reach][same] = points[reach:][same]
        behind[reach:][same] = points[:-reach][same]
    step = ahead - behind
    return np.asarray(step / np.maximum(np.hypot(*step.T), 1e-9)[:, None], np.float64)


def _majority(owner: NDArray[np.int64], label: NDArray[np.int32], count: int) -> NDArray[np.int64]:
    """Return the most frequent label of each owner, 0 where there is none."""
    winner = np.zeros(count, np.int64)
    if len(owner) == 0:
        return winner
    key = owner * (int(label.max()) + 1) + label
    unique, votes = np.unique(key, return_counts=True)
    order = np.argsort(votes, kind="stable")
    winner[unique[order] // (int(label.max()) + 1)] = unique[order] % (int(label.max()) + 1)
    return winner


def _without_dead_ends(edges: Sequence[Edge], steps: list[tuple[int, bool]]) -> list[tuple[int, bool]]:
    """Drop edges that lead nowhere: too short to tell their sides apart, they were taken for boundary."""
    while True:
        ends = [(edges[i].start, edges[i].end) if forwards else (edges[i].end, edges[i].start) for i, forwards in steps]
        starts, stops = {a for a, _ in ends}, {b for _, b in ends}
        kept = [step for step, (a, b) in zip(steps, ends, strict=True) if a in stops and b in starts]
        if len(kept) == len(steps):
            return kept
        steps = kept


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
