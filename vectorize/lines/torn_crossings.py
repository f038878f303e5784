"""Crossings that the thinning tore apart are put together again.

Where two lines cross at a shallow angle, or three meet almost in one point, a skeleton shows two or three
junctions with short pieces between them. Such a piece goes when lines on its two sides go straight on
through it.
"""

from __future__ import annotations

import itertools
import math

import numpy as np

from vectorize.lines.graph import Edge, LineWork, merged
from vectorize.shapes.segment import Points

LONGEST_PENS = 10.0
"""At 6 degrees two lines share their ink over ten pen widths; shallower crossings stay torn."""

SURE_PENS = 4.0
"""Up to this length one line that goes straight on is enough; a longer piece must be shared by two that cross."""

APART_PENS = 1.5
"""Two whole crossings that lie farther apart than this are two: a hole's edge and the centre line in it, two spars."""

_BEND_DEG = 28.0
_ASIDE_DEG = 18.0
_HOOK_PENS = 2.0
_ROUNDS = 3


def with_crossings(work: LineWork, *, pen_px: float, reach_px: float) -> LineWork:
    """Return the line work with torn crossings merged; directions are judged over `reach_px`."""
    for _ in range(_ROUNDS):
        torn = _torn(work, pen_px, reach_px)
        if not torn:
            break
        work = merged(work, torn)
    return work


def _torn(work: LineWork, pen_px: float, reach_px: float) -> list[int]:
    """Return the short edges between junctions that some line passes straight through."""
    at = work.at_nodes()
    torn = []
    for index, edge in enumerate(work.edges):
        is_inner = len(at[edge.start]) >= 3 and len(at[edge.end]) >= 3 and not edge.is_loop
        if not is_inner or edge.length > LONGEST_PENS * pen_px:
            continue
        if min(len(at[edge.start]), len(at[edge.end])) >= 4 and edge.length > APART_PENS * pen_px:
            continue
        before = [_arm(work.edges[i], edge.start, pen_px, reach_px) for i in at[edge.start] if i != index]
        after = [_arm(work.edges[i], edge.end, pen_px, reach_px) for i in at[edge.end] if i != index]
        through = [
            (i, j) for (i, a), (j, b) in itertools.product(enumerate(before), enumerate(after)) if _goes_on(a, b)
        ]
        is_cross = any(i != k and j != m for (i, j), (k, m) in itertools.combinations(through, 2))
        if through and (edge.length <= SURE_PENS * pen_px or is_cross):
            torn.append(index)
    return torn


def _arm(edge: Edge, node: int, pen_px: float, reach_px: float) -> tuple[Points, Points]:
    """Return a point on the edge, beyond the hook that a shallow crossing makes, and the direction from there on."""
    points = edge.points if edge.start == node else edge.points[::-1]
    away = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    spots = [min(_HOOK_PENS * pen_px, away[-1] / 3), min(_HOOK_PENS * pen_px + reach_px, away[-1])]
    near, far = (np.array([np.interp(s, away, points[:, k]) for k in (0, 1)]) for s in spots)
    step = far - near
    return near, step / max(float(np.hypot(*step)), 1e-9)


def _goes_on(one: tuple[Points, Points], other: tuple[Points, Points]) -> bool:
    """Whether coming in along one arm and going out along the other is straight, and in line."""
    across = other[0] - one[0]
    across = across / max(float(np.hypot(*across)), 1e-9)
    coming = -one[1]
    return (
        float(coming @ other[1]) > math.cos(math.radians(_BEND_DEG))
        and float(coming @ across) > math.cos(math.radians(_ASIDE_DEG))
        and float(across @ other[1]) > math.cos(math.radians(_ASIDE_DEG))
    )
