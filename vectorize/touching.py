"""Stretches that two lines share where one only touches a closed loop of the other.

A fold or a datum line that touches a hole runs along it for as long as both pens overlap. That stretch goes on straight
in the line, so it counts as the line's; but without it the hole would come open when the line is crossed.
"""

from __future__ import annotations

import math

from vectorize.curve import Points
from vectorize.linework.graph import LineWork, end_direction
from vectorize.linework.runs import UNLIKE_SHARE, Run, Runs

SMOOTH_DEG = 62.0
"""A loop goes on through a shared stretch with no more bend than this at either end; a bay has corners."""

LONGEST_SHARE = 0.5
"""The stretch is less than this share of the rest of the loop: what is longer bounds a bay."""


def shared_stretches(work: LineWork, runs: Runs, ink: Points, *, reach_px: float) -> frozenset[int]:
    """Return the edges of other runs that smoothly close a run which ends on them with both its ends.

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
    return frozenset(found)


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
