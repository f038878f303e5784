"""Leaders: from the lettering that they start at to what they point at.

A leader begins with a free end beside its text, runs straight or round a gentle bend over whatever it crosses, and
ends in an arrow, a dot or nothing. It is followed along the line work, straight on wherever lines meet.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from vectorize.lines.graph import LineWork, end_direction
from vectorize.shapes.segment import Point, Points

BEGINS_MM = 3.0
"""A leader begins within this distance of the box of its text, or within a height of it if that is more."""

LEAST_MM = 1.5
MOST_MM = 200.0
"""A leader is longer and shorter than this."""

BEND_DEG = 40.0
"""Where lines meet, a leader goes on within this angle of straight."""

SKIP_PENS, REACH_MM = 2.0, 2.5
"""Directions are told between so many pens and so many millimetres from where lines meet."""


def find_leaders(
    work: LineWork, boxes: Sequence[Points], *, px_per_mm: float, pen_px: float, starts_anywhere: bool = False
) -> dict[int, Point]:
    """Return where the leader of each box ends, in pixels; boxes without one are left out.

    Args:
        work: The lines of the sheet.
        boxes: (4, 2) corners of each text, or of the ring of a balloon.
        px_per_mm: Pixels per millimetre.
        pen_px: Width of the lines.
        starts_anywhere: Whether a leader may begin on another line, as on the ring of a balloon.
    """
    degrees = work.degrees()
    at_nodes = work.at_nodes()
    nodes = np.flatnonzero(degrees >= 1 if starts_anywhere else degrees == 1)
    found = {}
    for index, box in enumerate(boxes):
        reach = max(BEGINS_MM * px_per_mm, math.dist(box[1], box[2]))
        near = nodes[_outside(box, work.nodes[nodes]) <= reach].tolist()
        ways = [
            way
            for node in near
            for edge in at_nodes[node]
            if (way := _followed(work, at_nodes, edge, node, box, px_per_mm=px_per_mm, pen_px=pen_px)) is not None
        ]
        if ways:
            found[index] = max(ways)[1]
    return found


def _followed(
    work: LineWork,
    at_nodes: Mapping[int, list[int]],
    edge: int,
    node: int,
    box: Points,
    *,
    px_per_mm: float,
    pen_px: float,
) -> tuple[float, Point] | None:
    """Return how far from the box the line that begins at a node leads, and where to; None where it is no leader."""
    seen: set[int] = set()
    length = 0.0
    at = node
    while True:
        line = work.edges[edge]
        if line.is_dashed or edge in seen or line.is_loop:
            return None
        seen.add(edge)
        length += line.length
        if length > MOST_MM * px_per_mm:
            return None
        at = line.end if line.start == at else line.start
        onward = _straight_on(work, at_nodes[at], edge, at, px_per_mm=px_per_mm, pen_px=pen_px)
        if onward is None:
            break
        edge = onward
    x, y = work.nodes[at].tolist()
    away = float(_outside(box, work.nodes[at][None])[0])
    is_leader = length > LEAST_MM * px_per_mm and away > 0.6 * length
    return (away, (float(x), float(y))) if is_leader else None


def _straight_on(
    work: LineWork, here: Sequence[int], edge: int, node: int, *, px_per_mm: float, pen_px: float
) -> int | None:
    """Return the edge that goes on most nearly straight from a node; None where none does."""
    arrives = np.negative(
        end_direction(work.edges[edge], node, skip_px=SKIP_PENS * pen_px, reach_px=REACH_MM * px_per_mm)
    )
    best: tuple[float, int | None] = (math.cos(math.radians(BEND_DEG)), None)
    for other in here:
        line = work.edges[other]
        if other == edge or line.is_loop:
            continue
        leaves = end_direction(line, node, skip_px=SKIP_PENS * pen_px, reach_px=REACH_MM * px_per_mm)
        straight = float(np.dot(arrives, leaves))
        if straight > best[0]:
            best = (straight, other)
    return best[1]


def _outside(box: Points, points: Points) -> Points:
    """Return how far (N, 2) points lie from a rectangle with four corners, 0 in it."""
    away = []
    for side in (box[1] - box[0], box[3] - box[0]):
        size = max(float(np.hypot(*side)), 1e-9)
        place = (points - box[0]) @ side / size
        away.append(np.maximum(0.0, np.maximum(-place, place - size)))
    return np.asarray(np.hypot(*away), np.float64)
