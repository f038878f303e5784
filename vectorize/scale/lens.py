"""The bulge of a camera's lens, told by lines that ought to be straight.

The radial term of Brown 1971 ("Close-range camera calibration", Photogrammetric Engineering 37): a point at distance r
from the middle of an ideal picture comes to lie at r (1 + k (r / R)²), with R half the diagonal. One term is what a
handful of drawn lines and the sheet's own edges can tell; the middle is taken to be that of the picture, so that a
photo should not be cropped on one side.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from vectorize.lines.centre import centre_offsets
from vectorize.lines.ink import find_ink
from vectorize.shapes.segment import Point, Points

LARGEST_BULGE = 0.15
"""No camera that a plan is photographed with bends more than this at the corners of its picture."""

LEAST_AGREEMENT = 0.6
"""Share of the evidence that must agree on one bulge; drawn curves that look like lines do not agree."""

LEAST_LINES = 4
_LONG_SHARE = 0.12
_SAMPLES = 60
_DENSE = 240
_BOW_SHARE = 0.0001
"""How well the bow of a line is measured, as a share of half the picture's diagonal: a tenth of a pixel or so."""


@dataclass(frozen=True, slots=True)
class Lens:
    """A radial bulge `strength` (k, negative for a barrel) about `centre` in pixels, at `reach_px` from it.

    `agreement` is the share of the evidence that agrees on it, `line_count` how many lines that is.
    """

    strength: float
    centre: Point
    reach_px: float
    agreement: float = 1.0
    line_count: int = 0

    def straightened(self, points_px: ArrayLike) -> Points:
        """Return where (N, 2) pixels would lie without the bulge."""
        away = np.asarray(points_px, np.float64).reshape(-1, 2) - self.centre
        seen = np.hypot(*away.T) / self.reach_px
        true = seen.copy()
        for _ in range(8):
            true -= (true + self.strength * true**3 - seen) / np.maximum(1.0 + 3.0 * self.strength * true**2, 0.1)
        return np.asarray(self.centre + away * (true / np.maximum(seen, 1e-12))[:, None], np.float64)

    def bent(self, points: ArrayLike) -> Points:
        """Return the pixels of (N, 2) points of the picture without the bulge."""
        away = np.asarray(points, np.float64).reshape(-1, 2) - self.centre
        share = (away**2).sum(axis=1, keepdims=True) / self.reach_px**2
        return np.asarray(self.centre + away * (1.0 + self.strength * share), np.float64)


def find_lens(shape: tuple[int, ...], lines_px: Sequence[Points]) -> Lens | None:
    """Return the bulge that long straight lines show, None where they show none, or do not agree.

    Args:
        shape: Rows and columns of the picture.
        lines_px: (N, 2) pixels along each long line, and along each side of the photographed sheet where it was found.
    """
    rows, columns = shape
    centre, reach = ((columns - 1) / 2, (rows - 1) / 2), math.hypot(columns - 1, rows - 1) / 2
    lines = [_evenly(line) for line in lines_px if len(line) >= 8]
    if len(lines) < LEAST_LINES:
        return None
    found = Lens(0.0, centre, reach)
    for _ in range(4):
        found, weights, sigma = _nearer(found, lines)
    used = [line for line, weight in zip(lines, weights, strict=True) if weight > 0.1 * float(weights.max())]
    is_seen = 5.0 * sigma < abs(found.strength) < LARGEST_BULGE
    if not is_seen or found.agreement < LEAST_AGREEMENT or not _surround(used, centre):
        return None
    return Lens(found.strength, centre, reach, found.agreement, len(used))


def _nearer(lens: Lens, lines: Sequence[Points]) -> tuple[Lens, Points, float]:
    """Return a better strength, the weight of each line in it, and its standard deviation."""
    bows = np.array([_bow(lens.straightened(line)) for line in lines])
    more = Lens(lens.strength + 0.01, lens.centre, lens.reach_px)
    leverage = (np.array([_bow(more.straightened(line)) for line in lines]) - bows) / 0.01
    step, agrees, agreement = _consensus(-bows, leverage, _BOW_SHARE * lens.reach_px)
    weights = np.where(agrees, np.abs(leverage), 0.0)
    rest = float(np.sqrt(np.mean((bows + step * leverage)[agrees] ** 2))) if np.any(agrees) else math.inf
    sigma = max(rest, _BOW_SHARE * lens.reach_px) / max(1e-9, math.sqrt(float(np.sum(weights**2))))
    return Lens(lens.strength + step, lens.centre, lens.reach_px, agreement), weights, sigma


def _consensus(bows: Points, leverage: Points, spread: float) -> tuple[float, NDArray[np.bool_], float]:
    """Return the step in strength that most evidence agrees on, which lines do, and the share that they are."""
    strong = np.abs(leverage) > 0.05 * float(np.max(np.abs(leverage), initial=1e-9))
    weight = np.where(strong, np.abs(leverage), 0.0)
    each = np.where(strong, bows / np.where(strong, leverage, 1.0), 0.0)
    order = np.argsort(each)
    middle = np.searchsorted(np.cumsum(weight[order]), 0.5 * weight.sum())
    median = float(each[order][min(int(middle), len(each) - 1)])
    rest = np.abs(bows - median * leverage)
    agrees = strong & (rest < np.maximum(6.0 * spread, 0.12 * np.abs(median * leverage)))
    if not np.any(agrees):
        return 0.0, agrees, 0.0
    step = float(np.sum(bows[agrees] * leverage[agrees]) / np.sum(leverage[agrees] ** 2))
    return step, agrees, float(np.sum(weight[agrees]) / np.sum(weight))


def _surround(lines: Sequence[Points], centre: Point) -> bool:
    """Whether lines lie on opposite sides of the middle, where a bulge bends them opposite ways; a curve would not."""
    if len(lines) < LEAST_LINES:
        return False
    middles = np.array([line.mean(axis=0) for line in lines]) - centre
    angles = np.sort(np.arctan2(middles[:, 1], middles[:, 0]))
    gaps = np.diff(np.append(angles, angles[0] + 2.0 * math.pi))
    return bool(gaps.max() < 1.1 * math.pi)


def _bow(line: Points) -> float:
    """Return how far a line's middle stands off the chord, signed away from the left of its direction.

    Of the parabola that fits best, outliers weighing little.
    """
    chord = line[-1] - line[0]
    size = max(float(np.hypot(*chord)), 1e-9)
    along = chord / size
    away = line - line[0]
    t, off = away @ along / size, away @ np.array([-along[1], along[0]])
    design = np.column_stack([np.ones_like(t), t, t * t])
    weight = np.ones_like(t)
    solved = np.zeros(3)
    for _ in range(4):
        solved = np.linalg.lstsq(design * weight[:, None], off * weight, rcond=None)[0]
        rest = np.abs(off - design @ solved)
        weight = 1.0 / np.sqrt(1.0 + (rest / max(0.3, float(np.median(rest)))) ** 2)
    return float(-solved[2] / 4.0)


def _evenly(line: Points) -> Points:
    """Return at most `_SAMPLES` points of a line, in order along it."""
    return line[np.unique(np.linspace(0, len(line) - 1, min(len(line), _SAMPLES)).astype(np.intp))]


def drawn_lines(grey: NDArray[np.uint8]) -> list[Points]:
    """Return (N, 2) centre points in pixels along every long line that is straight or nearly so."""
    share = min(1.0, 2000.0 / max(grey.shape))
    small = np.asarray(cv2.resize(grey, None, fx=share, fy=share, interpolation=cv2.INTER_AREA), np.uint8)
    diagonal = math.hypot(*small.shape)
    found = cv2.createLineSegmentDetector(cv2.LSD_REFINE_STD).detect(small)[0]
    if found is None:
        return []
    segments = np.asarray(found, np.float64).reshape(-1, 2, 2)
    chains = _chained(segments[np.hypot(*(segments[:, 1] - segments[:, 0]).T) > 0.01 * diagonal], diagonal)
    darkness = find_ink(small, px_per_mm=max(2.0, diagonal / 500.0)).darkness
    lines = []
    for chain in chains:
        if math.dist(chain[0].tolist(), chain[-1].tolist()) > _LONG_SHARE * diagonal:
            points = _centred(darkness, chain)
            # Where half of it is no undisturbed line, it is an edge of something wide.
            if len(points) > 0.6 * _DENSE:
                lines.append((points + 0.5) / share - 0.5)
    return lines


def _chained(segments: Points, diagonal: float) -> list[Points]:
    """Return polylines of segments that follow each other with hardly a turn, the longest first."""
    order = np.argsort(-np.hypot(*(segments[:, 1] - segments[:, 0]).T), kind="stable")
    free = np.ones(len(segments), np.bool_)
    chains = []
    for first in order.tolist():
        if not free[first]:
            continue
        free[first] = False
        chain = list(segments[first])
        for _ in range(2):
            while (after := _next(chain, segments, free, diagonal)) is not None:
                chain += after
            chain.reverse()
        chains.append(np.array(chain))
    return chains


def _next(chain: list[Points], segments: Points, free: NDArray[np.bool_], diagonal: float) -> list[Points] | None:
    """Take the nearest free segment that goes on from the chain's end, and return its two ends in order."""
    end, along = chain[-1], chain[-1] - chain[-2]
    along = along / max(float(np.hypot(*along)), 1e-9)
    left = np.array([-along[1], along[0]])
    # Each segment in the direction in which it goes on.
    ways = np.where(((segments[:, 1] - segments[:, 0]) @ along > 0)[:, None, None], segments, segments[:, ::-1])
    ahead, off = (ways[:, 0] - end) @ along, np.abs((ways[:, 0] - end) @ left)
    run = ways[:, 1] - ways[:, 0]
    turn = np.abs(run @ left) / np.maximum(np.hypot(*run.T), 1e-9)
    fits = (
        free & (ahead > -3.0) & (ahead < 0.04 * diagonal) & (off < 2.0 + 0.02 * np.maximum(ahead, 0.0)) & (turn < 0.04)
    )
    if not np.any(fits):
        return None
    k = int(np.flatnonzero(fits)[np.argmin(ahead[fits])])
    free[k] = False
    return [ways[k, 0], ways[k, 1]]


def _centred(darkness: NDArray[np.uint8], chain: Points) -> Points:
    """Return the measured centres of the drawn line along a chain of segments, where it is undisturbed."""
    steps = np.hypot(*np.diff(chain, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    wanted = np.linspace(0.02, 0.98, _DENSE) * along[-1]
    points = np.column_stack([np.interp(wanted, along, chain[:, k]) for k in (0, 1)])
    tangent = np.gradient(points, axis=0)
    tangent /= np.maximum(np.hypot(*tangent.T), 1e-9)[:, None]
    normals = np.column_stack([-tangent[:, 1], tangent[:, 0]])
    is_clean = np.ones(len(points), np.bool_)
    for _ in range(2):
        shift, _, is_clean = centre_offsets(darkness, points, normals, width_px=4.0)
        points = points + np.where(is_clean, np.clip(shift, -3.0, 3.0), 0.0)[:, None] * normals
    return points[is_clean]
