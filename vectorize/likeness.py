"""Parts that are drawn alike: one shape several times, also turned, also turned over."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from vectorize.curve import Points
from vectorize.outline import Outline

SAMPLES = 512
"""Points along the exterior to find the turn by."""

STEP_MM = 0.5
_FLAT_MM = 0.005

RMS_SIGMAS = 2.5
WORST_SIGMAS = 5.0
SPARE_MM = 0.08
"""Two outlines are alike when they differ by no more sigmas than this, and at no place by `SPARE_MM` more: corners."""


@dataclass(frozen=True, slots=True)
class Shape:
    """An outline with the name of its part and one standard deviation of its edge."""

    name: str
    outline: Outline
    sigma_mm: float


@dataclass(frozen=True, slots=True)
class Likeness:
    """The part `name` is the same shape as the part `same_as`, turned over if `is_mirrored`.

    `worst_mm` is the farthest that one edge lies from the other, laid on each other.
    """

    name: str
    same_as: str
    is_mirrored: bool
    worst_mm: float


def alike(shapes: Sequence[Shape]) -> tuple[Likeness, ...]:
    """Return, for each shape that repeats an earlier one within the uncertainty of both, which one that is.

    A shape that is its own mirror image counts as not turned over.
    """
    found: list[Likeness] = []
    firsts: list[Shape] = []
    for shape in shapes:
        likeness = next((like for first in firsts if (like := _likeness(shape, first)) is not None), None)
        if likeness is None:
            firsts.append(shape)
        else:
            found.append(likeness)
    return tuple(found)


def _likeness(shape: Shape, first: Shape) -> Likeness | None:
    """Return how a shape repeats another, None where it does not."""
    sigma = math.hypot(shape.sigma_mm, first.sigma_mm)
    slack = WORST_SIGMAS * sigma + SPARE_MM
    a, b = shape.outline, first.outline
    is_likely = (
        len(a.cutouts) == len(b.cutouts)
        and abs(a.area_mm2 - b.area_mm2) < slack * b.perimeter_mm / 2
        and abs(a.perimeter_mm - b.perimeter_mm) < max(8 * slack, 0.02 * b.perimeter_mm)
    )
    if not is_likely:
        return None
    goal = _points(b)
    for is_mirrored in (False, True):
        points = _points(a) * ([-1.0, 1.0] if is_mirrored else [1.0, 1.0])
        away = _laid_on(points, _even(a, is_mirrored=is_mirrored), goal, _even(b))
        if math.sqrt(float(np.mean(away**2))) <= RMS_SIGMAS * sigma + SPARE_MM / 4 and float(away.max()) <= slack:
            return Likeness(shape.name, first.name, is_mirrored, float(away.max()))
    return None


def _points(outline: Outline) -> Points:
    """Return points close together along all edges."""
    rings = []
    for ring in outline.rings:
        line = ring.flattened(_FLAT_MM)
        rings.append(_along(np.vstack([line, line[:1]]), max(16, math.ceil(ring.perimeter_mm / STEP_MM))))
    return np.vstack(rings)


def _even(outline: Outline, *, is_mirrored: bool = False) -> Points:
    """Return `SAMPLES` points once round the exterior, counter-clockwise."""
    line = outline.exterior.flattened(_FLAT_MM)
    even = _along(np.vstack([line, line[:1]]), SAMPLES)
    return even[::-1] * [-1.0, 1.0] if is_mirrored else even


def _along(closed: Points, count: int) -> Points:
    lengths = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    marks = lengths[-1] * np.arange(count) / count
    return np.column_stack([np.interp(marks, lengths, closed[:, k]) for k in (0, 1)])


def _laid_on(points: Points, even: Points, goal: Points, goal_even: Points) -> Points:
    """Return the distances between two outlines both ways, once the first is turned and shifted onto the second.

    The turn is that of the best cyclic match of evenly spaced points, found for all starts at once by a Fourier
    transform; the least squares of the nearest points finish it (Besl & McKay 1992, doi:10.1109/34.121791).
    """
    z = (even - even.mean(axis=0)) @ [1.0, 1.0j]
    w = (goal_even - goal_even.mean(axis=0)) @ [1.0, 1.0j]
    match = np.fft.ifft(np.fft.fft(w) * np.conj(np.fft.fft(z)))
    turn = match[int(np.argmax(np.abs(match)))]
    moved = _turned(points - even.mean(axis=0), turn / abs(turn)) + goal_even.mean(axis=0)
    tree = cKDTree(_dense(goal))
    for _ in range(30):
        near = _dense(goal)[tree.query(moved)[1]]
        start, end = moved.mean(axis=0), near.mean(axis=0)
        turn = np.vdot((moved - start) @ [1.0, 1.0j], (near - end) @ [1.0, 1.0j])
        step = _turned(moved - start, turn / abs(turn)) + end - moved
        moved = moved + step
        if float(np.max(np.abs(step))) < 1e-4:
            break
    there, _ = tree.query(moved)
    back, _ = cKDTree(_dense(moved)).query(goal)
    return np.asarray(np.concatenate([there, back]), np.float64)


def _dense(points: Points) -> Points:
    """Return points with nine more between each two neighbours of one ring."""
    steps = np.diff(points, axis=0)
    is_near = np.hypot(*steps.T) < 2 * STEP_MM
    between = [points[:-1][is_near] + share * steps[is_near] for share in np.arange(0.1, 1.0, 0.1)]
    return np.vstack([points, *between])


def _turned(points: Points, turn: complex) -> Points:
    c, s = turn.real, turn.imag
    return np.asarray(points @ np.array([[c, s], [-s, c]]), np.float64)
