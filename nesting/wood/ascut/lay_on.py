"""The rigid move that lays a scanned part on its outline: turned, shifted, mirrored, never stretched.

Points of the scanned edge are drawn to the nearest point of the outline, along its normal, again and again
(iterative closest point; Chen & Medioni 1992, doi:10.1016/0262-8856(92)90066-C). Each counts by Tukey's biweight
(Beaton & Tukey 1974, doi:10.1080/00401706.1974.10489171): an edge that is off by more than `OFF_MM` has no say, so that
what was cut badly does not spoil the fit of what was cut well.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from nesting.wood.ascut.edge_samples import EdgeSamples
from vectorize.shapes.outline import Pose
from vectorize.shapes.segment import Points

OFF_MM = 0.25
"""From here on a point has no say. A part that is too wide by w between two edges is told as one edge off by w where
that costs less than both off by w/2, which with this value is so from 0.23 mm on: a kerf of 0.1 mm left all round stays
what it is, and one edge that was sawn 0.3 mm off is not shared out between two (chosen for that)."""
CUTOUT_SAY = 0.5
"""Cut-outs turn a round part the right way; elsewhere the outer edge decides how it lies."""
_COARSE, _FINE = 160, 1000
_START_TURNS = 24
_LARGEST_SIZE_MM = 1.0
_STILL_MM = 1e-3
_NUDGE_MM = 0.2
_HELD_MM = 0.45
"""The narrow fit stays so near the wide one: a rib whose flat side is off could slide along its curve instead."""
_FAR_SAY = 0.9
"""By so much the rank of a move grows with every further `OFF_MM` (chosen on drawn scans)."""
_ALIKE, _ALIKE_COST = 1.05, 0.004
"""Ways round whose costs differ by less cannot be told apart on a scan (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """How a scanned part lies: `pose` takes it to the outline's frame; `cost` is its mean biweight, 0 to 1.

    `scale_share` is by how much the scan would have to be scaled to fit best, 1 for not at all, and `scaled_cost` what
    that would leave. `is_ambiguous` says that it lies about as well another way round.
    """

    pose: Pose
    cost: float
    scale_share: float
    scaled_cost: float
    is_ambiguous: bool


def lay_on(samples: Sequence[EdgeSamples], rings: Sequence[Points]) -> Laid:
    """Return the move that lays scanned `rings`, in mm, on the outline whose `samples` are given.

    Args:
        samples: Of the exterior, then of each cut-out.
        rings: (N, 2) points of the scanned edge, the exterior first.
    """
    target = _Target.of(samples)
    coarse, fine = (_thinned(rings, count) for count in (_COARSE, _FINE))
    starts = [_drawn(target, coarse, start, limits_mm=(8.0, 4.0), steps=4) for start in _starts(target, coarse)]
    near = [_drawn(target, coarse, move, limits_mm=(2.0, 1.0)) for move, _ in _distinct(starts)]
    close = [_drawn(target, fine, move, limits_mm=(1.0, 0.5)) for move, _ in _distinct(near)]
    refined = [_settled(target, fine, move) for move, _ in _distinct(close)]
    ranked = [(_score(target, fine, move), move, cost) for move, cost in refined]
    best = min(rank for rank, _, _ in ranked)
    alike = [(move, cost) for rank, move, cost in ranked if rank <= _ALIKE * best + _ALIKE_COST]
    move, cost = min(alike, key=lambda found: (found[0].is_flipped, abs(found[0].turn), found[1]))
    scaled, scaled_cost = _drawn(target, fine, move, limits_mm=(2.0, 1.0, 0.5, OFF_MM), is_scaled=True)
    return Laid(move.pose(), cost, scaled.scale, scaled_cost, len(alike) > 1)


@dataclass(frozen=True, slots=True)
class _Move:
    """Mirror in x, turn by `turn` radians and scale, then shift."""

    x: float
    y: float
    turn: float
    is_flipped: bool = False
    scale: float = 1.0

    def __call__(self, points: Points) -> Points:
        cos, sin = self.scale * math.cos(self.turn), self.scale * math.sin(self.turn)
        x = -points[:, 0] if self.is_flipped else points[:, 0]
        return np.column_stack([cos * x - sin * points[:, 1] + self.x, sin * x + cos * points[:, 1] + self.y])

    def then(self, about: Points, turn: float, dx: float, dy: float, scale: float = 1.0) -> _Move:
        """Return this move, followed by a turn and a scaling about a point, and a shift."""
        cos, sin = scale * math.cos(turn), scale * math.sin(turn)
        x, y = self.x - about[0], self.y - about[1]
        angle = math.remainder(self.turn + turn, 2 * math.pi)
        moved = (float(about[0] + cos * x - sin * y + dx), float(about[1] + sin * x + cos * y + dy))
        return _Move(*moved, angle, self.is_flipped, self.scale * scale)

    def pose(self) -> Pose:
        return Pose(self.x, self.y, math.degrees(self.turn), self.is_flipped)


@dataclass(frozen=True, slots=True, eq=False)
class _Target:
    """All samples of an outline, and what finds the nearest."""

    points: Points
    normals: Points
    say: Points
    ring: NDArray[np.intp]
    centre: Points
    reach_mm: float
    tree: cKDTree = field(repr=False)

    @staticmethod
    def of(samples: Sequence[EdgeSamples]) -> _Target:
        points = np.vstack([one.points for one in samples])
        say = np.concatenate([np.full(len(s.points), CUTOUT_SAY if n else 1.0) for n, s in enumerate(samples)])
        say[np.concatenate([one.is_corner for one in samples])] *= 0.1  # a corner is never sharp
        centre = samples[0].points.mean(axis=0)
        reach = float(np.max(np.hypot(*(points - centre).T)))
        ring = np.repeat(np.arange(len(samples)), [len(one.points) for one in samples])
        normals = np.vstack([one.normals for one in samples])
        return _Target(points, normals, say, ring, centre, reach, cKDTree(points))


def _thinned(rings: Sequence[Points], count: int) -> Points:
    """Return about `count` points spread evenly over all rings, however closely each was measured."""
    lengths = [float(np.sum(np.hypot(*np.diff(np.vstack([r, r[:1]]), axis=0).T))) for r in rings]
    step = sum(lengths) / count
    found = []
    for ring, length in zip(rings, lengths, strict=True):
        wanted = max(8, round(length / step))
        closed = np.vstack([ring, ring[:1]])
        along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
        at = np.linspace(0.0, along[-1], wanted, endpoint=False)
        found.append(np.column_stack([np.interp(at, along, closed[:, k]) for k in (0, 1)]))
    return np.vstack(found)


def _starts(target: _Target, points: Points) -> list[_Move]:
    """Return moves that lay centre on centre: turned all ways round, and by the long axes, each also mirrored."""
    starts = []
    for is_flipped in (False, True):
        drawn = points * (-1.0, 1.0) if is_flipped else points
        by_axes = _long_axis(target.points) - _long_axis(drawn)
        turns = [by_axes, by_axes + math.pi, *(2 * math.pi * k / _START_TURNS for k in range(_START_TURNS))]
        for turn in turns:
            turned = _Move(0.0, 0.0, turn, is_flipped)
            dx, dy = target.centre - turned(points).mean(axis=0)
            starts.append(_Move(float(dx), float(dy), math.remainder(turn, 2 * math.pi), is_flipped))
    return starts


def _long_axis(points: Points) -> float:
    spread = np.cov((points - points.mean(axis=0)).T)
    return 0.5 * math.atan2(2 * spread[0, 1], spread[0, 0] - spread[1, 1])


def _drawn(
    target: _Target, points: Points, move: _Move, *, limits_mm: Sequence[float], is_scaled: bool = False, steps: int = 6
) -> tuple[_Move, float]:
    """Return `move` after steps of the fit, what counts growing narrower, and its cost at the last limit."""
    for limit in limits_mm:
        for _ in range(steps):
            before, move = move, _step(target, points, move, limit, is_scaled=is_scaled)
            if _is_still(before, move, target.reach_mm):
                break
    return move, _cost(target, points, move, limits_mm[-1])


def _is_still(one: _Move, other: _Move, reach_mm: float) -> bool:
    turned = abs(one.turn - other.turn) + abs(one.scale - other.scale)
    return abs(one.x - other.x) + abs(one.y - other.y) + reach_mm * turned < _STILL_MM


def _misfit(target: _Target, points: Points, move: _Move) -> tuple[Points, Points, Points, Points]:
    moved = move(points)
    _, nearest = target.tree.query(moved)
    apart = np.sum((moved - target.points[nearest]) * target.normals[nearest], axis=1)
    ring = target.ring[nearest]
    for number in range(1, int(target.ring[-1]) + 1):
        # A cut-out says where it lies, not how large it is.
        own = ring == number
        if np.count_nonzero(own) > 3:
            size = float(np.median(apart[own]))
            apart[own] -= size if abs(size) < _LARGEST_SIZE_MM else 0.0
    return moved, target.normals[nearest], np.asarray(apart, np.float64), target.say[nearest]


def _step(target: _Target, points: Points, move: _Move, limit_mm: float, *, is_scaled: bool) -> _Move:
    moved, normals, apart, say = _misfit(target, points, move)
    weight = say * np.clip(1 - (apart / limit_mm) ** 2, 0.0, None) ** 2
    if np.count_nonzero(weight) < 8:  # as after a bad start: what lies anywhere draws
        weight = say / (1 + (apart / limit_mm) ** 2)
    arm = moved - target.centre
    columns = [normals[:, 0], normals[:, 1], arm[:, 0] * normals[:, 1] - arm[:, 1] * normals[:, 0]]
    columns += [np.sum(arm * normals, axis=1)] if is_scaled else []
    matrix = np.column_stack(columns) / ([1.0, 1.0] + [target.reach_mm] * (len(columns) - 2))
    root = np.sqrt(weight)
    # A round part may turn freely: a little of a ridge keeps it where it is.
    ridge = np.eye(len(columns)) * 1e-4 * math.sqrt(float(weight.sum()))
    solved = np.linalg.lstsq(
        np.vstack([matrix * root[:, None], ridge]), np.concatenate([-apart * root, np.zeros(len(columns))]), rcond=None
    )[0]
    turn = float(solved[2]) / target.reach_mm
    scale = 1.0 + (float(solved[3]) / target.reach_mm if is_scaled else 0.0)
    return move.then(target.centre, turn, float(solved[0]), float(solved[1]), scale)


def _cost(target: _Target, points: Points, move: _Move, limit_mm: float) -> float:
    _, _, apart, say = _misfit(target, points, move)
    kept = np.clip(1 - (apart / limit_mm) ** 2, 0.0, None)
    return float(np.sum(say * (1 - kept**3)) / np.sum(say))


def _distinct(found: Sequence[tuple[_Move, float]], most: int = 12) -> list[tuple[_Move, float]]:
    """Return the best moves, those that may yet be the best one, which differ from each other by more than a degree."""
    kept: list[tuple[_Move, float]] = []
    for move, cost in sorted(found, key=lambda one: one[1]):
        is_new = all(
            move.is_flipped != other.is_flipped or abs(math.remainder(move.turn - other.turn, 2 * math.pi)) > 0.03
            for other, _ in kept
        )
        if is_new and len(kept) < most and (not kept or cost <= 2.0 * kept[0][1] + 0.05):
            kept.append((move, cost))
    return kept


def _settled(target: _Target, points: Points, move: _Move) -> tuple[_Move, float]:
    """Return the move of least cost near `move`.

    Where one of two facing edges is off there are two such moves and a saddle between them: the fit is begun from all
    sides.
    """
    few = points[:: max(1, len(points) // 400)]
    starts = [
        move.then(target.centre, a * _NUDGE_MM / target.reach_mm, b * _NUDGE_MM, c * _NUDGE_MM)
        for a, b, c in itertools.product((-1, 0, 1), repeat=3)
    ]
    ends = [_drawn(target, few, start, limits_mm=(OFF_MM,), steps=12) for start in (*starts, move)]
    held = [m for m, _ in ends if _apart(few, m, move) < _HELD_MM] or [move]
    likely = sorted(held, key=lambda m: _score(target, few, m))[:2]
    settled = [_drawn(target, points, m, limits_mm=(OFF_MM,), steps=8) for m in likely]
    return min(settled, key=lambda found: _score(target, points, found[0]))


def _score(target: _Target, points: Points, move: _Move) -> float:
    """Return what moves are ranked by: the cost, and more the farther beyond `OFF_MM` an edge lies.

    By the cost alone a short edge that is far off would be taken for the fault instead of a long one that is less so.
    """
    _, _, apart, say = _misfit(target, points, move)
    beyond = np.clip(np.abs(apart) / OFF_MM - 1.0, 0.0, None)
    return _cost(target, points, move, OFF_MM) + _FAR_SAY * float(np.sum(say * beyond) / np.sum(say))


def _apart(points: Points, one: _Move, other: _Move) -> float:
    """Return how far apart two moves take a point at most, in mm."""
    return float(np.max(np.hypot(*(one(points) - other(points)).T)))
