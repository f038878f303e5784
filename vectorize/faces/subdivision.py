"""The planar subdivision that line work makes: which face lies on either side of every edge.

Faces are read from the graph itself, by walking every edge both ways and turning as sharply as possible at each node
(the doubly connected edge list of computational geometry: de Berg et al., Computational Geometry, 3rd ed., ch. 2).
So the boundary of any set of faces enters every node as often as it leaves it, whatever the picture looks like there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vectorize.lines.graph import Edge, LineWork, pieces_of
from vectorize.lines.runs import Arm
from vectorize.shapes.segment import Points

TELL_PX = 6.0
"""Arms that leave a node are put in order where they cross a circle of this radius, beyond the blot of ink where
they meet, or a smaller one for short arms."""

Labels = NDArray[np.int32]


@dataclass(frozen=True, slots=True, eq=False)
class Subdivision:
    """Faces are numbered from 1; `ground` is the one without a limit.

    `left` and `right` are the faces beside each edge as one walks it with y pointing down; `area` and `boxes`
    (x0, y0, x1, y1) are indexed by face (index 0 is nothing), the ground's are those of the page. `arms` gives for each
    node the edges that leave it, anticlockwise as seen on the picture, and which of their ends is there (0 the start).
    """

    left: NDArray[np.int64]
    right: NDArray[np.int64]
    area: Points
    boxes: Points
    ground: int
    labels: Labels
    arms: dict[int, tuple[Arm, ...]]


def subdivide(work: LineWork, *, rows: int, columns: int) -> Subdivision:
    """Return the faces of a line work on a page of `rows` by `columns` pixels.

    Edges may meet only at nodes. A face in which other drawings stand free has their outer sides as its boundary too.
    """
    arms = {node: _anticlockwise(work.edges, leaving) for node, leaving in arms_of(work).items()}
    walked = walks(work, arms)
    rings, areas, outer = walked.rings, walked.areas, walked.is_outer
    face_of = walked.face_of()
    labels = _painted(rings, areas, face_of, rows, columns)
    for k in np.flatnonzero(outer).tolist():
        face_of[k] = _around(rings[k], labels)
    left, right = face_of[walked.orbit[::2]], face_of[walked.orbit[1::2]]
    count = 2 + int(np.count_nonzero(~outer))
    area, boxes = np.zeros(count), np.zeros((count, 4))
    area[1], boxes[1] = rows * columns, (0, 0, columns, rows)
    for k, ring in enumerate(rings):
        area[face_of[k]] += areas[k]
        if not outer[k]:
            boxes[face_of[k]] = (*np.floor(ring.min(axis=0)), *np.ceil(ring.max(axis=0)) + 1)
    for edge in work.edges:
        cv2.polylines(labels, [np.round(edge.points).astype(np.int32)], False, (0,), 1, cv2.LINE_8)
    return Subdivision(left, right, np.maximum(area, 0.0), boxes, 1, labels, arms)


@dataclass(frozen=True, slots=True, eq=False)
class Walks:
    """All closed walks along the edges, each with one face on its left as one walks it with y pointing down.

    `orbit` is the walk that each directed edge is in (2k walks edge k, 2k + 1 back); `rings` are their points, `areas`
    positive round a face; one that `is_outer` goes round a connected drawing, the number of which is in `component`.
    """

    orbit: NDArray[np.int64]
    rings: list[Points]
    areas: NDArray[np.float64]
    is_outer: NDArray[np.bool_]
    component: NDArray[np.int64]

    def face_of(self) -> NDArray[np.int64]:
        """Return the number, from 2, of the face that each walk goes round; 0 for the outer ones."""
        faces = np.cumsum(~self.is_outer) + 1
        return np.asarray(np.where(self.is_outer, 0, faces), np.int64)


def walks(work: LineWork, arms: dict[int, tuple[Arm, ...]]) -> Walks:
    """Return the closed walks along the edges; `arms` leave each node anticlockwise as seen on the picture."""
    following = _following(len(work.edges), arms)
    orbit = _orbits(following)
    rings = _rings(work, following, orbit)
    areas = np.array([_signed_area(ring) for ring in rings])
    of_edge = pieces_of(work, is_whole=True)
    component = np.zeros(len(rings), np.int64)
    component[orbit[::2]] = of_edge
    component[orbit[1::2]] = of_edge
    return Walks(orbit, rings, areas, _outer_orbits(areas, component), component)


def arms_of(work: LineWork) -> dict[int, list[Arm]]:
    """Return the arms that leave each node, in no order."""
    leaving: dict[int, list[Arm]] = {}
    for k, edge in enumerate(work.edges):
        leaving.setdefault(edge.start, []).append((k, 0))
        leaving.setdefault(edge.end, []).append((k, 1))
    return leaving


def _following(count: int, arms: dict[int, tuple[Arm, ...]]) -> NDArray[np.int64]:
    """Return the directed edge that follows each with the same face on its left; 2k walks edge k, 2k + 1 back."""
    following = np.full(2 * count, -1, np.int64)
    for ordered in arms.values():
        for position, (edge, side) in enumerate(ordered):
            # Whoever arrives by the way back of an arm leaves by the first arm clockwise from it.
            after, its_side = ordered[position - 1]
            following[2 * edge + (1 - side)] = 2 * after + its_side
    return following


def _anticlockwise(edges: Sequence[Edge], arms: list[Arm]) -> tuple[Arm, ...]:
    """Return the arms of a node in the order in which they leave it, anticlockwise as seen on the picture."""
    if len(arms) < 3:
        return tuple(sorted(arms))
    paths = [_leaving(edges[edge], side) for edge, side in arms]
    reach = min(TELL_PX, *(0.7 * float(np.max(np.hypot(*(path - path[0]).T))) for path in paths))
    angles = [_angle_at(path, reach) for path in paths]
    return tuple(arm for _, arm in sorted(zip(angles, arms, strict=True)))


def _leaving(edge: Edge, is_back: int) -> Points:
    """Return enough of the points of an edge from the end at which it leaves."""
    far = math.ceil(4 * TELL_PX)
    return edge.points[: -far - 1 : -1] if is_back else edge.points[:far]


def _angle_at(path: Points, reach: float) -> float:
    """Return the direction, in radians anticlockwise on the picture, in which a path first leaves a circle."""
    away = np.hypot(*(path - path[0]).T)
    beyond = np.flatnonzero(away >= reach)
    k = int(beyond[0]) if len(beyond) else int(np.argmax(away))
    x, y = path[k] - path[0]
    if k > 0 and away[k] > away[k - 1]:
        # A long step, as bridges and merged crossings make, is cut at the circle itself.
        share = (reach - away[k - 1]) / (away[k] - away[k - 1])
        x, y = path[k - 1] + min(share, 1.0) * (path[k] - path[k - 1]) - path[0]
    return math.atan2(-y, x)


def _orbits(following: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return the number of the closed walk that each directed edge is in."""
    orbit = np.full(len(following), -1, np.int64)
    after = following.tolist()
    count = 0
    for first in range(len(after)):
        if orbit[first] >= 0:
            continue
        step = first
        while orbit[step] < 0:
            orbit[step] = count
            step = after[step]
        count += 1
    return orbit


def _rings(work: LineWork, following: NDArray[np.int64], orbit: NDArray[np.int64]) -> list[Points]:
    """Return the points of each closed walk, (N, 2), the first not repeated."""
    rings: list[Points] = []
    for first in np.unique(orbit, return_index=True)[1].tolist():
        pieces = []
        step = first
        while True:
            points = work.edges[step >> 1].points
            pieces.append(points[:0:-1] if step & 1 else points[:-1])
            step = int(following[step])
            if step == first:
                break
        rings.append(np.vstack(pieces))
    return rings


def _signed_area(ring: Points) -> float:
    """Return the area, positive where the ring has its inside on the picture's left."""
    x, y = ring.T
    return -0.5 * float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))


def _outer_orbits(areas: NDArray[np.float64], component: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Return which walks go round a whole connected drawing: the one with the least area of each."""
    outer = np.zeros(len(areas), np.bool_)
    if len(areas):
        order = np.lexsort((areas, component))
        first = np.flatnonzero(np.diff(component[order], prepend=-1))
        outer[order[first]] = True
    return outer


def _painted(
    rings: Sequence[Points], areas: NDArray[np.float64], face_of: NDArray[np.int64], rows: int, columns: int
) -> Labels:
    """Return the face at each pixel; what lies inside is painted over what lies around."""
    labels = np.ones((rows, columns), np.int32)
    for k in np.argsort(-areas, kind="stable").tolist():
        if face_of[k] and areas[k] > 0:
            cv2.fillPoly(labels, [np.round(rings[k]).astype(np.int32)], (int(face_of[k]),), cv2.LINE_8)
    return labels


def _around(ring: Points, labels: Labels) -> int:
    """Return the face in which a connected drawing stands: the one just left of its leftmost point."""
    x, y = ring[int(np.argmin(ring[:, 0]))]
    column, row = math.floor(x) - 1, min(max(round(y), 0), labels.shape[0] - 1)
    return int(labels[row, column]) if column >= 0 else 1
