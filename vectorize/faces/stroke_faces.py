"""The plane divided by pieces of curves: faces, and the loops that bound a set of them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from vectorize.faces.stroke_chains import leaving_angle
from vectorize.lines.split_strokes import Pieces
from vectorize.shapes.segment import Point, Points

Step = tuple[int, bool]
"""A piece, and whether it is walked from its start to its end."""


@dataclass(frozen=True, slots=True, eq=False)
class Loop:
    """Steps once round with the face on the left (as x to y turns), the points walked and the area enclosed.

    The area is positive round a face and negative round everything that hangs together from outside.
    """

    steps: tuple[Step, ...]
    points: Points
    area: float
    polygon: BaseGeometry = field(repr=False)


@dataclass(frozen=True, slots=True, eq=False)
class Faces:
    """All loops of the chosen pieces, and the loop on the left of every step."""

    work: Pieces
    loops: tuple[Loop, ...]
    of_step: dict[Step, int]
    _after: dict[int, list[Step]]

    def at(self, point: Point) -> int | None:
        """Return the face around a point: the smallest loop that contains it; None outside of all."""
        spot = shapely.Point(point)
        around = [n for n, loop in enumerate(self.loops) if loop.area > 0 and shapely.contains(loop.polygon, spot)]
        return min(around, key=lambda n: self.loops[n].area, default=None)

    def boundary(self, chosen: Iterable[int]) -> list[Loop]:
        """Return the loops that bound the chosen faces together, the chosen side on the left."""
        inside = set(chosen)
        edges = {
            (piece, forwards)
            for n in inside
            for piece, forwards in self.loops[n].steps
            if self.of_step[piece, not forwards] not in inside
        }
        return _walked(self.work, edges, self._after)

    def islands(self, chosen: Iterable[int]) -> list[int]:
        """Return the loops round what lies freely inside the chosen faces and hangs together."""
        inside = set(chosen)
        found = []
        for n, loop in enumerate(self.loops):
            if loop.area < 0:
                holder = self._holder(loop)
                if holder in inside:
                    found.append(n)
        return found

    def _holder(self, island: Loop) -> int | None:
        """Return the face in which an island lies: the smallest that contains it, not counting its own."""
        own = {piece for piece, _ in island.steps}
        spot = shapely.Point(island.points[0])
        around = [
            n
            for n, loop in enumerate(self.loops)
            if loop.area > -island.area
            and not own & {piece for piece, _ in loop.steps}
            and shapely.contains(loop.polygon, spot)
        ]
        return min(around, key=lambda n: self.loops[n].area, default=None)


def divided(work: Pieces, chosen: Sequence[int], *, flat: float) -> Faces:
    """Return the faces into which the chosen pieces divide the plane.

    Free ends, and pieces with the same face on both sides, divide nothing and are left out.
    """
    members = set(_without_free_ends(work, chosen))
    while True:
        after = _around_nodes(work, members)
        steps = {(piece, forwards) for piece in members for forwards in (True, False)}
        loops = _walked(work, steps, after, flat=flat)
        of_step = {step: n for n, loop in enumerate(loops) for step in loop.steps}
        idle = {piece for piece in members if of_step[piece, True] == of_step[piece, False]}
        if not idle:
            return Faces(work, tuple(loops), of_step, after)
        members -= idle


def _without_free_ends(work: Pieces, chosen: Sequence[int]) -> list[int]:
    left = list(chosen)
    while True:
        count: dict[int, int] = defaultdict(int)
        for n in left:
            count[work.pieces[n].start] += 1
            count[work.pieces[n].end] += 1
        kept = [n for n in left if count[work.pieces[n].start] > 1 and count[work.pieces[n].end] > 1]
        if len(kept) == len(left):
            return kept
        left = kept


def _around_nodes(work: Pieces, members: Iterable[int]) -> dict[int, list[Step]]:
    """Return the steps that leave each node, sorted by direction."""
    leaving: dict[int, list[tuple[float, Step]]] = defaultdict(list)
    for n in members:
        piece = work.pieces[n]
        leaving[piece.start].append((leaving_angle(work, n, forwards=True), (n, True)))
        leaving[piece.end].append((leaving_angle(work, n, forwards=False), (n, False)))
    return {node: [step for _, step in sorted(steps)] for node, steps in leaving.items()}


def _walked(work: Pieces, steps: set[Step], after: dict[int, list[Step]], *, flat: float = 0.0) -> list[Loop]:
    """Walk all steps into loops: at each node turn as far left as the steps allow."""
    left = set(steps)
    loops = []
    for first in sorted(steps):
        if first not in left:
            continue
        walk = []
        step = first
        while step in left:
            left.discard(step)
            walk.append(step)
            step = _following(work, step, steps, after)
        loops.append(_loop(work, walk, flat))
    return loops


def _following(work: Pieces, step: Step, steps: set[Step], after: dict[int, list[Step]]) -> Step:
    piece, forwards = step
    node = work.pieces[piece].end if forwards else work.pieces[piece].start
    around = after[node]
    place = around.index((piece, not forwards))
    for turn in range(1, len(around) + 1):
        candidate = around[place - turn]
        if candidate in steps:
            return candidate
    return (piece, not forwards)


def _loop(work: Pieces, walk: Sequence[Step], flat: float) -> Loop:
    rows: list[Point] = []
    for n, forwards in walk:
        segment = work.pieces[n].segment
        rows.extend((segment if forwards else segment.reversed()).flattened(flat or segment.length / 16))
    points = np.array(rows)
    x, y = points.T
    area = 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
    polygon: BaseGeometry = shapely.Polygon(points) if len(points) > 2 else shapely.Polygon()
    if not polygon.is_valid:
        polygon = shapely.make_valid(polygon)
    shapely.prepare(polygon)
    return Loop(tuple(walk), points, area, polygon)
