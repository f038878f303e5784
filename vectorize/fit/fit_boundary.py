"""From measured boundary points to a ring of few lines, arcs and cubics.

Corners come first; the points near them, where a pen line is rounded, are not used. Between corners the
longest lines and arcs that fit are taken in turn, their ends are balanced against each other, and where
several arcs only imitate a free curve a smooth spline replaces them. At last neighbours are brought to
meet, so that a corner is where its two edges cross and not where the ink is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.ndimage import convolve1d, uniform_filter1d

from vectorize.fit.corners import find_corners
from vectorize.fit.longest_segments import AnyShape, Piece, greedy
from vectorize.fit.spline import Free, fit_spline
from vectorize.fit.tolerances import KNOWN_MM, FitSettings
from vectorize.shapes.outline import Ring
from vectorize.shapes.primitives import Round, Shape, Straight, as_point, crossings, fit_circle
from vectorize.shapes.segment import Arc, Line, Point, Points, Segment

BLOCK_MM = 0.3
"""Neighbouring points are averaged over this length before fitting: pixels next to each other share noise."""


NOISE_WINDOW_MM = 3.0

LONG_LINE_MM = 8.0
"""A straight piece of this length is straight on purpose and stays out of any spline."""

SPECKS_SHARE, SPECK_LENGTH_PENS, SPECK_HEIGHT_PENS = 0.2, 2.0, 0.5
"""A circle that a line leaves no more often, for longer and farther than this was drawn as one; specks touch it."""

STRAY_PENS, STRAY_MM = 1.0, 0.25
"""A ring that leaves a measured point by more, however disturbed, is not what was drawn."""

_FLATTEST_BULGE = 1e-5


@dataclass(frozen=True, slots=True, eq=False)
class FittedRing:
    """A ring and the root mean square distance of the points that it was fitted to.

    `shapes` are the line or circle that each segment was cut from, None for a free curve; ends are moved to meet.
    """

    ring: Ring
    rms_mm: float
    shapes: tuple[Shape | None, ...] = ()


def fit_ring(
    points: Points, is_clean: NDArray[np.bool_], *, settings: FitSettings, corners: Sequence[int] = ()
) -> FittedRing:
    """Return lines, arcs and cubics along a closed boundary.

    Args:
        points: (N, 2) in millimetres, once round, about evenly spaced, first not repeated.
        is_clean: (N,) False where a point was disturbed and must not be fitted.
        settings: Tolerance, pen width and point spacing.
        corners: Indices of points known to be corners, beside those that are found.

    Raises:
        OutlineError: The points enclose nothing.
    """
    circle = _whole_circle(points[is_clean] if is_clean.sum() > 8 else points, settings)
    if circle is not None and not corners:
        return circle
    settings = replace(settings, noise_mm=_noise_along(points, is_clean, settings))
    found = _fitted_ring(points, is_clean, settings, corners)
    if np.all(is_clean) or _farthest(points, found.ring) < STRAY_PENS * settings.pen_mm + STRAY_MM:
        return found
    # Where a whole side was disturbed nothing held the fit: what is known of it is better than nothing.
    return _fitted_ring(points, np.ones(len(points), np.bool_), settings, corners)


def _farthest(points: Points, ring: Ring) -> float:
    around = ring.flattened(0.05)
    if len(around) < 3:
        return float("inf")  # of a disturbed circle only two clean points were left to hold a ring
    return float(np.max(shapely.distance(shapely.points(points), shapely.LinearRing(around))))


def _fitted_ring(
    points: Points, is_clean: NDArray[np.bool_], settings: FitSettings, known: Sequence[int]
) -> FittedRing:
    corners = _with_known(find_corners(points, is_clean, settings=settings), known, len(points), settings)
    if len(corners) == 0:
        return _closed(_smooth_loop(points, is_clean, settings), settings)
    pieces: list[Piece] = []
    for first, last in zip(corners, (*corners[1:], corners[0] + len(points)), strict=True):
        index = np.arange(first, last + 1) % len(points)
        pieces.extend(_section(points[index], is_clean[index], settings))
    match pieces:
        case [Piece(shape=Round(centre, radius))]:
            # One arc from a lone corner round to it: a speck beside a circle looked like a corner.
            return FittedRing(Ring.circle(centre, radius), pieces[0].rms)
    return _closed(pieces, settings)


def _with_known(found: list[int], known: Sequence[int], count: int, settings: FitSettings) -> list[int]:
    """Return the corners that were found and those known beforehand, which stand for what was found close to them."""
    near = round(KNOWN_MM / settings.step_mm)
    others = [i for i in found if all(min((i - k) % count, (k - i) % count) > near for k in known)]
    return sorted({*others, *known})


def _noise_along(points: Points, is_clean: NDArray[np.bool_], settings: FitSettings) -> float:
    """Return the standard deviation of the points about a parabola through their neighbours, away from corners."""
    window = 2 * round(NOISE_WINDOW_MM / 2 / settings.step_mm) + 1
    if window < 5 or len(points) < 5 * window or not np.any(is_clean):
        return 0.0
    smooth = convolve1d(points, parabola_weights(window), axis=0, mode="wrap")
    return 1.4826 * float(np.median(np.hypot(*(points - smooth)[is_clean].T)))


def parabola_weights(window: int) -> NDArray[np.float64]:
    """Return what each of an odd number of neighbours counts in the middle of the parabola fitted to them.

    Source: Savitzky & Golay 1964, doi:10.1021/ac60214a047 (smoothing by a quadratic, in closed form).
    """
    half = window // 2
    along = np.arange(-half, half + 1.0)
    size = (2 * half - 1) * (2 * half + 1) * (2 * half + 3)
    return np.asarray(3 * (3 * half * half + 3 * half - 1 - 5 * along**2) / size, np.float64)


def _whole_circle(points: Points, settings: FitSettings) -> FittedRing | None:
    data = points[:: max(1, len(points) // 400)]
    circle = fit_circle(data)
    if circle is None:
        return None
    is_off = _leaves(circle, data, settings)
    if np.any(is_off) and _are_specks(circle, data, is_off, settings):
        # What touches the line there pulls the circle as well.
        data = data[~is_off]
        circle = fit_circle(data) or circle
        is_off = _leaves(circle, data, settings)
    if np.any(is_off):
        return None
    rms = float(np.sqrt(np.mean(circle.distances(points) ** 2)))
    return FittedRing(Ring.circle(circle.centre, circle.radius), rms)


def _leaves(circle: Round, data: Points, settings: FitSettings) -> NDArray[np.bool_]:
    return np.asarray(np.abs(uniform_filter1d(circle.distances(data), 7, mode="wrap")) > settings.tolerance_mm)


def _are_specks(circle: Round, data: Points, is_off: NDArray[np.bool_], settings: FitSettings) -> bool:
    """Whether a line leaves a circle only here and there, by less than a pen's width and for little more."""
    if np.mean(is_off) > SPECKS_SHARE:
        return False
    start = int(np.argmin(is_off))
    borders = np.flatnonzero(np.diff(np.roll(is_off, -start).astype(np.int8), append=0, prepend=0))
    longest = int(np.max(np.diff(borders)[::2])) * 2.0 * math.pi * circle.radius / len(data)
    highest = float(np.max(np.abs(circle.distances(data)[is_off])))
    return longest < SPECK_LENGTH_PENS * settings.pen_mm and highest < SPECK_HEIGHT_PENS * settings.pen_mm


def _smooth_loop(points: Points, is_clean: NDArray[np.bool_], settings: FitSettings) -> list[Piece]:
    """Fit a loop without corners, opened at the end of a long line if there is one."""
    data = _averaged(points, is_clean, settings, is_closed=True)
    cut = greedy(_once_round(data), settings)[0].end % len(data)
    data = np.roll(data, -cut, axis=0)
    pieces = greedy(_once_round(data), settings)
    lines = [piece for piece in pieces if _is_long_line(piece)]
    if lines:
        # Not at the cut, which no neighbours have settled.
        data = np.roll(data, -(lines[0].begin or lines[0].end), axis=0)
        return _smoothed(_once_round(data), greedy(_once_round(data), settings), settings)
    arms = min(10, len(data) // 4)
    wide = np.vstack([data[-arms:], data, data[: arms + 1]])
    found = _splines(wide, settings.tolerance_mm, arms, arms + len(data))
    if not found or len(pieces) < 3:
        return pieces
    spline, rms = min(found, key=lambda f: _cost(f[0].count, f[1], settings.tolerance_mm))
    first = as_point(data[0])
    return [Piece(spline, 0, len(data), first, first, rms)]


def _once_round(data: Points) -> Points:
    return np.vstack([data, data[:1]])


def _section(points: Points, is_clean: NDArray[np.bool_], settings: FitSettings) -> list[Piece]:
    """Fit the points between two corners, leaving out those the corners round off."""
    trim = min(max(1, round(0.9 * settings.pen_mm / settings.step_mm)), max(0, (len(points) - 5) // 2))
    inner = slice(trim, len(points) - trim)
    data = _averaged(points[inner], is_clean[inner], settings, is_closed=False)
    pieces = _smoothed(data, greedy(data, settings), settings)
    pieces[0] = replace(pieces[0], first=as_point(points[0]))
    pieces[-1] = replace(pieces[-1], last=as_point(points[-1]))
    return pieces


def _averaged(points: Points, is_clean: NDArray[np.bool_], settings: FitSettings, *, is_closed: bool) -> Points:
    """Return the means of clean neighbours over `BLOCK_MM`; all points count where few are clean."""
    size = max(1, round(BLOCK_MM / settings.step_mm))
    if len(points) // size < 12:
        size = max(1, len(points) // 12)
    weights = is_clean.astype(np.float64) if _tells_enough(is_clean) else np.ones(len(points))
    block = np.minimum(np.arange(len(points)) // size, max(0, len(points) // size - 1))
    total = np.bincount(block, weights)
    sums = np.column_stack([np.bincount(block, weights * points[:, k]) for k in (0, 1)])
    means = sums[total > 0] / total[total > 0][:, None]
    if len(means) < 2:
        return points[[0, -1]] if not is_closed else points
    return np.asarray(means, np.float64)


def _tells_enough(is_clean: NDArray[np.bool_]) -> bool:
    """Whether the clean points are many, or a few that lie far enough apart to be joined."""
    clean = np.flatnonzero(is_clean)
    if len(clean) < max(4, len(is_clean) // 20):
        return False
    return len(clean) >= len(is_clean) // 5 or bool(clean[-1] - clean[0] >= len(is_clean) // 2)


def _is_long_line(piece: Piece) -> bool:
    return isinstance(piece.shape, Straight) and math.dist(piece.first, piece.last) >= LONG_LINE_MM


def _smoothed(points: Points, pieces: list[Piece], settings: FitSettings) -> list[Piece]:
    """Replace each row of arcs and short lines by a spline where that follows clearly better or with fewer pieces."""
    result: list[Piece] = []
    row: list[Piece] = []
    for piece in [*pieces, None]:
        if piece is not None and not _is_long_line(piece):
            row.append(piece)
            continue
        result.extend(_as_spline(points, row, settings) if len(row) > 1 else row)
        row = []
        if piece is not None:
            result.append(piece)
    return result


def _as_spline(points: Points, row: list[Piece], settings: FitSettings) -> list[Piece]:
    begin, end = row[0].begin, row[-1].end
    data = points[begin : end + 1]
    spread = math.sqrt(sum(p.rms**2 * (p.end - p.begin) for p in row) / max(1, end - begin))
    best, least = row, _cost(len(row), spread, settings.tolerance_mm)
    for found in _splines(data, settings.tolerance_mm):
        spline, rms = found
        cost = _cost(spline.count, rms, settings.tolerance_mm)
        if cost < least:
            best, least = [Piece(spline, begin, end, row[0].first, row[-1].last, rms)], cost
    return best


def _cost(count: int, rms: float, tolerance: float) -> float:
    """Fewer pieces against closer following: a piece is worth a twenty-fifth of the tolerance."""
    return count + 25.0 * rms / tolerance


def _splines(data: Points, tolerance: float, begin: int = 0, end: int | None = None) -> list[tuple[Free, float]]:
    """Return smooth curves that follow more and less closely, but not closer than the points' own noise."""
    noise = _noise(data)
    found = [
        fit_spline(data, tolerance=max(share * tolerance, 2.8 * noise), noise=noise, begin=begin, end=end)
        for share in (0.33, 0.6, 0.9)
        if max(share * tolerance, 2.8 * noise) <= tolerance or share == 0.9
    ]
    return [spline for spline in found if spline is not None]


def _noise(points: Points) -> float:
    """Standard deviation of each coordinate about a smooth line, from second differences."""
    second = np.diff(points, n=2, axis=0)
    return 1.4826 * float(np.median(np.abs(second))) / math.sqrt(6.0) if len(second) > 4 else 0.0


def _closed(pieces: Sequence[Piece], settings: FitSettings) -> FittedRing:
    """Bring neighbouring pieces to meet and return the ring."""
    reach = 1.5 * settings.pen_mm + 0.5
    joints = [_joint(before, after, reach) for before, after in zip((pieces[-1], *pieces[:-1]), pieces, strict=True)]
    segments: list[Segment] = []
    shapes: list[Shape | None] = []
    for piece, start, end in zip(pieces, joints, (*joints[1:], joints[0]), strict=True):
        new = _segments(piece.shape, start, end)
        segments += new
        shapes += [None if isinstance(piece.shape, Free) else piece.shape] * len(new)
    weights = [max(1, piece.end - piece.begin) for piece in pieces]
    rms = math.sqrt(sum(w * p.rms**2 for w, p in zip(weights, pieces, strict=True)) / sum(weights))
    return FittedRing(Ring(tuple(segments)), rms, tuple(shapes))


def _joint(before: Piece, after: Piece, reach: float) -> Point:
    """Where two pieces meet: their crossing if they cross at an angle, else midway between them."""
    rough = ((before.last[0] + after.first[0]) / 2, (before.last[1] + after.first[1]) / 2)
    one = before.shape.continued(at_end=True) if isinstance(before.shape, Free) else before.shape
    other = after.shape.continued(at_end=False) if isinstance(after.shape, Free) else after.shape
    t0, t1 = one.tangent(rough), other.tangent(rough)
    angle = math.degrees(abs(math.atan2(t0[0] * t1[1] - t0[1] * t1[0], t0[0] * t1[0] + t0[1] * t1[1])))
    if 8.0 < angle < 176.0:
        near = min(crossings(one, other), key=lambda p: math.dist(p, rough), default=None)
        # A sharp corner lies farther out than its rounded line: by one over the sine of half its angle.
        allowed = reach / max(0.1, math.cos(math.radians(angle / 2)))
        if near is not None and math.dist(near, rough) < allowed:
            return near
    touching = _touching(one, other, rough)
    if touching is not None and math.dist(touching, rough) < reach:
        return touching
    a, b = one.nearest(rough), other.nearest(rough)
    return ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)


def _touching(one: Shape, other: Shape, rough: Point) -> Point | None:
    """Return where a line touches a circle or another circle, or where two lines cross at however small an angle.

    A point on the line itself: the joint of a long side must not turn it.
    """
    match one, other:
        case (Straight() as line, Round() as circle) | (Round() as circle, Straight() as line):
            return line.nearest(circle.centre)
        case Straight(), Straight():
            return next(iter(crossings(one, other)), None)
    return None


def _segments(shape: AnyShape, start: Point, end: Point) -> list[Segment]:
    match shape:
        case Free():
            return list(shape.cubics(start, end))
        case Straight():
            return [Line(start, end)]
        case Round():
            return _arcs(shape, start, end)


def _arcs(circle: Round, start: Point, end: Point) -> list[Segment]:
    """Return the arc from `start` to `end`; a nearly full turn goes through the far side in two."""
    begin = math.atan2(start[1] - circle.centre[1], start[0] - circle.centre[0])
    finish = math.atan2(end[1] - circle.centre[1], end[0] - circle.centre[0])
    sweep = (finish - begin) * circle.turn % (2 * math.pi) * circle.turn
    if abs(sweep) < math.pi * 1.5:
        bulge = math.tan(sweep / 4)
        return [Line(start, end) if abs(bulge) < _FLATTEST_BULGE else Arc(start, end, bulge)]
    half = begin + sweep / 2
    middle = (
        circle.centre[0] + circle.radius * math.cos(half),
        circle.centre[1] + circle.radius * math.sin(half),
    )
    return [*_arcs(circle, start, middle), *_arcs(circle, middle, end)]
