"""Dashed and dash-dot lines: short strokes in a row are one line that bounds nothing by itself."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial import cKDTree

from vectorize.lines.graph import Edge, LineWork, filled, outward_directions
from vectorize.shapes.segment import Point, Points

LONGEST_DASH_MM = 25.0
"""A stroke longer than this is a line of its own (centre lines have dashes to about 20 mm)."""

WIDEST_SPACE_MM = 5.0
"""Spaces between the strokes of one dashed line are narrower than this."""

FEWEST_DASHES = 4
"""This many strokes in a row make a dashed line; fewer are a solid line with gaps."""

BROKEN_SPREAD = 0.4
BROKEN_SPACE_SHARE = 0.2
"""Strokes whose lengths differ by more than this, as the spread of their logarithms within each of the two kinds that a
chain has, with less than this share of the row in spaces, are a solid line that wear or a dry pen has broken. Of 52
dashed and chain lines in 20 random hands, 4 had a spread above 0.45, and those had a third of their length in spaces;
lengths between random breaks have one of 0.6 or more."""

CHAIN_RATIO = 2.0
CHAIN_TURNS = 0.6
"""Where so many links join two strokes of which one is this many times as long as the other, the row is a chain line:
long, short, long, or long, short, short, long. Dashes by hand differ by a fifth or so."""


@dataclass(frozen=True, slots=True)
class _End:
    """One end of a stroke: its edge, its node, where it is and where it points (away from the stroke).

    A stroke that goes round a corner soon after its end points where that short leg does, which is told badly, or
    where the whole does: `whole`.
    """

    edge: int
    node: int
    at: Point
    out: Point
    whole: Point
    length: float


def with_dashes(
    work: LineWork, *, gap_px: float, px_per_mm: float, pen_px: float, pen_changes: frozenset[int] = frozenset()
) -> LineWork:
    """Return the line work with dashed lines marked and their spaces filled by dashed bridges.

    A stroke ends freely, too, at the nodes `pen_changes`, where it meets a line of another pen. In a row that is a
    broken solid line, spaces of up to `gap_px` are bridged as gaps.
    """
    ends = _stroke_ends(work, px_per_mm, pen_px, pen_changes)
    rows = _rows(ends, _linked(ends, px_per_mm, pen_px))
    broken = [link for row in rows if _is_broken(work, ends, row) for link in row]
    links = [link for row in rows for link in row if link not in set(broken)]
    dashed, chain = {ends[i].edge for link in links for i in link}, _chain_strokes(ends, links)
    edges = [replace(e, is_dashed=True, is_chain=i in chain) if i in dashed else e for i, e in enumerate(work.edges)]
    spaces = [(_space(ends[i], ends[j], pen_px), not chain.isdisjoint((ends[i].edge, ends[j].edge))) for i, j in links]
    edges += [replace(space, is_chain=is_chain) for space, is_chain in spaces]
    gaps = [_space(ends[first], ends[second], pen_px) for first, second in broken]
    edges += [replace(gap, is_dashed=False) for gap in gaps if gap.length <= gap_px + pen_px]
    return LineWork(work.nodes, tuple(edges))


def _is_broken(work: LineWork, ends: Sequence[_End], row: Sequence[tuple[int, int]]) -> bool:
    """Whether strokes in a row are what is left between random breaks."""
    strokes = {ends[i].edge: ends[i].length for link in row for i in link}
    spaces = sum(math.dist(ends[i].at, ends[j].at) for i, j in row)
    # Where other lines cross a stroke, its pieces are shorter than it.
    degrees = work.degrees()
    whole = [v for k, v in strokes.items() if degrees[[work.edges[k].start, work.edges[k].end]].max() == 1]
    is_sparse = spaces < BROKEN_SPACE_SHARE * (spaces + sum(strokes.values()))
    return is_sparse and len(whole) >= FEWEST_DASHES and _spread(whole) > BROKEN_SPREAD


def _chain_strokes(ends: Sequence[_End], links: Sequence[tuple[int, int]]) -> set[int]:
    """Return the strokes about which long and short ones take turns: those of chain lines.

    Told from the links of a stroke and of its neighbours, since a row may go on in a dashed line.
    """
    by_edge: dict[int, list[tuple[int, int]]] = {}
    for link in links:
        for i in link:
            by_edge.setdefault(ends[i].edge, []).append(link)
    found = set()
    for edge, own in by_edge.items():
        near = {link for first in own for i in first for link in by_edge[ends[i].edge]}
        lengths = np.array([(ends[i].length, ends[j].length) for i, j in near])
        takes_turns = lengths.max(axis=1) > CHAIN_RATIO * lengths.min(axis=1)
        if np.mean(takes_turns) >= CHAIN_TURNS:
            found.add(edge)
    return found


def _spread(lengths: Sequence[float]) -> float:
    """Return the standard deviation of the logarithms within the two kinds of strokes that tell lengths apart best."""
    logs = np.sort(np.log(np.maximum(lengths, 1e-9)))
    squares = [
        float(np.sum((one - one.mean()) ** 2) + np.sum((other - other.mean()) ** 2))
        for one, other in (np.split(logs, [k]) for k in range(1, len(logs)))
    ]
    return math.sqrt(min(squares) / len(logs))


def _space(first: _End, second: _End, pen_px: float) -> Edge:
    """Return the bridge over a space, through the corner where the two strokes would make one."""
    first, second = _as_matched(first, second, pen_px, math.inf)
    bend = first.out[0] * second.out[0] + first.out[1] * second.out[1]
    corner = _corner(first, second, pen_px) if bend > -math.cos(math.radians(40.0)) else None
    path = [first.at, second.at] if corner is None else [first.at, corner, second.at]
    return Edge(first.node, second.node, filled(np.array(path)), is_bridge=True, is_dashed=True)


def _stroke_ends(work: LineWork, px_per_mm: float, pen_px: float, pen_changes: frozenset[int]) -> list[_End]:
    """Both ends of every stroke that could be a dash: nearly straight, short, with an end that is free."""
    degrees = work.degrees()
    ends = []
    for index, edge in enumerate(work.edges):
        length = edge.length
        if edge.is_loop or length > LONGEST_DASH_MM * px_per_mm:
            continue
        for node in (edge.start, edge.end):
            if degrees[node] != 1 and node not in pen_changes:
                continue
            reach = max(3.0 * pen_px, 2.0 * px_per_mm)
            leg, whole = outward_directions(edge, node, skip_px=0.5 * pen_px, reach_px=reach, pen_px=pen_px)
            at = work.nodes[node]
            ends.append(_End(index, node, (float(at[0]), float(at[1])), leg, whole, length))
    return ends


def _linked(ends: Sequence[_End], px_per_mm: float, pen_px: float) -> list[tuple[int, int]]:
    """Pairs of ends that point at each other across a space, each the other's best."""
    if len(ends) < 2:
        return []
    reach = WIDEST_SPACE_MM * px_per_mm
    best: dict[int, tuple[float, int]] = {}
    for i, j in cKDTree(np.array([end.at for end in ends])).query_pairs(reach):
        cost = _mismatch(*_as_matched(ends[i], ends[j], pen_px, reach), pen_px, reach)
        if cost is None:
            continue
        for a, b in ((i, j), (j, i)):
            if a not in best or (cost, b) < best[a]:
                best[a] = (cost, b)
    return sorted((i, j) for i, (_, j) in best.items() if i < j and best.get(j, (0, -1))[1] == i)


def _as_matched(one: _End, other: _End, pen_px: float, reach: float) -> tuple[_End, _End]:
    """Return two ends pointing where their legs do if they continue each other so, else where the whole strokes do."""
    if _mismatch(one, other, pen_px, reach) is not None:
        return one, other
    return replace(one, out=one.whole), replace(other, out=other.whole)


def _mismatch(one: _End, other: _End, pen_px: float, reach: float) -> float | None:
    """How badly two ends continue each other, straight or round a corner; None where they do not."""
    if one.edge == other.edge:
        return None
    dx, dy = other.at[0] - one.at[0], other.at[1] - one.at[1]
    space = math.hypot(dx, dy) or 1e-6
    # A dot has no direction of its own to speak of.
    is_dot = min(one.length, other.length) < 3.0 * pen_px
    limit = math.cos(math.radians(35.0 if is_dot else 22.0))
    ahead = (one.out[0] * dx + one.out[1] * dy) / space
    behind = -(other.out[0] * dx + other.out[1] * dy) / space
    longer = ahead if one.length >= other.length else behind
    if longer >= limit and (is_dot or min(ahead, behind) >= limit):
        return space * (3.0 - ahead - behind)
    corner = None if is_dot else _corner(one, other, pen_px)
    if corner is None:
        return None
    around = math.dist(one.at, corner) + math.dist(corner, other.at)
    return 2.0 * around if around < reach else None


def _corner(one: _End, other: _End, pen_px: float) -> Point | None:
    """Return where two ends meet if both are taken straight on, None where that is not ahead of both."""
    cross = one.out[0] * other.out[1] - one.out[1] * other.out[0]
    if abs(cross) < math.sin(math.radians(22.0)):
        return None
    dx, dy = other.at[0] - one.at[0], other.at[1] - one.at[1]
    s = (dx * other.out[1] - dy * other.out[0]) / cross
    t = (dx * one.out[1] - dy * one.out[0]) / cross
    if min(s, t) < -0.5 * pen_px:
        return None
    return (one.at[0] + s * one.out[0], one.at[1] + s * one.out[1])


def _rows(ends: Sequence[_End], links: Sequence[tuple[int, int]]) -> list[list[tuple[int, int]]]:
    """Return the links of each row with enough strokes and even spaces."""
    by_edge: dict[int, list[tuple[int, int]]] = {}
    for link in links:
        for i in link:
            by_edge.setdefault(ends[i].edge, []).append(link)
    kept: list[list[tuple[int, int]]] = []
    seen: set[int] = set()
    for edge in by_edge:
        if edge in seen:
            continue
        row, queue = set(), [edge]
        while queue:
            current = queue.pop()
            if current in row:
                continue
            row.add(current)
            queue.extend(ends[i].edge for link in by_edge[current] for i in link)
        seen |= row
        inside = sorted({link for member in row for link in by_edge[member]})
        if len(row) >= FEWEST_DASHES and _is_even(ends, inside):
            kept.append(inside)
    return kept


def _is_even(ends: Sequence[_End], links: Sequence[tuple[int, int]]) -> bool:
    """Whether spaces are alike and no space is long beside the strokes."""
    spaces: Points = np.array([math.dist(ends[i].at, ends[j].at) for i, j in links])
    strokes = np.array([max(ends[i].length, ends[j].length) for i, j in links])
    median = float(np.median(spaces))
    alike = np.mean((spaces > 0.5 * median) & (spaces < 1.8 * median))
    return bool(alike > 0.7 and median < 1.5 * float(np.median(strokes)))
