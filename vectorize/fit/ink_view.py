"""The ink as a fitted ring sees it, and the pen that drew it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates
from scipy.special import ndtr

from vectorize.shapes.outline import Ring
from vectorize.shapes.segment import Point, Points, Segment

Map = Callable[[Points], Points]


@dataclass(frozen=True, slots=True)
class Pen:
    """A pen's stroke across: `width_mm`, the standard deviation of the blur of its edges, and what it leaves.

    `rest` is the root mean square of the ink that it does not explain where nothing is in doubt, as a share of black.
    `black` is how dark the middle of its stroke would be without blur.
    """

    width_mm: float
    blur_mm: float
    rest: float = 0.0
    black: float = 1.0

    def darkness(self, away_mm: Points) -> Points:
        """Return the darkness, 0 to 1, at a distance from the middle of a stroke."""
        half = self.width_mm / 2
        return np.asarray(ndtr((half - away_mm) / self.blur_mm) - ndtr((-half - away_mm) / self.blur_mm), np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class InkView:
    """The ink as a fitted ring sees it, in the ring's millimetres.

    `others` are the lines of the drawing that are no part of the ring, in mm; what they cover does not count.
    `gaps` are the ways by which gaps in the ring's own line were bridged: what has worn away tells nothing either.
    A dashed line may have a space where it turns, which tells nothing.
    """

    darkness: NDArray[np.uint8]
    to_mm: Map
    to_px: Map
    step_mm: float
    others: tuple[Points, ...] = ()
    gaps: tuple[Points, ...] = ()
    is_dashed: bool = False

    def at(self, points_mm: Points) -> Points:
        """Return the darkness, 0 to 1, at (N, 2) points."""
        x, y = self.to_px(points_mm).T
        return np.asarray(map_coordinates(self.darkness, [y, x], order=1, output=np.float64) / 255.0, np.float64)

    def window(self, low: Points, high: Points) -> tuple[Points, Points]:
        """Return the pixels in a box, as (N, 2) points in mm and their darkness, 0 to 1."""
        box = self.to_px(np.array([low, (low[0], high[1]), high, (high[0], low[1])]))
        (x0, y0), (x1, y1) = np.floor(box.min(axis=0)).astype(int), np.ceil(box.max(axis=0)).astype(int)
        rows, columns = self.darkness.shape
        xs = np.arange(max(0, int(x0)), min(columns, int(x1) + 1))
        ys = np.arange(max(0, int(y0)), min(rows, int(y1) + 1))
        x, y = (grid.ravel() for grid in np.meshgrid(xs, ys))
        return self.to_mm(np.column_stack([x, y]).astype(np.float64)), self.darkness[y, x] / 255.0


def measured_pen(ring: Ring, sight: InkView, pen_mm: float) -> Pen | None:
    """Return the pen that drew most of a ring, None where too little of it is undisturbed.

    The middle value across many places, so that what crosses the line does not count; the width and the blur that
    explain it best.
    """
    spots = [spot for segment in ring.segments for spot in _plain_spots(segment, pen_mm)][:64]
    if len(spots) < 5:
        return None
    offsets = np.arange(-1.6 * pen_mm, 1.6 * pen_mm, sight.step_mm / 3)
    at, normals = (np.array(column) for column in zip(*spots, strict=True))
    bells = sight.at((at[:, None, :] + offsets[None, :, None] * normals[:, None, :]).reshape(-1, 2))
    bells = bells.reshape(len(spots), -1)
    bell = np.median(bells, axis=0)
    tries = [
        (width * pen_mm, blur * sight.step_mm)
        for width in np.arange(0.6, 1.5, 0.04)
        for blur in (0.4, 0.7, 1.0, 1.5, 2.0)
    ]
    left = [_unexplained(bell, Pen(*one).darkness(offsets))[0] for one in tries]
    width, blur = tries[int(np.argmin(left))]
    drawn = Pen(width, blur).darkness(offsets)
    rest = float(np.median([share_left(bell, drawn) for bell in bells]))
    return Pen(float(width), float(blur), rest, _unexplained(bell, drawn)[1])


def _plain_spots(segment: Segment, pen_mm: float) -> list[tuple[Point, Point]]:
    """Return points of a segment with the normals there, away from its ends."""
    length, spare = segment.length, 3.0 * pen_mm
    if length < 2 * spare + 1.0:
        return []
    shares = np.linspace(spare / length, 1 - spare / length, max(2, min(12, round(length / 3))))
    found = []
    for share in shares.tolist():
        (x0, y0), (x1, y1) = segment.point_at(share - 1e-3), segment.point_at(share + 1e-3)
        size = math.hypot(x1 - x0, y1 - y0) or 1.0
        found.append((segment.point_at(share), (-(y1 - y0) / size, (x1 - x0) / size)))
    return found


def _unexplained(seen: Points, drawn: Points) -> tuple[float, float]:
    """Return the root mean square of what a drawing leaves of the ink, and how dark its pen is."""
    dark = float(drawn @ seen) / max(float(drawn @ drawn), 1e-9)
    return math.sqrt(float(np.mean((seen - dark * drawn) ** 2))), dark


def share_left(seen: Points, drawn: Points) -> float:
    """Return what a drawing leaves of the ink as a share of its own darkness."""
    left, dark = _unexplained(seen, drawn)
    return left / max(dark, 0.05)
