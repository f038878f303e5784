"""How far a cut edge stands off its outline, place by place."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d
from scipy.spatial import cKDTree

from nesting.wood.ascut.edge_samples import EdgeSamples
from vectorize.shapes.segment import Point, Points

PlaceKind = Literal["proud", "short", "hole-off", "hole-size"]
"""Wood left, wood gone, a cut-out that lies elsewhere, one that is larger or smaller all round."""

WINDOW_MM = 0.7
WINDOW_PX = 6.0
"""Over so much of the edge, or over so many pixels, readings are averaged: wide enough for a scanner's noise, and
narrow enough for a nick (chosen)."""
EXTENT_SHARE = 0.5
"""A place reaches as far as the edge is off by this share of the tolerance on the same side."""
BRIDGED_MM = 3.0
"""Places on the same side with less between them are one."""


@dataclass(frozen=True, slots=True, eq=False)
class EdgeDeviation:
    """How far one ring of a part stands off: `off_mm` at each of `samples`, positive where wood is left."""

    ring: int
    samples: EdgeSamples
    off_mm: Points

    @property
    def judged(self) -> NDArray[np.bool_]:
        """Return which samples may be told: not those beside corners."""
        return ~self.samples.is_corner


@dataclass(frozen=True, slots=True)
class Place:
    """A place where a part is off by more than the tolerance.

    `off_mm` is the largest deviation (positive: wood left), for a cut-out that lies elsewhere how far, and for one of
    another size by how much its edge is out. `at` and `towards` are in the outline's frame: the place, and where the
    cut-out has gone. `over_mm` is the length along the edge, `samples` are the numbers of the edge's points there.
    """

    kind: PlaceKind
    ring: int
    at: Point
    off_mm: float
    over_mm: float
    samples: tuple[int, ...]
    sigma_mm: float = 0.0
    towards: Point | None = None


def edge_deviation(ring: int, samples: EdgeSamples, measured: Points, *, px_mm: float) -> EdgeDeviation:
    """Return how far a measured ring stands off its samples, averaged along the edge.

    Args:
        ring: Its number: 0 the exterior, then the cut-outs.
        samples: Of the outline.
        measured: (N, 2) points of the cut edge in the outline's frame, about one a pixel.
        px_mm: Size of a pixel of the scan.
    """
    dense = _dense(measured, samples.step_mm)
    _, nearest = cKDTree(samples.points).query(dense)
    apart = np.sum((dense - samples.points[nearest]) * samples.normals[nearest], axis=1)
    count = np.bincount(nearest, minlength=len(samples.points)).astype(np.float64)
    sums = np.bincount(nearest, weights=apart, minlength=len(samples.points))
    window = max(1, round(max(WINDOW_MM, WINDOW_PX * px_mm) / samples.step_mm))
    window = min(window, len(count) // 8)
    weight = uniform_filter1d(count, window, mode="wrap")
    total = uniform_filter1d(sums, window, mode="wrap")
    off = np.divide(total, weight, out=np.full(len(count), np.nan), where=weight > 1e-9)
    return EdgeDeviation(ring, samples, _filled(off))


def _dense(ring: Points, step_mm: float) -> Points:
    """Return points along a measured ring, no farther apart than half a step."""
    closed = np.vstack([ring, ring[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    at = np.linspace(0.0, along[-1], max(len(ring), math.ceil(2 * along[-1] / step_mm)), endpoint=False)
    return np.column_stack([np.interp(at, along, closed[:, k]) for k in (0, 1)])


def _filled(off: Points) -> Points:
    """Return values with those that no point told put between their neighbours, round the ring."""
    known = np.flatnonzero(np.isfinite(off))
    if len(known) == 0:
        return np.zeros_like(off)
    return np.asarray(np.interp(np.arange(len(off)), known, off[known], period=len(off)), np.float64)


def places_off(edge: EdgeDeviation, *, tolerance_mm: float) -> tuple[Place, ...]:
    """Return where an edge is off by more than the tolerance; a cut-out that is off as a whole is told so."""
    whole: list[Place] = []
    off = edge.off_mm
    if edge.ring > 0:
        shift, all_round = _as_a_whole(edge)
        centre = _point(edge.samples.points.mean(axis=0))
        around, everywhere = edge.samples.step_mm * len(off), tuple(range(len(off)))
        if math.hypot(*shift) > tolerance_mm:
            moved = math.hypot(*shift)
            whole.append(Place("hole-off", edge.ring, centre, moved, around, everywhere, towards=_point(shift)))
            off = off - edge.samples.normals @ shift
        if abs(all_round) > tolerance_mm:
            whole.append(Place("hole-size", edge.ring, centre, all_round, around, everywhere))
            off = off - all_round
    return (*whole, *_runs(edge, off, tolerance_mm))


def _as_a_whole(edge: EdgeDeviation) -> tuple[Points, float]:
    """Return by how much a cut-out has moved, and how much wood is left all round it, fitted by least squares.

    What one spot of its edge adds is left out by Tukey's biweight.
    """
    matrix = np.column_stack([edge.samples.normals, np.ones(len(edge.off_mm))])
    weight = np.where(edge.judged, 1.0, 0.0)
    if weight.sum() < 8:
        weight[:] = 1.0
    fitted = np.zeros(3)
    for _ in range(8):
        root = np.sqrt(weight)
        fitted = np.linalg.lstsq(matrix * root[:, None], edge.off_mm * root, rcond=None)[0]
        rest = edge.off_mm - matrix @ fitted
        limit = max(0.1, 4.0 * float(np.median(np.abs(rest))))
        weight = np.clip(1 - (rest / limit) ** 2, 0.0, None) ** 2 * np.where(edge.judged, 1.0, 0.01)
    return fitted[:2], float(fitted[2])


def _runs(edge: EdgeDeviation, off: Points, tolerance_mm: float) -> Iterator[Place]:
    step = edge.samples.step_mm
    for side in (1, -1):
        high = (side * off > tolerance_mm) & edge.judged
        if not high.any():
            continue
        wide = _bridged(side * off > EXTENT_SHARE * tolerance_mm, round(BRIDGED_MM / step), side * off > 0)
        for run in _stretches(wide):
            inside = run[high[run]]
            if len(inside):
                worst = inside[np.argmax(side * off[inside])]
                middle = run[len(run) // 2] if len(run) < len(off) else worst
                yield Place(
                    "proud" if side > 0 else "short",
                    edge.ring,
                    _point(edge.samples.points[middle]),
                    float(off[worst]),
                    len(run) * step,
                    tuple(run.tolist()),
                )


def _bridged(is_off: NDArray[np.bool_], most: int, may: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return marks with short gaps closed, where the edge stands off on the same side all through."""
    closed = is_off.copy()
    for gap in _stretches(~is_off):
        if len(gap) <= most and may[gap].all():
            closed[gap] = True
    return closed


def _stretches(marks: NDArray[np.bool_]) -> list[NDArray[np.intp]]:
    """Return runs of marked places round a ring, each as its indices in order."""
    count = len(marks)
    if marks.all():
        return [np.arange(count)]
    if not marks.any():
        return []
    start = int(np.flatnonzero(~marks)[0])
    order = (np.arange(count) + start) % count
    turned = marks[order]
    edges = np.flatnonzero(np.diff(np.concatenate([[False], turned, [False]]).astype(np.int8)))
    return [order[a:b] for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _point(values: Points) -> Point:
    return float(values[0]), float(values[1])


def overall(edges: Sequence[EdgeDeviation]) -> tuple[float, float, float, float]:
    """Return mean, root mean square, largest and least deviation of all that is judged, in mm."""
    off = np.concatenate([edge.off_mm[edge.judged] for edge in edges])
    if len(off) == 0:
        return 0.0, 0.0, 0.0, 0.0
    return float(off.mean()), float(np.sqrt(np.mean(off**2))), float(off.max()), float(off.min())
