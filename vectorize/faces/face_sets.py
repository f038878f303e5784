"""The faces round a pick whose boundary the sheet explains best, and the next best readings.

Every edge has its evidence: the log-odds that it is a part's outline. A set of faces pays for each edge of its
boundary that looks like no outline, for each edge inside it that looks like one, and for each place where its
boundary turns off one outline on to another that both go straight on. The cheapest set is found exactly, as a mixed
integer linear programme (`scipy.optimize.milp`), and so is the cheapest that differs from it.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from vectorize.faces.regions import Regions
from vectorize.lines.runs import Runs

Floats = NDArray[np.float64]

MOST_EVIDENCE = 6.0
"""Log-odds count up to this: no single line is surer than one in four hundred."""

REACH_COST = 30.0
"""Faces that only lie beyond so much contrary evidence are not considered for a part: an outline of 25 mm at the most
evidence. It bounds the time of the search."""

MOST_FACES = 220
"""So many faces, the easiest to reach, are considered for one part, which bounds the time of the search."""

TURN_COST = 2.0
"""What a turn from one outline on to another costs where both go straight on, in log-odds times root millimetres. Twice
this changed none of 268 parts in eight hands."""

MOST_SCATTERED = 3
"""So many sets with faces that lie apart from the rest are passed over before no further reading is looked for."""

THROUGH_COST = 2.5
"""What an outline inside a part costs at most where it runs straight in and out across other lines, so less than two
turns. Of 305 parts it made two right and none wrong."""

AREA_COST = 1e-4
"""What a square root of a square millimetre costs, so that of equal readings the smallest is taken."""

Crossing = tuple[int, int, int, int]
"""The four faces round a place where two lines cross, in order."""


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """What the sheet says of its lines.

    `boundary` and `inside`, (E,), are what each edge costs as a part's boundary and inside a part; `crossings` are the
    places where two lines cross, with what it costs to turn there; `within` is what a face costs by itself, where it
    costs anything.
    """

    boundary: Floats
    inside: Floats
    crossings: tuple[tuple[Crossing, float], ...]
    within: dict[int, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Reading:
    """A set of faces that may be a part, and what it costs."""

    faces: frozenset[int]
    cost: float


def evidence_of(regions: Regions, runs: Runs, odds: Floats, *, px_per_mm: float, shift: float = 0.0) -> Evidence:
    """Return what edges cost whose log-odds of being an outline are `odds` (E,), all of them moved by `shift`."""
    z = np.clip(odds + shift, -MOST_EVIDENCE, MOST_EVIDENCE)
    weight = np.sqrt(np.array([edge.length for edge in regions.work.edges]) / px_per_mm)
    crossings = tuple(
        (faces, TURN_COST * float(np.clip(min(z[one], z[other]), 0.0, 2.0)))
        for faces, one, other in _crossings(regions, runs)
        if min(z[one], z[other]) > 0
    )
    inside = np.maximum(z, 0.0) * weight
    runs_through = _runs_through(regions, runs)
    inside[runs_through] = np.minimum(inside[runs_through], THROUGH_COST)
    return Evidence(np.maximum(-z, 0.0) * weight, inside, crossings)


def _runs_through(regions: Regions, runs: Runs) -> NDArray[np.bool_]:
    """Return which edges go straight on across another line at both ends, as a part drawn over another does."""
    degrees = regions.work.degrees()
    return np.array(
        [
            all((k, side) in runs.partner and degrees[node] >= 4 for side, node in ((0, edge.start), (1, edge.end)))
            for k, edge in enumerate(regions.work.edges)
        ],
        np.bool_,
    )


def _crossings(regions: Regions, runs: Runs) -> list[tuple[Crossing, int, int]]:
    """Return the faces round each node where two lines cross, and an edge of either line."""
    found = []
    for arms in regions.arms.values():
        if len(arms) != 4 or any(arm not in runs.partner for arm in arms):
            continue
        a, b, c, d = arms
        if runs.partner[a] != c or runs.partner[b] != d:
            continue
        north, west, south, east = (int((regions.left if side == 0 else regions.right)[edge]) for edge, side in arms)
        found.append(((north, west, south, east), a[0], b[0]))
    return found


def cost_of(regions: Regions, evidence: Evidence, faces: Iterable[int]) -> float:
    """Return what a set of faces costs."""
    held = frozenset(faces)
    left, right = regions.sides_in(held)
    cost = float(evidence.boundary[left != right].sum())
    cost += float(evidence.inside[left & right & (regions.left != regions.right)].sum())
    cost += sum(evidence.within.get(face, 0.0) for face in held)
    turned = ((abs((a in held) - (b in held) + (c in held) - (d in held)), k) for (a, b, c, d), k in evidence.crossings)
    return cost + sum(count * k for count, k in turned)


def explained(
    regions: Regions,
    evidence: Evidence,
    picked: frozenset[int],
    *,
    px_per_mm: float,
    forbidden: frozenset[int] = frozenset(),
    count: int = 1,
    least_px: float = 0.0,
) -> list[Reading]:
    """Return up to `count` readings of the part that holds the `picked` faces, the cheapest first.

    Each differs from those before it in at least one face of `least_px` or more. The faces `forbidden` are in none.
    """
    faces = _within_reach(regions, evidence, picked, forbidden)
    programme = _Programme.of(regions, evidence, faces, picked, px_per_mm)
    readings: list[Reading] = []
    seen: list[frozenset[int]] = []
    for _ in range(count + MOST_SCATTERED):
        found = programme.solved(seen, regions.area_px, least_px)
        if found is None or len(readings) == count:
            break
        seen.append(found.faces)
        if _hangs_together(regions, found.faces, picked):
            readings.append(found)
    return readings


def _hangs_together(regions: Regions, faces: frozenset[int], picked: frozenset[int]) -> bool:
    """Return whether every face is reached from the picked ones through others of the set."""
    neighbours = regions.neighbours()
    seen, queue = set(picked), list(picked)
    while queue:
        for _, other in neighbours.get(queue.pop(), ()):
            if other in faces and other not in seen:
                seen.add(other)
                queue.append(other)
    return seen >= faces


def _within_reach(
    regions: Regions, evidence: Evidence, picked: frozenset[int], forbidden: frozenset[int]
) -> NDArray[np.int64]:
    """Return the faces that are reached from the picked ones across the least contrary evidence."""
    neighbours = regions.neighbours()
    queue = [(0.0, face) for face in sorted(picked)]
    seen: dict[int, float] = {}
    while queue and len(seen) < MOST_FACES:
        cost, face = heapq.heappop(queue)
        if face in seen:
            continue
        seen[face] = cost
        for edge, other in neighbours.get(face, ()):
            there = cost + evidence.inside[edge]
            if other not in seen and other not in forbidden and other not in regions.outside and there < REACH_COST:
                heapq.heappush(queue, (there, other))
    return np.array(sorted(seen), np.int64)


@dataclass(frozen=True, slots=True, eq=False)
class _Programme:
    """Variables: a face is in; a pair of neighbours is divided; a pair is within; a boundary turns at a crossing."""

    faces: NDArray[np.int64]
    cost: Floats
    rows: LinearConstraint
    lower: Floats
    upper: Floats

    @classmethod
    def of(
        cls, regions: Regions, evidence: Evidence, faces: NDArray[np.int64], picked: frozenset[int], px_per_mm: float
    ) -> _Programme:
        place = np.full(len(regions.area_px), -1, np.int64)
        place[faces] = np.arange(len(faces))
        one, other = place[regions.left], place[regions.right]
        counts = ((one >= 0) | (other >= 0)) & (regions.left != regions.right)
        low, high = np.minimum(one, other)[counts], np.maximum(one, other)[counts]
        key = (low + 1) * (len(faces) + 1) + high
        unique, which = np.unique(key, return_inverse=True)
        divided = np.bincount(which, evidence.boundary[counts], len(unique)).astype(np.float64)
        within = np.bincount(which, evidence.inside[counts], len(unique)).astype(np.float64)
        first, second = unique // (len(faces) + 1) - 1, unique % (len(faces) + 1)
        turns = [(place[list(four)], cost) for four, cost in evidence.crossings if np.any(place[list(four)] >= 0)]
        area_mm2 = regions.area_px[faces] / px_per_mm**2
        own = AREA_COST * np.sqrt(np.maximum(area_mm2, 0.0)) + np.array(
            [evidence.within.get(f, 0.0) for f in faces.tolist()]
        )
        return cls._built(own, faces, picked, first, second, divided, within, turns)

    @classmethod
    def _built(
        cls,
        own: Floats,
        faces: NDArray[np.int64],
        picked: frozenset[int],
        first: NDArray[np.int64],
        second: NDArray[np.int64],
        divided: Floats,
        within: Floats,
        turns: Sequence[tuple[NDArray[np.int64], float]],
    ) -> _Programme:
        n = len(faces)
        is_divided = np.flatnonzero(divided > 0)
        is_within = np.flatnonzero((within > 0) & (first >= 0))
        entries: list[tuple[int, int, float]] = []
        limits: list[float] = []

        def row(terms: Sequence[tuple[int, float]], most: float) -> None:
            entries.extend((len(limits), column, value) for column, value in terms if column >= 0)
            limits.append(most)

        column = n
        for k in is_divided.tolist():
            for sign in (1.0, -1.0):
                terms = [(int(second[k]), sign), (column, -1.0)]
                row(terms + ([(int(first[k]), -sign)] if first[k] >= 0 else []), 0.0)
            column += 1
        for k in is_within.tolist():
            row([(int(first[k]), 1.0), (int(second[k]), 1.0), (column, -1.0)], 1.0)
            column += 1
        for face in range(n):
            # A face comes with one that it touches, or it is no piece of this part.
            if faces[face] not in picked:
                touching = np.concatenate([second[first == face], first[second == face]])
                row([(face, 1.0), *((int(k), -1.0) for k in touching)], 0.0)
        for four, _ in turns:
            for sign in (1.0, -1.0):
                signs = (sign, -sign, sign, -sign)
                row([*((int(f), s) for f, s in zip(four, signs, strict=True)), (column, -1.0)], 0.0)
            column += 1
        cost = np.concatenate([own, divided[is_divided], within[is_within], [c for _, c in turns]])
        y, x, v = (np.array(part) for part in zip(*entries, strict=True)) if entries else (np.zeros(0, int),) * 3
        matrix = coo_array((v, (y, x)), shape=(len(limits), column)).tocsr()
        rows = LinearConstraint(matrix, -np.inf, np.array(limits))
        lower, upper = np.zeros(column), np.ones(column)
        upper[n + len(is_divided) + len(is_within) :] = 2.0
        lower[:n][np.isin(faces, list(picked))] = 1.0
        return cls(faces, cost, rows, lower, upper)

    def solved(self, before: Sequence[frozenset[int]], area_px: Floats, least_px: float) -> Reading | None:
        """Return the cheapest set of faces that differs from those before in a face of `least_px` or more."""
        constraints = [self.rows]
        is_large = area_px[self.faces] >= least_px
        for known in before:
            is_in = np.isin(self.faces, list(known))
            signs = np.zeros(len(self.cost))
            signs[: len(self.faces)] = np.where(is_in, -1.0, 1.0) * is_large
            constraints.append(LinearConstraint(signs[None, :], 1.0 - np.count_nonzero(is_in & is_large), np.inf))
        whole = np.zeros(len(self.cost), np.int64)
        whole[: len(self.faces)] = 1
        found = milp(self.cost, integrality=whole, bounds=Bounds(self.lower, self.upper), constraints=constraints)
        if found.x is None:
            return None
        chosen = self.faces[np.round(found.x[: len(self.faces)]) > 0.5]
        return Reading(frozenset(int(f) for f in chosen), float(found.fun))
