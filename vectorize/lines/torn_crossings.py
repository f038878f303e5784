"""Crossings that the thinning tore apart are put together again.

Where two lines cross at a shallow angle, or three meet almost in one point, a skeleton shows two or three
junctions with short pieces between them. Such a piece goes when lines on its two sides go straight on
through it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from vectorize.lines.graph import Edge, LineWork, merged
from vectorize.shapes.segment import Points

LONGEST_PENS = 10.0
"""At 6 degrees two lines share their ink over ten pen widths; shallower crossings stay torn."""

SURE_PENS = 4.0
"""Up to this length one line that goes straight on is enough where another comes along it and leaves it, as a circle
that it grazes does; a longer piece must be shared by two that cross."""

APART_PENS = 1.5
"""Two whole crossings that lie farther apart than this are two: a hole's edge and the centre line in it, two spars. So
are two lines that end on a third, as the next strokes of a hatching do: of 344 parts in 30 random hands 291 can
be made of the faces, 280 where any two such lines made one crossing; of 703 in 60 other hands 601 instead of 595; of
517 in 40 more, which were not looked at, 437 either way."""

_BEND_DEG = 28.0
_ASIDE_DEG = 18.0
_LEAN_DEG = 75.0
"""By how much a line leans to the one that it comes along; the stroke of a hatching leans on one side only. Chosen so
that lines which graze a bolt hole leave it round (`test_touching`), not measured."""

_HOOK_PENS = 2.0
_ROUNDS = 3


@dataclass(frozen=True, slots=True, eq=False)
class _Arm:
    """A line that leaves a junction: a point on it beyond the hook that a shallow crossing makes, and its direction.

    `leaves` is the way from the junction to that point; the direction is that of the line from there on.
    """

    near: Points
    leaves: Points
    direction: Points

    def goes_on(self, other: _Arm) -> bool:
        """Whether coming in along this arm and going out along the other is straight, and in line."""
        across = other.near - self.near
        across = across / max(float(np.hypot(*across)), 1e-9)
        coming = -self.direction
        return (
            float(coming @ other.direction) > math.cos(math.radians(_BEND_DEG))
            and float(coming @ across) > math.cos(math.radians(_ASIDE_DEG))
            and float(across @ other.direction) > math.cos(math.radians(_ASIDE_DEG))
        )


def with_crossings(work: LineWork, *, pen_px: float, reach_px: float) -> LineWork:
    """Return the line work with torn crossings merged; directions are judged over `reach_px`."""
    for _ in range(_ROUNDS):
        torn = _torn(work, pen_px, reach_px)
        if not torn:
            break
        work = merged(work, _not_in_a_row(work, torn))
    return work


def _torn(work: LineWork, pen_px: float, reach_px: float) -> list[int]:
    """Return the short edges between junctions that some line passes straight through."""
    at = work.at_nodes()
    torn = []
    for index, edge in enumerate(work.edges):
        counts = (len(at[edge.start]), len(at[edge.end]))
        if min(counts) < 3 or edge.is_loop or edge.length > LONGEST_PENS * pen_px:
            continue
        if min(counts) >= 4 and edge.length > APART_PENS * pen_px:
            continue
        before, after = (
            [_arm(work.edges[i], node, pen_px, reach_px) for i in at[node] if i != index]
            for node in (edge.start, edge.end)
        )
        if _is_torn(before, after, edge.length / pen_px):
            torn.append(index)
    return torn


def _is_torn(before: Sequence[_Arm], after: Sequence[_Arm], pens: float) -> bool:
    """Whether a piece so many pens long, between these lines at its two ends, is no line of its own."""
    through = [
        (i, j) for i, j in itertools.product(range(len(before)), range(len(after))) if before[i].goes_on(after[j])
    ]
    if any(i != k and j != m for (i, j), (k, m) in itertools.combinations(through, 2)):
        return True
    is_near = pens <= APART_PENS
    return any(is_near or (pens <= SURE_PENS and _is_grazed(before, after, i, j)) for i, j in through)


def _is_grazed(before: Sequence[_Arm], after: Sequence[_Arm], into: int, out: int) -> bool:
    """Whether another line comes along the one that goes on from `into` to `out`, and leaves it again."""
    line = after[out].near - before[into].near
    least = math.cos(math.radians(_LEAN_DEG)) * max(float(np.hypot(*line)), 1e-9)

    def leans(arm: _Arm, along: Points) -> bool:
        return float(arm.leaves @ along) > least * float(np.hypot(*arm.leaves))

    comes = any(leans(arm, -line) for k, arm in enumerate(before) if k != into)
    return comes and any(leans(arm, line) for k, arm in enumerate(after) if k != out)


def _not_in_a_row(work: LineWork, torn: Sequence[int]) -> list[int]:
    """Return the shortest of the torn pieces, no two with a junction in common.

    A line that many others cross is torn again and again; shrunk together, it would be one point.
    """
    taken: set[int] = set()
    kept = []
    for index in sorted(torn, key=lambda k: work.edges[k].length):
        ends = {work.edges[index].start, work.edges[index].end}
        if taken.isdisjoint(ends):
            taken |= ends
            kept.append(index)
    return kept


def _arm(edge: Edge, node: int, pen_px: float, reach_px: float) -> _Arm:
    points = edge.points if edge.start == node else edge.points[::-1]
    away = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    spots = [min(_HOOK_PENS * pen_px, away[-1] / 3), min(_HOOK_PENS * pen_px + reach_px, away[-1])]
    near, far = (np.array([np.interp(s, away, points[:, k]) for k in (0, 1)]) for s in spots)
    step = far - near
    return _Arm(near, near - points[0], step / max(float(np.hypot(*step)), 1e-9))
