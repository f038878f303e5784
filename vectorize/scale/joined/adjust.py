"""All scans of a sheet laid on each other at once: every seam and every known dimension has its say.

Each scan has a turn, a shift and a factor along each of its own axes. Scans of one sheet come from one scanner, or from
two that differ little, so that factors are drawn towards each other as far as seams and known dimensions leave room.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares

from vectorize.scale.joined.overlap import inverse, moved
from vectorize.scale.joined.scan_seams import Seam
from vectorize.scale.joined.tile import Tile
from vectorize.scale.known import PICK_SIGMA_PX, Axes, KnownDimension
from vectorize.shapes.segment import Points

SEAM_MM = 0.03
"""Standard deviation of a line centre between two scans, with `_LOOKS` of them independent along a seam."""

_LOOKS = 50
_MOST = 600

FACTOR_SHARE = 0.001
"""Factors of two scans of one sheet differ by about this share (common practice, no source)."""

AXES_SHARE = 0.004
"""A scanner's two axes differ by about this share (common practice, no source)."""


@dataclass(frozen=True, slots=True, eq=False)
class Adjusted:
    """Where every scan lies: 2 x 3 maps from own mm to sheet mm (y down), and their factors along x and y.

    `rests` are, seam by seam, how far the lines miss each other across, in mm; `lengths` what each known dimension
    measures; `sigma` the relative standard deviation of a length.
    """

    moves: tuple[Points, ...]
    factors: tuple[tuple[float, float], ...]
    rests: tuple[Points, ...]
    lengths: tuple[float, ...]
    sigma: float


def adjusted(
    tiles: Sequence[Tile],
    seams: Sequence[Seam],
    start: Sequence[Points],
    known: Sequence[KnownDimension],
    *,
    axes: Axes = "auto",
) -> Adjusted:
    """Return the common least-squares solution from a `start` that is right to a millimetre or so.

    Without known dimensions the first scan's own mm are taken as they are.
    """
    problem = _Problem(tiles, seams, start, known, 0.2 if axes == "separate" else AXES_SHARE)
    found = least_squares(problem.residuals, problem.first(), method="trf", x_scale="jac")
    moves = problem.moves(found.x)
    factors = tuple((math.exp(a), math.exp(b)) for a, b in problem.logs(found.x).tolist())
    rests = tuple(_across(seam, moves) for seam in seams)
    return Adjusted(moves, factors, rests, tuple(problem.lengths(moves)), problem.sigma())


class _Problem:
    """The unknowns as one vector: for each scan log fx, log fy, turn, and the two shifts."""

    def __init__(
        self,
        tiles: Sequence[Tile],
        seams: Sequence[Seam],
        start: Sequence[Points],
        known: Sequence[KnownDimension],
        axes_share: float,
    ) -> None:
        self.tiles, self.known, self.axes_share = tiles, known, axes_share
        self.seams = [_thinned(seam) for seam in seams]
        self.start = np.array([_values(move) for move in start])
        # Scans whose files state different sizes differ by what the match says; else by next to nothing.
        self.expected = np.where(np.abs(self.start[:, 0]) < 0.01, 0.0, self.start[:, 0])
        self.ends = [(tiles[k.files[0] - 1].to_own(k.start), tiles[k.files[1] - 1].to_own(k.end)) for k in known]

    def first(self) -> Points:
        """Return the start, scaled so that the known dimensions are about right."""
        values = self.start.copy()
        if self.known:
            measured = self.lengths(self.moves(values.ravel()))
            factor = sum(k.length_mm for k in self.known) / max(sum(measured), 1e-9)
            values[:, :2] += math.log(factor)
            values[:, 3:] *= factor
        return np.asarray(values.ravel(), np.float64)

    def logs(self, x: Points) -> Points:
        return np.asarray(x.reshape(-1, 5)[:, :2], np.float64)

    def moves(self, x: Points) -> tuple[Points, ...]:
        return tuple(_move(*row) for row in x.reshape(-1, 5).tolist())

    def lengths(self, moves: Sequence[Points]) -> list[float]:
        """Return what each known dimension measures in mm."""
        found = []
        for k, (a, b) in zip(self.known, self.ends, strict=True):
            one, other = (moved(moves[n - 1], p)[0] for n, p in zip(k.files, (a, b), strict=True))
            found.append(math.dist(one.tolist(), other.tolist()))
        return found

    def _known_sigmas(self) -> list[float]:
        return [
            PICK_SIGMA_PX * math.hypot(*(self.tiles[n - 1].own_mm_per_px for n in known.files)) for known in self.known
        ]

    def residuals(self, x: Points) -> Points:
        moves, logs = self.moves(x), self.logs(x)
        seams = [_across(s, moves) / (SEAM_MM * math.sqrt(max(1.0, len(s.normals) / _LOOKS))) for s in self.seams]
        lengths = np.array(self.lengths(moves)) - [k.length_mm for k in self.known]
        likeness = (logs - self.expected[:, None] - (logs[0] - self.expected[0])) / FACTOR_SHARE
        squareness = (logs[:, 0] - logs[:, 1]) / (self.axes_share * math.sqrt(len(logs)))
        # The first scan stays where it is; without known dimensions it also keeps its size.
        fixed = x[2:5] - self.start[0, 2:5]
        size = [] if self.known else [(logs[0].sum() - self.start[0, :2].sum()) * 1e5]
        return np.concatenate(
            [*seams, lengths / np.array(self._known_sigmas()), likeness.ravel(), squareness, fixed * 1e3, size]
        )

    def sigma(self) -> float:
        """Return the relative standard deviation of a length, as the picked ends of known dimensions leave it."""
        if not self.known:
            return 0.005
        reach = math.sqrt(sum((k.length_mm / s) ** 2 for k, s in zip(self.known, self._known_sigmas(), strict=True)))
        return math.sqrt(2.0) / max(reach, 1.0)


def _values(move: Points) -> tuple[float, float, float, float, float]:
    log = 0.5 * math.log(abs(float(np.linalg.det(move[:, :2]))))
    return log, log, math.atan2(move[1, 0] - move[0, 1], move[0, 0] + move[1, 1]), float(move[0, 2]), float(move[1, 2])


def _move(log_x: float, log_y: float, turn: float, shift_x: float, shift_y: float) -> Points:
    cos, sin, fx, fy = math.cos(turn), math.sin(turn), math.exp(log_x), math.exp(log_y)
    return np.array([[cos * fx, -sin * fy, shift_x], [sin * fx, cos * fy, shift_y]])


def _across(seam: Seam, moves: Sequence[Points]) -> Points:
    """Return how far the lines of a seam miss each other across, in sheet mm."""
    one = moves[seam.first - 1]
    step = moved(one, seam.on_first) - moved(moves[seam.second - 1], seam.on_second)
    normals = seam.normals @ one[:, :2].T
    return np.asarray((step * normals).sum(axis=1) / np.hypot(*normals.T), np.float64)


def _thinned(seam: Seam) -> Seam:
    every = slice(None, None, max(1, len(seam.normals) // _MOST))
    points = (seam.on_first[every], seam.on_second[every], seam.normals[every])
    return Seam(seam.first, seam.second, *points, seam.is_firm)


def chained(count: int, links: Sequence[tuple[int, int, Points, float]]) -> tuple[list[Points | None], list[int]]:
    """Return a first place for every scan by the strongest links, and the numbers of those that hang together.

    Args:
        count: How many scans.
        links: Numbers of two scans, the move from the first to the second in own mm, and its strength.

    Scans outside the largest group have None.
    """
    groups = list(range(count))
    tree: list[tuple[int, int, Points]] = []
    for first, second, move, _ in sorted(links, key=lambda link: -link[3]):
        a, b = groups[first - 1], groups[second - 1]
        if a != b:
            groups = [a if g == b else g for g in groups]
            tree.append((first, second, move))
    largest = max(groups, key=lambda g: (groups.count(g), -groups.index(g)))
    inside = [n for n in range(1, count + 1) if groups[n - 1] == largest]
    places: list[Points | None] = [None] * count
    places[inside[0] - 1] = np.eye(2, 3)
    for _ in inside:
        for first, second, move in tree:
            _extend(places, first, second, move)
    return places, inside


def _extend(places: list[Points | None], first: int, second: int, move: Points) -> None:
    """Place one end of a link from the other."""
    one, other = places[first - 1], places[second - 1]
    if one is not None and other is None:
        places[second - 1] = after(one, inverse(move))
    elif one is None and other is not None:
        places[first - 1] = after(other, move)


def after(second: Points, first: Points) -> Points:
    """Return the 2 x 3 map that does `first` and then `second`."""
    return np.column_stack([second[:, :2] @ first[:, :2], second[:, :2] @ first[:, 2] + second[:, 2]])
