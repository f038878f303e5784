"""Where two scans of one sheet lie on each other, to a fraction of a millimetre, from what both show.

Places that look alike are proposed as pairs (Lowe 2004, doi:10.1023/B:VISI.0000029664.99615.94); two pairs that agree
in distance and in turn give a move, and the move that most other pairs agree with is kept (Fischler & Bolles 1981,
doi:10.1145/358669.358692). A plan repeats itself, so that counting pairs does not prove a move: it is judged by the
line work of the whole overlap, which must be on both scans or on neither.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np

from vectorize.scale.joined.tile import SKETCH_PX_PER_MM, Sketch
from vectorize.shapes.segment import Points

Verdict = Literal["joined", "nothing", "ambiguous"]

LEAST_AGREEMENT = 0.8
"""Share of the line work in the overlap that both scans must show."""

LEAST_SHARED_MM = 60.0
"""Length of line work in the overlap below which nothing is proved."""

RIVAL_SHARE = 0.5
"""Another move that explains this share of the line work about as well makes the match ambiguous."""

STRETCH = 0.06
"""Scans of one sheet differ in scale by less than this from what their files state, or are not one sheet."""

_ALIKE = 3
_NEAR_MM = 1.0
_SAME_LINE_MM = 0.6
_MOVES = 2500
_RIVALS = 8


@dataclass(frozen=True, slots=True, eq=False)
class Match:
    """How the second scan lies on the first.

    `move` is the 2 x 3 similarity from own mm of the first to own mm of the second; `agreement` the share of the line
    work in the overlap that both show, `shared_mm` its length.
    """

    verdict: Verdict
    move: Points
    agreement: float
    shared_mm: float


NOTHING = Match("nothing", np.eye(2, 3), 0.0, 0.0)


def first_match(one: Sketch, other: Sketch, *, seed: int = 0) -> Match:
    """Return how `other` lies on `one`, or that they share nothing, or that several ways are as likely."""
    moves = _proposed(one, other, np.random.default_rng(seed))
    good = [match for move in moves if (match := judged(one, other, move)).verdict == "joined"]
    if not good:
        return NOTHING
    best = max(good, key=lambda match: match.agreement**2 * match.shared_mm)
    for rival in good:
        differs = _apart(one, best.move, rival.move)
        is_as_good = rival.agreement > best.agreement - 0.05 and rival.shared_mm > RIVAL_SHARE * best.shared_mm
        if differs and is_as_good:
            return Match("ambiguous", best.move, best.agreement, best.shared_mm)
    return best


def moved(move: Points, points: Points) -> Points:
    """Return (N, 2) points under a 2 x 3 map."""
    return np.asarray(points @ move[:, :2].T + move[:, 2], np.float64)


def inverse(move: Points) -> Points:
    """Return the 2 x 3 map back."""
    back = np.linalg.inv(move[:, :2])
    return np.column_stack([back, -back @ move[:, 2]])


def _proposed(one: Sketch, other: Sketch, rng: np.random.Generator) -> list[Points]:
    """Return up to `_RIVALS` different moves, those with the most agreeing pairs first."""
    a, b, turn = _alike(one, other)
    if len(a) < 4:
        return []
    moves = _from_two_pairs(a, b, turn, rng)
    if not len(moves):
        return []
    complex_a, complex_b = a[:, 0] + 1j * a[:, 1], b[:, 0] + 1j * b[:, 1]
    support = np.array([np.count_nonzero(np.abs(m[0] * complex_a + m[1] - complex_b) < _NEAR_MM) for m in moves])
    kept: list[Points] = []
    for k in np.argsort(-support, kind="stable").tolist():
        if support[k] < 4 or len(kept) == _RIVALS:
            break
        near = np.abs(moves[k, 0] * complex_a + moves[k, 1] - complex_b) < _NEAR_MM
        move = _fitted(a[near], b[near])
        if not any(not _apart(one, move, before) for before in kept):
            kept.append(move)
    return kept


def _alike(one: Sketch, other: Sketch) -> tuple[Points, Points, Points]:
    """Return places of the first and of the second that look alike, (N, 2) each, and the turn between them."""
    if min(len(one.spots), len(other.spots)) < _ALIKE:
        return np.empty((0, 2)), np.empty((0, 2)), np.empty(0)
    pairs = cv2.BFMatcher(cv2.NORM_L2).knnMatch(one.looks, other.looks, k=_ALIKE)
    first = np.array([m.queryIdx for row in pairs for m in row])
    second = np.array([m.trainIdx for row in pairs for m in row])
    ratio = other.sizes[second] / one.sizes[first]
    is_alike = (ratio > 0.75) & (ratio < 1.33)
    first, second = first[is_alike], second[is_alike]
    turn = np.radians(other.angles[second] - one.angles[first])
    return one.spots[first], other.spots[second], turn


def _from_two_pairs(a: Points, b: Points, turn: Points, rng: np.random.Generator) -> Points:
    """Return (K, 2) complex factor and shift of moves on which two pairs agree in distance and in turn."""
    za, zb, unit = a[:, 0] + 1j * a[:, 1], b[:, 0] + 1j * b[:, 1], np.exp(1j * turn)
    found = []
    for i in rng.integers(0, len(a), _MOVES // 4).tolist():
        step = za - za[i]
        is_far = np.abs(step) > 10.0
        factor = np.where(is_far, (zb - zb[i]) / np.where(is_far, step, 1.0), 0.0)
        is_rigid = np.abs(np.abs(factor) - 1.0) < STRETCH
        agrees = is_rigid & (np.abs(factor - unit[i]) < 0.25) & (np.abs(factor - unit) < 0.25)
        near = np.flatnonzero(agrees)
        found += [(factor[j], zb[i] - factor[j] * za[i]) for j in rng.permutation(near)[:4].tolist()]
    return np.array(found)


def _fitted(a: Points, b: Points) -> Points:
    """Return the similarity that takes points onto points by least squares (Umeyama 1991, doi:10.1109/34.88573)."""
    za, zb = a[:, 0] + 1j * a[:, 1], b[:, 0] + 1j * b[:, 1]
    ca, cb = za.mean(), zb.mean()
    factor = np.vdot(za - ca, zb - cb) / max(float(np.vdot(za - ca, za - ca).real), 1e-12)
    shift = cb - factor * ca
    return np.array([[factor.real, -factor.imag, shift.real], [factor.imag, factor.real, shift.imag]])


def _apart(one: Sketch, move: Points, other: Points) -> bool:
    """Whether two moves put the middle or the corners of the first scan at places more than 3 mm apart."""
    w, h = one.size_mm
    probe = np.array([(w / 2, h / 2), (0, 0), (w, h)])
    away = np.hypot(*(moved(move, probe) - moved(other, probe)).T)
    return bool(away[0] > 3.0 or away.max() > 0.02 * math.hypot(w, h) + 3.0)


def judged(one: Sketch, other: Sketch, move: Points) -> Match:
    """Return a move with how well the line work of both scans bears it out."""
    factor = math.sqrt(abs(float(np.linalg.det(move[:, :2]))))
    there, there_mm = _shown(one.lines, other, move)
    back, back_mm = _shown(other.lines, one, inverse(move))
    agreement, shared = min(there, back), min(there_mm, back_mm)
    is_joined = agreement >= LEAST_AGREEMENT and shared >= LEAST_SHARED_MM and abs(factor - 1.0) < STRETCH
    return Match("joined" if is_joined else "nothing", move, agreement, shared)


def _shown(lines: Points, on: Sketch, move: Points) -> tuple[float, float]:
    """Return which share of the lines that fall on a scan it shows, and their length in mm."""
    at = moved(move, lines)
    w, h = on.size_mm
    rim = 1.5
    inside = at[(at[:, 0] > rim) & (at[:, 1] > rim) & (at[:, 0] < w - rim) & (at[:, 1] < h - rim)]
    if len(inside) == 0:
        return 0.0, 0.0
    rows, columns = on.away.shape
    column = np.clip((inside[:, 0] / w * columns).astype(np.intp), 0, columns - 1)
    row = np.clip((inside[:, 1] / h * rows).astype(np.intp), 0, rows - 1)
    share = float(np.mean(on.away[row, column] < _SAME_LINE_MM))
    return share, len(inside) / SKETCH_PX_PER_MM
