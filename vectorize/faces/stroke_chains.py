"""Strokes that join end to end are one chain; which chains can be the outline of a part."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.cluster.hierarchy import DisjointSet

from vectorize.faces.cutouts import LETTER_MM
from vectorize.lines.split_strokes import Pieces
from vectorize.page.plan_page import Stroke
from vectorize.shapes.segment import Line

THIN_SHARE = 0.62
"""A line with less than this share of the outlines' pen width is a thinner line, not an outline."""

_HATCH_LINES = 4
_HATCH_MM = 6.0


@dataclass(frozen=True, slots=True)
class Chain:
    """Pieces of strokes that join end to end; an open one has the two nodes where it ends."""

    strokes: tuple[int, ...]
    pieces: tuple[int, ...]
    ends: tuple[int, ...]
    is_dashed: bool
    pen: float
    length: float
    size: float

    @property
    def is_closed(self) -> bool:
        """Return whether the chain closes on itself."""
        return not self.ends


def found_chains(work: Pieces) -> tuple[Chain, ...]:
    """Join strokes at every node where exactly two ends of strokes of one kind meet."""
    ends: dict[tuple[int, bool], list[int]] = defaultdict(list)
    of_stroke: dict[int, list[int]] = defaultdict(list)
    for n, piece in enumerate(work.pieces):
        for stroke in {piece.stroke, *piece.shared}:
            of_stroke[stroke].append(n)
    for stroke in of_stroke:
        for node in work.ends[stroke]:
            ends[node, work.strokes[stroke].is_dashed].append(stroke)
    groups = DisjointSet(of_stroke)
    joined: set[tuple[int, int]] = set()
    for (node, _), strokes in ends.items():
        if len(strokes) == 2:
            groups.merge(*strokes)
            joined.update((node, stroke) for stroke in strokes)
    return tuple(
        _chain(work, sorted(group), of_stroke, [n for s in group for n in work.ends[s] if (n, s) not in joined])
        for group in sorted(groups.subsets(), key=min)
    )


def _chain(work: Pieces, strokes: Sequence[int], of_stroke: dict[int, list[int]], ends: list[int]) -> Chain:
    members = tuple(dict.fromkeys(n for s in strokes for n in of_stroke[s]))
    lengths = [work.pieces[n].segment.length for n in members]
    nodes = work.nodes[[node for n in members for node in (work.pieces[n].start, work.pieces[n].end)]]
    middles = np.array([work.pieces[n].segment.point_at(0.5) for n in members])
    spread = np.ptp(np.vstack([nodes, middles]), axis=0)
    pens: list[Stroke] = [work.strokes[s] for s in strokes]
    return Chain(
        tuple(strokes),
        members,
        tuple(ends),
        all(stroke.is_dashed for stroke in pens),
        max(stroke.pen_width for stroke in pens),
        sum(lengths),
        float(spread.max()),
    )


def bounding_chains(
    work: Pieces, chains: Sequence[Chain], *, per_mm: float, overshoot: float, is_dashed: bool, kept: Iterable[int] = ()
) -> set[int]:
    """Return which chains bound parts: not those that run through, end in the open, hatch, or are thin.

    Args:
        work: The pieces.
        chains: Their chains.
        per_mm: Page units per millimetre.
        overshoot: A line may go on past its corner by this much.
        is_dashed: Whether dashed chains bound, instead of solid ones.
        kept: Chains that bound in any case.
    """
    kept = set(kept)
    chosen = {k for k, chain in enumerate(chains) if chain.is_dashed == is_dashed} | kept
    outlines = [chains[k] for k in chosen if chains[k].is_closed and chains[k].size > LETTER_MM * per_mm]
    pen = _usual_pen(outlines)
    chosen -= {k for k in chosen - kept if chains[k].pen < THIN_SHARE * pen and chains[k].pen > 0}
    chosen -= _hatching(work, chains, chosen - kept, per_mm)
    chosen -= {k for k in chosen - kept if not chains[k].is_closed and _crosses(work, chains, k, chosen, per_mm)}
    while True:
        users = _users(work, chains, chosen)
        hanging = {k for k in chosen - kept if _hangs(work, chains, k, users, overshoot)}
        if not hanging:
            return chosen
        chosen -= hanging


def _usual_pen(outlines: Sequence[Chain]) -> float:
    """Return the pen with which most of the length of closed chains is drawn."""
    lengths: dict[float, float] = defaultdict(float)
    for chain in outlines:
        lengths[round(chain.pen, 6)] += chain.length
    return max(lengths, key=lambda pen: lengths[pen]) if lengths else 0.0


def _hatching(work: Pieces, chains: Sequence[Chain], chosen: set[int], per_mm: float) -> set[int]:
    """Return straight open chains that lie in rows: four or more alike in direction, evenly and closely spaced."""
    rows: dict[int, list[tuple[float, int]]] = defaultdict(list)
    for k in chosen:
        pieces = [work.pieces[n].segment for n in chains[k].pieces]
        if chains[k].is_closed or len(chains[k].ends) != 2 or not all(isinstance(s, Line) for s in pieces):
            continue
        a, b = (work.nodes[node] for node in chains[k].ends)
        reach = math.dist(a, b)
        if reach == 0 or chains[k].length > 1.001 * reach:
            continue
        angle = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) % 180.0
        normal = (-(b[1] - a[1]) / reach, (b[0] - a[0]) / reach)
        side = 1.0 if normal[0] > 0 or (normal[0] == 0 and normal[1] > 0) else -1.0
        rows[round(angle * 2) % 360].append((side * float(a @ np.array(normal)), k))
    return {k for row in rows.values() for k in _close_rows(sorted(row), _HATCH_MM * per_mm)}


def _close_rows(row: list[tuple[float, int]], widest: float) -> list[int]:
    found: list[int] = []
    run: list[tuple[float, int]] = []
    for entry in [*row, (math.inf, -1)]:
        if run and entry[0] - run[-1][0] > widest:
            if len(run) >= _HATCH_LINES:
                found.extend(k for _, k in run)
            run = []
        run.append(entry)
    return found


def _crosses(work: Pieces, chains: Sequence[Chain], own: int, chosen: set[int], per_mm: float) -> bool:
    """Return whether an open chain goes right across a closed one that is larger than lettering."""
    for other in chosen:
        chain = chains[other]
        if chain.is_closed and chain.size > LETTER_MM * per_mm and _crossing_nodes(work, chains[own], chain):
            return True
    return False


def _crossing_nodes(work: Pieces, one: Chain, other: Chain) -> list[int]:
    """Return the nodes at which two chains pass through each other, their arms alternating."""
    if not (_nodes(work, one) & _nodes(work, other)):
        return []
    arms_one, arms_other = _arms(work, one), _arms(work, other)
    crossed = []
    for node in arms_one.keys() & arms_other.keys():
        if len(arms_one[node]) == 2 and len(arms_other[node]) == 2:
            order = sorted([(a, 0) for a in arms_one[node]] + [(a, 1) for a in arms_other[node]])
            if [owner for _, owner in order] in ([0, 1, 0, 1], [1, 0, 1, 0]):
                crossed.append(node)
    return crossed


def chains_crossing(work: Pieces, chains: Sequence[Chain], own: int, chosen: Iterable[int]) -> set[int]:
    """Return which of the chosen chains pass through chain `own`."""
    return {k for k in chosen if k != own and _crossing_nodes(work, chains[own], chains[k])}


def _nodes(work: Pieces, chain: Chain) -> set[int]:
    return {node for n in chain.pieces for node in (work.pieces[n].start, work.pieces[n].end)}


def _arms(work: Pieces, chain: Chain) -> dict[int, list[float]]:
    arms: dict[int, list[float]] = defaultdict(list)
    for n in chain.pieces:
        piece = work.pieces[n]
        arms[piece.start].append(leaving_angle(work, n, forwards=True))
        arms[piece.end].append(leaving_angle(work, n, forwards=False))
    return arms


def leaving_angle(work: Pieces, n: int, *, forwards: bool) -> float:
    """Return the direction in which piece `n` leaves its start (or end) node, a little way out."""
    segment = work.pieces[n].segment
    share = 0.02 if forwards else 0.98
    x, y = segment.point_at(share)
    x0, y0 = segment.start if forwards else segment.end
    return math.atan2(y - y0, x - x0)


def _users(work: Pieces, chains: Sequence[Chain], chosen: Iterable[int]) -> dict[int, set[int]]:
    users: dict[int, set[int]] = defaultdict(set)
    for k in chosen:
        for n in chains[k].pieces:
            users[work.pieces[n].start].add(k)
            users[work.pieces[n].end].add(k)
    return users


def _hangs(work: Pieces, chains: Sequence[Chain], own: int, users: dict[int, set[int]], overshoot: float) -> bool:
    """Return whether an open chain has an end that nothing else meets, beyond a short overshoot."""
    chain = chains[own]
    for end in chain.ends:
        if users[end] != {own}:
            continue
        tail = next(n for n in chain.pieces if end in (work.pieces[n].start, work.pieces[n].end))
        piece = work.pieces[tail]
        far = piece.end if piece.start == end else piece.start
        if piece.segment.length > overshoot or users[far] == {own}:
            return True
    return False
