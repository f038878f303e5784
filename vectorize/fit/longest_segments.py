"""The longest lines and arcs that follow a row of measured points, one after another.

Their ends are balanced against each other, so that a straight side does not run round a bend.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from vectorize.fit.spline import Free
from vectorize.fit.tolerances import FitSettings
from vectorize.shapes.primitives import Round, Shape, Straight, as_point, fit_circle, fit_line
from vectorize.shapes.segment import Point, Points

INDEPENDENT_MM = 1.0
"""Points of a measured line so far apart count as independent, where a bend is weighed against a straight."""

SURE_GAIN = 9.0
"""An arc is one where it explains three standard deviations more than a line does."""

LONG_POINTS = 30
"""A line through so many points is straight on purpose."""

LEAST_CUT = 3
"""Fewer points than this tell no curve."""

PLAIN_STRAY_MM = 0.004
"""No line is drawn or measured straighter."""

_MOST_ROUNDS = 6

AnyShape: TypeAlias = Shape | Free


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """A fitted shape over data points `begin` to `end`, with the points where it should begin and end."""

    shape: AnyShape
    begin: int
    end: int
    first: Point
    last: Point
    rms: float


def greedy(points: Points, settings: FitSettings) -> list[Piece]:
    """Return the longest lines and arcs that fit, one after another, with their ends balanced."""
    begin, last = 0, len(points) - 1
    pieces: list[Piece] = []
    while begin < last or not pieces:
        piece = _fitted(points, begin, last, settings)
        if piece is None:
            piece = _longest(points, begin, last, settings)
        pieces.append(piece)
        begin = piece.end
    return _cut_back(points, _balanced(points, _decided(points, _balanced(points, pieces), settings)))


def _cut_back(points: Points, pieces: list[Piece]) -> list[Piece]:
    """Return the pieces with long lines only as far as they are straight: a curve may leave one gently.

    What is cut off becomes a piece of its own beside the curve.
    """
    found: list[Piece] = []
    for k, piece in enumerate(pieces):
        if not _is_long(piece):
            found.append(piece)
            continue
        begin, end = _straight_span(points, piece)
        has_curve_before, has_curve_after = (0 <= n < len(pieces) and not _is_long(pieces[n]) for n in (k - 1, k + 1))
        begin = begin if has_curve_before and begin >= piece.begin + LEAST_CUT else piece.begin
        end = end if has_curve_after and end <= piece.end - LEAST_CUT else piece.end
        spans = ((piece.begin, begin), (begin, end), (end, piece.end))
        found += [_piece(points, *span, _line_of(points, *span)) for span in spans if span[1] > span[0]]
    return found


def _is_long(piece: Piece) -> bool:
    return isinstance(piece.shape, Straight) and piece.end - piece.begin >= LONG_POINTS


def _straight_span(points: Points, piece: Piece) -> tuple[int, int]:
    """Return the first and last point of a line that stray no more from its middle part than that strays itself."""
    spare = (piece.end - piece.begin) // 8
    middle = slice(piece.begin + spare, piece.end - spare + 1)
    line = fit_line(points[middle], as_point(points[piece.end] - points[piece.begin]))
    noise = float(np.sqrt(np.mean(line.distances(points[middle]) ** 2)))
    within = np.abs(line.distances(points[piece.begin : piece.end + 1])) <= max(3.0 * noise, PLAIN_STRAY_MM)
    straight = piece.begin + np.flatnonzero(within)
    return int(straight[0]), int(straight[-1])


def _decided(points: Points, pieces: list[Piece], settings: FitSettings) -> list[Piece]:
    """Return the pieces with arcs that are lines after all: the longest piece that fits runs a little round a bend."""
    found = []
    for piece in pieces:
        assert not isinstance(piece.shape, Free)
        # What lies between two bends is told by its middle.
        spare = (piece.end - piece.begin) // 10 if len(pieces) > 1 else 0
        begin, end = piece.begin + spare, piece.end - spare
        straight = _line_of(points, begin, end)
        line = _piece(points, begin, end, straight)
        middle = _piece(points, begin, end, piece.shape)
        is_straight = _strays(straight, points[begin : end + 1]) <= settings.tolerance_mm
        is_line = is_straight and _is_no_arc(line, middle, settings)
        found.append(_piece(points, piece.begin, piece.end, straight) if is_line else piece)
    return found


def _is_no_arc(line: Piece, arc: Piece, settings: FitSettings) -> bool:
    """Whether the arc explains no more than the noise does, or no more than noise may feign over its length."""
    if line.rms < 1.5 * arc.rms + 0.05 * settings.tolerance_mm:
        return True
    gain = (line.rms**2 - arc.rms**2) * math.dist(line.first, line.last) / INDEPENDENT_MM
    return gain < SURE_GAIN * settings.noise_mm**2


def _longest(points: Points, begin: int, last: int, settings: FitSettings) -> Piece:
    """Return the longest piece from `begin` that fits: doubling, then halving."""
    low, best = min(begin + 2, last), None
    high = low
    while high < last:
        trial = _fitted(points, begin, high, settings)
        if trial is None:
            break
        low, best = high, trial
        high = min(last, begin + 2 * (high - begin))
    while high - low > 1:
        middle = (low + high) // 2
        trial = _fitted(points, begin, middle, settings)
        if trial is None:
            high = middle
        else:
            low, best = middle, trial
    return best or _piece(points, begin, low, _line_of(points, begin, low))


def _fitted(points: Points, begin: int, end: int, settings: FitSettings) -> Piece | None:
    """Return the line or else the arc that follows points begin..end within the tolerance."""
    data = points[begin : end + 1]
    line = _piece(points, begin, end, _line_of(points, begin, end))
    is_straight = _strays(line.shape, data) <= settings.tolerance_mm
    if len(data) < 6 or (is_straight and line.rms < 0.1 * settings.tolerance_mm):
        return line if is_straight else None
    circle = fit_circle(data)
    if circle is None or _strays(circle, data) > settings.tolerance_mm:
        return line if is_straight else None
    arc = _piece(points, begin, end, circle)
    return line if is_straight and _is_no_arc(line, arc, settings) else arc


def _line_of(points: Points, begin: int, end: int) -> Straight:
    return fit_line(points[begin : end + 1], as_point(points[end] - points[begin]))


def _piece(points: Points, begin: int, end: int, shape: Shape) -> Piece:
    rms = float(np.sqrt(np.mean(shape.distances(points[begin : end + 1]) ** 2)))
    return Piece(shape, begin, end, as_point(points[begin]), as_point(points[end]), rms)


def _strays(shape: AnyShape, data: Points) -> float:
    """Largest mean of three neighbouring distances."""
    assert not isinstance(shape, Free)
    away = shape.distances(data)
    return float(np.max(np.abs(away if len(away) < 4 else np.convolve(away, np.ones(3) / 3, "valid"))))


def _balanced(points: Points, pieces: list[Piece]) -> list[Piece]:
    """Move each joint to where the two pieces beside it fit best together, until none moves any more."""
    pieces = list(pieces)
    waiting = list(range(len(pieces) - 1))
    for _ in range(_MOST_ROUNDS * len(pieces)):
        if not waiting:
            break
        k = waiting.pop(0)
        pair = _best_joint(points, pieces[k], pieces[k + 1])
        if pair[0] is not pieces[k]:
            pieces[k : k + 2] = pair
            waiting += [n for n in (k - 1, k, k + 1) if 0 <= n < len(pieces) - 1 and n not in waiting]
    return pieces


def _best_joint(points: Points, one: Piece, other: Piece) -> tuple[Piece, Piece]:
    best, joint = _badness(one, other), one.end
    pair = one, other
    for step in (8, 4, 2, 1):
        for trial in (joint - step, joint + step):
            if not one.begin + 2 <= trial <= other.end - 2:
                continue
            first = _refitted(points, one, one.begin, trial)
            second = _refitted(points, other, trial, other.end)
            if first is not None and second is not None and _badness(first, second) < best:
                best, joint, pair = _badness(first, second), trial, (first, second)
    return pair


def _badness(one: Piece, other: Piece) -> float:
    return one.rms**2 * (one.end - one.begin) + other.rms**2 * (other.end - other.begin)


def _refitted(points: Points, piece: Piece, begin: int, end: int) -> Piece | None:
    if isinstance(piece.shape, Round) and end - begin < 5:
        return None
    circle = fit_circle(points[begin : end + 1]) if isinstance(piece.shape, Round) else None
    # An arc whose ends no longer run round its neighbours' bends may turn out to be no arc at all.
    return _piece(points, begin, end, circle or _line_of(points, begin, end))
