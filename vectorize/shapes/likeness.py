"""Parts that are drawn alike: one shape several times, also turned, also turned over."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from vectorize.shapes.outline import Outline
from vectorize.shapes.segment import Points, step_count

SAMPLES = 512
"""Points along the exterior to find the turn by."""

STEP_MM = 0.5
_FLAT_MM = 0.005
_FEWEST = 16

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
    """Return points close together along all edges, once round each ring and back to its start.

    Every end of a segment is one: evenly spaced points would cut corners off, differently from each first point.
    """
    rings = []
    for ring in outline.rings:
        line = ring.flattened(_FLAT_MM)
        closed = np.vstack([line, line[:1]])
        counts = [step_count(size / STEP_MM, least=1) for size in np.hypot(*np.diff(closed, axis=0).T).tolist()]
        if sum(counts) < _FEWEST:
            counts = [count * -(-_FEWEST // sum(counts)) for count in counts]
        points = [
            a + (b - a) * np.arange(n)[:, None] / n for a, b, n in zip(closed[:-1], closed[1:], counts, strict=True)
        ]
        rings.append(np.vstack([*points, closed[-1:]]))
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
    transform; the least squares of the distances to the nearest edges finish it (Chen & Medioni 1992,
    doi:10.1016/0262-8856(92)90066-C).
    """
    z = (even - even.mean(axis=0)) @ [1.0, 1.0j]
    w = (goal_even - goal_even.mean(axis=0)) @ [1.0, 1.0j]
    match = np.fft.ifft(np.fft.fft(w) * np.conj(np.fft.fft(z)))
    turn = match[int(np.argmax(np.abs(match)))]
    moved = _turned(points - even.mean(axis=0), turn / abs(turn)) + goal_even.mean(axis=0)
    near, normals = _dense(goal)
    tree = shapely.STRtree(np.asarray(shapely.points(near)))
    for _ in range(20):
        k = tree.nearest(shapely.points(moved))
        step = _rigid_step(moved, near[k], normals[k])
        moved = moved + step
        if float(np.max(np.abs(step))) < 1e-5:
            break
    there, back = _away(moved, goal), _away(goal, moved)
    return np.concatenate([there, back])


def _away(points: Points, edges: Points) -> Points:
    """Return how far points are from the edges that run through other points."""
    near, normals = _dense(edges)
    k = shapely.STRtree(np.asarray(shapely.points(near))).nearest(shapely.points(points))
    steps = points - near[k]
    away, across = np.hypot(*steps.T), np.abs(np.sum(steps * normals[k], axis=1))
    # Beside an edge the distance is across it; beyond a corner it is that of the corner.
    return np.asarray(np.where(away < STEP_MM / 5, across, away), np.float64)


def _rigid_step(points: Points, near: Points, normals: Points) -> Points:
    """Return the small turn and shift that bring points onto the edges through the points that are near them."""
    middle = points.mean(axis=0)
    x, y = (points - middle).T
    design = np.column_stack([normals, x * normals[:, 1] - y * normals[:, 0]])
    rest = np.sum((near - points) * normals, axis=1)
    (dx, dy, turn), *_ = np.linalg.lstsq(design, rest, rcond=None)
    turned = _turned(points - middle, complex(math.cos(turn), math.sin(turn)))
    return np.asarray(turned + middle + [dx, dy] - points, np.float64)


def _dense(points: Points) -> tuple[Points, Points]:
    """Return points with nine more between each two neighbours of one ring, and the normals of the edge there."""
    steps = np.diff(points, axis=0)
    size = np.hypot(*steps.T)
    is_near = (size > 0) & (size < 2 * STEP_MM)
    begins, steps = points[:-1][is_near], steps[is_near]
    between = [begins + share * steps for share in np.arange(0.0, 1.0, 0.1)]
    normals = np.column_stack([-steps[:, 1], steps[:, 0]]) / size[is_near][:, None]
    return np.vstack(between), np.tile(normals, (10, 1))


def _turned(points: Points, turn: complex) -> Points:
    c, s = turn.real, turn.imag
    return np.asarray(points @ np.array([[c, s], [-s, c]]), np.float64)
