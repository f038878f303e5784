"""Runs: edges that continue each other through crossings and corners, as a draughtsman drew them.

Where lines meet, the two arms that go straight on belong to one run. A run that comes back to its start
is an outline; one with loose ends is a centre line, a leader or the like.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from vectorize.lines.graph import UNLIKE_SHARE, LineWork, end_direction
from vectorize.shapes.segment import Point, Points

STRAIGHT_DEG = 32.0
"""Two arms at a node that differ from straight by less than this are one line."""

OVERSHOOT_MM = 2.5
"""Lines that cross at a corner and stop within this length make that corner; their ends are ignored."""

HOOK_PENS = 1.8
"""Within this many pen widths of a crossing a thinned line bends towards it; directions are told beyond."""

NEAR_DOUBT_DEG = 8.0
"""Directions told close to a node are this much less sure."""

UNLIKE_DOUBT_DEG = 20.0
"""A line hardly goes on in one with less than `UNLIKE_SHARE` of its ink."""

THIN_SHARE = 0.6
"""A line with less than this share of the ink of two others ends on them, also where they make a corner."""

_MOST_PIECES = 4

Arm = tuple[int, int]
"""An edge and which of its ends: 0 where it starts, 1 where it ends."""


@dataclass(frozen=True, slots=True)
class Run:
    """Edges in no particular order. `loose` counts ends that meet nothing, `stems` ends at another run."""

    edges: tuple[int, ...]
    loose: int
    stems: int
    is_dashed: bool
    is_chain: bool = False

    @property
    def is_closed(self) -> bool:
        """Return whether the run comes back to its start."""
        return self.loose == 0 and self.stems == 0

    @property
    def rank(self) -> int:
        """Return how much the run is like an outline: 3 closed, 2 between other runs, 1 or 0 with loose ends."""
        return 3 if self.is_closed else 2 - min(self.loose, 2)


@dataclass(frozen=True, slots=True, eq=False)
class Runs:
    """All runs, which run each edge is in, and what each arm continues into."""

    runs: tuple[Run, ...]
    of_edge: tuple[int, ...]
    partner: dict[Arm, Arm]
    overshoots: frozenset[int]


def found_runs(
    work: LineWork,
    ink: Points,
    *,
    px_per_mm: float,
    pen_px: float,
    drawn: Mapping[int, Sequence[tuple[Arm, Arm]]] | None = None,
) -> Runs:
    """Return the runs of a line work; `ink` is what each edge carries across, nan where unknown.

    `drawn` are, by node, the arms that are known to be one stroke of the pen.
    """
    degrees = work.degrees()
    arms: dict[int, list[Arm]] = {}
    for index, edge in enumerate(work.edges):
        if edge.wide is None:
            arms.setdefault(edge.start, []).append((index, 0))
            arms.setdefault(edge.end, []).append((index, 1))
    stubs = frozenset(
        index
        for index, edge in enumerate(work.edges)
        if edge.wide is None
        and min(degrees[edge.start], degrees[edge.end]) == 1
        and edge.length < OVERSHOOT_MM * px_per_mm
    )
    ink = _known_ink(work, ink, arms)
    skip = HOOK_PENS * pen_px
    reach = skip + max(3.0 * pen_px, 1.6 * px_per_mm)
    partner: dict[Arm, Arm] = {}
    for node, here in arms.items():
        known = (drawn or {}).get(node, ())
        rest = [arm for arm in here if all(arm not in pair for pair in known)]
        for a, b in (*known, *_pairs(work, ink, node, rest, stubs, skip, reach)):
            partner[a], partner[b] = b, a
    return _assembled(work, partner, stubs, degrees.tolist())


def _known_ink(work: LineWork, ink: Points, arms: dict[int, list[Arm]]) -> Points:
    """Return the ink of every edge, that of a short one told from what it goes on in where nothing else meets it."""
    known = ink.copy()
    drawn = [index for index in np.flatnonzero(np.isnan(ink)).tolist() if work.edges[index].wide is None]
    for index in drawn:
        for side in (0, 1):
            edge, end = index, side
            for _ in range(_MOST_PIECES):
                node = work.edges[edge].end if end else work.edges[edge].start
                if len(arms[node]) != 2 or not np.isnan(known[index]):
                    break
                edge, end = next((k, 1 - e) for k, e in arms[node] if (k, e) != (edge, end))
                known[index] = ink[edge]
    return known


def _pairs(
    work: LineWork, ink: Points, node: int, arms: Sequence[Arm], stubs: frozenset[int], skip: float, reach: float
) -> list[tuple[Arm, Arm]]:
    """Return which arms at a node continue each other."""
    if len(arms) < 2:
        return []
    if len(arms) == 2:
        return [(arms[0], arms[1])]
    drawn = [arm for arm in arms if not work.edges[arm[0]].is_tee]
    if len(drawn) == 2:
        # A line that was taken on to a corner leaves it the corner that it was.
        return [(drawn[0], drawn[1])]
    if len(arms) == 3 and (own := _own_ends(arms)) is not None:
        return [own]
    if len(drawn) == 3 == len(arms) and (thick := _thick(work, ink, arms)) is not None:
        return [thick]
    # Near the node for small rounds, farther out for lines that cross at a shallow angle.
    far = [_direction(work, arm, skip, reach) for arm in arms]
    near = [_direction(work, arm, 0.4 * skip, 1.4 * skip) for arm in arms]
    offers = sorted(
        (
            min(_bend(far[i], far[j]), _bend(near[i], near[j]) + NEAR_DOUBT_DEG)
            + (UNLIKE_DOUBT_DEG if _is_unlike(ink[arms[i][0]], ink[arms[j][0]]) else 0.0),
            i,
            j,
        )
        for i in range(len(arms))
        for j in range(i)
        if work.edges[arms[i][0]].is_dashed == work.edges[arms[j][0]].is_dashed
        and not (work.edges[arms[i][0]].is_tee or work.edges[arms[j][0]].is_tee)
    )
    taken: set[int] = set()
    pairs = []
    for bend, i, j in offers:
        if bend < STRAIGHT_DEG and i not in taken and j not in taken:
            taken |= {i, j}
            pairs.append((arms[i], arms[j]))
    return _corners(pairs, [arm for k, arm in enumerate(arms) if k not in taken], stubs)


def _own_ends(arms: Sequence[Arm]) -> tuple[Arm, Arm] | None:
    """Return the two ends of a loop: a circle stays closed however smoothly another line runs up to it."""
    return next(((a, b) for a in arms for b in arms if a[0] == b[0] and a[1] < b[1]), None)


def _thick(work: LineWork, ink: Points, arms: Sequence[Arm]) -> tuple[Arm, Arm] | None:
    """Return the two of three arms that one pen drew, where the third is clearly thinner: hatching at a corner."""
    thin, one, other = sorted(arms, key=lambda arm: float(ink[arm[0]]))
    if (
        np.isnan(ink[[thin[0], one[0], other[0]]]).any()
        or _is_unlike(ink[one[0]], ink[other[0]])
        or not ink[thin[0]] < THIN_SHARE * ink[one[0]]
    ):
        return None
    return (one, other) if len({work.edges[k].is_dashed for k, _ in arms}) == 1 else None


def _is_unlike(one: float, other: float) -> bool:
    """Whether two lines were drawn with clearly different pens."""
    return min(one, other) < UNLIKE_SHARE * max(one, other)


def _corners(pairs: list[tuple[Arm, Arm]], single: list[Arm], stubs: frozenset[int]) -> list[tuple[Arm, Arm]]:
    """Where lines overshoot their common corner, the long arms belong together."""

    def long_arm(pair: tuple[Arm, Arm]) -> Arm | None:
        a, b = pair
        if (a[0] in stubs) == (b[0] in stubs):
            return None
        return b if a[0] in stubs else a

    longs = [long_arm(pair) for pair in pairs]
    if len(pairs) == 2 and not single and longs[0] is not None and longs[1] is not None:
        return [(longs[0], longs[1])]
    if len(pairs) == 1 and len(single) == 1 and longs[0] is not None and single[0][0] not in stubs:
        return [(longs[0], single[0])]
    return pairs


def _direction(work: LineWork, arm: Arm, skip: float, reach: float) -> Point:
    edge = work.edges[arm[0]]
    facing = edge if arm[1] == 0 else edge.reversed()
    return end_direction(facing, facing.start, skip_px=skip, reach_px=reach)


def _bend(one: Point, other: Point) -> float:
    """Degrees by which going in along one arm and out along the other differs from straight."""
    cross = one[0] * other[1] - one[1] * other[0]
    return 180.0 - math.degrees(abs(math.atan2(cross, one[0] * other[0] + one[1] * other[1])))


def _assembled(work: LineWork, partner: dict[Arm, Arm], stubs: frozenset[int], degrees: Sequence[int]) -> Runs:
    of_edge = [-1] * len(work.edges)
    runs: list[Run] = []
    for first in range(len(work.edges)):
        if of_edge[first] >= 0:
            continue
        members, queue = [], [first]
        loose = stems = 0
        of_edge[first] = len(runs)
        while queue:
            index = queue.pop()
            members.append(index)
            edge = work.edges[index]
            for side, node in ((0, edge.start), (1, edge.end)):
                after = partner.get((index, side))
                if after is None:
                    is_loose = degrees[node] == 1 or edge.is_tee
                    loose, stems = loose + is_loose, stems + (not is_loose)
                elif of_edge[after[0]] < 0:
                    of_edge[after[0]] = len(runs)
                    queue.append(after[0])
        is_dashed = all(work.edges[i].is_dashed for i in members)
        is_chain = is_dashed and any(work.edges[i].is_chain for i in members)
        runs.append(Run(tuple(sorted(members)), loose, stems, is_dashed, is_chain))
    return Runs(tuple(runs), tuple(of_edge), partner, stubs)
