"""Stretches that two lines share where one only touches a closed loop of the other.

A fold or a datum line that touches a hole runs along it for as long as both pens overlap. That stretch goes on straight
in the line, so it counts as the line's; but without it the hole would come open when the line is crossed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from vectorize.lines.graph import UNLIKE_SHARE, LineWork, end_direction
from vectorize.lines.runs import Run, Runs
from vectorize.shapes.primitives import fit_circle
from vectorize.shapes.segment import Points

SMOOTH_DEG = 62.0
"""A loop goes on through a shared stretch with no more bend than this at either end; a bay has corners."""

LONGEST_SHARE = 0.5
"""The stretch is less than this share of the rest of the loop: what is longer bounds a bay."""

ROUND_SHARE = 0.04
"""Nine tenths of an arc lie within this share of its radius, and half a pixel of thinning, of its circle."""

CHORD_SHARE = 0.55
CHORD_PENS = 1.6
"""A line that cuts off no more than this share of the radius, and of the pen's width, has swallowed what it cuts off
where that is not seen; what is cut off farther in is a flat that was meant."""

LEAST_ARC = 0.6
"""An arc goes at least so far round its circle; the rest is the stretch that closes it."""


def shared_stretches(work: LineWork, runs: Runs, ink: Points, *, reach_px: float, pen_px: float) -> frozenset[int]:
    """Return the edges that close a loop which another line only touches.

    They belong to another run, and smoothly close one which ends on them with both its ends; or they make a circle
    with an arc that ends where they do, whichever run either belongs to.

    Directions are told over `reach_px`; `ink` is what each edge carries across, nan where unknown. Where two pens
    overlap there is the ink of both: a line that carries less than the loop is none of its stretches.
    """
    found: set[int] = set()
    at_nodes = work.at_nodes()
    for number, run in enumerate(runs.runs):
        ends = _stem_ends(work, runs, run) if run.stems == 2 and run.loose == 0 and not run.is_dashed else []
        if len(ends) != 2 or ends[0][1] == ends[1][1]:
            continue
        longest = LONGEST_SHARE * sum(work.edges[k].length for k in run.edges)
        least = UNLIKE_SHARE * ink[max(run.edges, key=lambda k: work.edges[k].length)]
        for first in at_nodes[ends[0][1]]:
            if runs.of_edge[first] == number or not _is_smooth(work, ends[0], first, reach_px):
                continue
            stretch = _stretch(work, runs, at_nodes, first, ends[0][1], ends[1][1], longest)
            if any(ink[k] < least for k in stretch):
                continue
            if stretch and _is_smooth(work, ends[1], stretch[-1], reach_px):
                found |= set(stretch)
    return frozenset(found) | _whole_circles(work, runs, pen_px)


def _whole_circles(work: LineWork, runs: Runs, pen_px: float) -> frozenset[int]:
    """Return the pairs of edges between the same two places of which one is an arc and the other closes its circle."""
    between: dict[tuple[int, int], list[int]] = {}
    for number, edge in enumerate(work.edges):
        if not edge.is_loop and len(edge.points) > 2:
            between.setdefault((min(edge.start, edge.end), max(edge.start, edge.end)), []).append(number)
    found: set[int] = set()
    for numbers in between.values():
        for arc in numbers if len(numbers) > 1 else ():
            other = _closing(work, runs, arc, numbers, pen_px)
            found |= set() if other is None else {arc, other}
    return frozenset(found)


def _closing(work: LineWork, runs: Runs, arc: int, between: Sequence[int], pen_px: float) -> int | None:
    """Return which of the edges between the ends of an arc closes its circle: the nearest to it, if that is near.

    None where both go on at both their ends: then each belongs to a line of its own, and outlines may overlap.
    """
    edge = work.edges[arc]
    circle = fit_circle(edge.points)
    if circle is None or edge.length < LEAST_ARC * 2 * math.pi * circle.radius:
        return None
    if np.quantile(np.abs(circle.distances(edge.points)), 0.9) > ROUND_SHARE * circle.radius + 0.5:
        return None
    away = {k: float(np.max(np.abs(circle.distances(work.edges[k].points)))) for k in between if k != arc}
    other = min(away, key=away.__getitem__)
    if all((k, side) in runs.partner for k in (arc, other) for side in (0, 1)):
        return None
    share = (edge.length + work.edges[other].length) / (2 * math.pi * circle.radius)
    return (
        other if away[other] < min(CHORD_SHARE * circle.radius, CHORD_PENS * pen_px) and 0.85 < share < 1.25 else None
    )


def _stem_ends(work: LineWork, runs: Runs, run: Run) -> list[tuple[int, int]]:
    """Return (edge, node) of the ends at which a run goes on into nothing."""
    sides = [(k, side, node) for k in run.edges for side, node in enumerate((work.edges[k].start, work.edges[k].end))]
    return [(k, node) for k, side, node in sides if (k, side) not in runs.partner]


def _stretch(
    work: LineWork, runs: Runs, at_nodes: dict[int, list[int]], first: int, start: int, goal: int, longest: float
) -> list[int]:
    """Return the edges of one run from `start`, `first` being the first of them, to `goal`; none if that is too far."""
    chain, node, length = [first], start, 0.0
    while True:
        edge = work.edges[chain[-1]]
        node, length = edge.end if edge.start == node else edge.start, length + edge.length
        if length > longest or edge.is_loop:
            return []
        if node == goal:
            return chain
        after = [k for k in at_nodes[node] if k not in chain and runs.of_edge[k] == runs.of_edge[first]]
        if len(after) != 1:
            return []
        chain.append(after[0])


def _is_smooth(work: LineWork, end: tuple[int, int], other: int, reach_px: float) -> bool:
    """Return whether a run that ends with (edge, node) goes on into another edge at that node."""
    edge, node = end
    if node not in (work.edges[other].start, work.edges[other].end):
        return False
    (ax, ay), (bx, by) = (
        end_direction(work.edges[k], node, skip_px=0.2 * reach_px, reach_px=reach_px) for k in (edge, other)
    )
    return ax * bx + ay * by < -math.cos(math.radians(SMOOTH_DEG))
