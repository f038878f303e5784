"""The edge of a thing on the scanner as it was seen, point by point, without lines and arcs fitted to it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from vectorize.basics.errors import PickError
from vectorize.page import Page
from vectorize.scale.plan_scale import PlanScale
from vectorize.shapes.segment import Point, Points
from vectorize.trace.silhouette import LEAST_MM, Things, contours_of, things_on

LIGHT_MM = 4.0
"""Over such a distance the brightness of wood and ground is averaged: less than light falls off over, more than the
lines of the grain are apart (chosen)."""
RIM_PX = 3
"""So near to the edge a pixel is neither wood nor ground."""
LEAST_HOLE_MM2 = 0.8
"""Nothing smaller is a hole: it is a pin prick, or dust (a hole of 1 mm)."""
_COARSER = 4


@dataclass(frozen=True, slots=True, eq=False)
class ScannedThing:
    """A thing's edge in mm, y up: the outer one first, then its holes, the largest first; each (N, 2), a point a pixel.

    `at_px` is a pixel on it, `area_mm2` its area without the holes.
    """

    rings: tuple[Points, ...]
    area_mm2: float
    at_px: Point


def scanned_things(page: Page, scale: PlanScale, *, at_px: Point | None = None) -> tuple[ScannedThing, ...]:
    """Return the things that lie wholly on a scan, the largest first, or the one at a pixel.

    The edge is half way between the brightness of the thing and of the ground beside it, each as bright as it is there.

    Raises:
        ScanError: The page has no picture, or nothing stands out on it.
        PickError: Nothing lies wholly on it, or not at that pixel.
    """
    things = _levelled(things_on(page, scale), scale)
    if at_px is not None:
        wanted = [_thing_at(things, at_px)]
    else:
        least = (LEAST_MM * scale.px_per_mm) ** 2 / 4
        order = np.argsort(-things.boxes[:, 4], kind="stable").tolist()
        wanted = [k for k in order if k and things.boxes[k, 4] >= least]
    if not wanted or (at_px is not None and wanted[0] in things.cut) or all(k in things.cut for k in wanted):
        raise PickError(
            f"no part lies wholly on {page.name}; lay it inside the edges of the picture, on a ground of clearly "
            "another brightness, and scan it again."
        )
    return tuple(_scanned(things, scale, k) for k in wanted if k not in things.cut)


def _thing_at(things: Things, at_px: Point) -> int:
    rows, columns = things.labels.shape
    column, row = round(at_px[0]), round(at_px[1])
    if not (0 <= column < columns and 0 <= row < rows):
        raise PickError(f"the pixel ({column}, {row}) is outside of the picture, which has {columns} x {rows} px.")
    found = int(things.labels[row, column])
    if found == 0:
        raise PickError(f"no part lies at the pixel ({column}, {row}); give one on the wood of the part.")
    return found


def _levelled(things: Things, scale: PlanScale) -> Things:
    """Return things with their half-way level taken off, at each pixel as bright as it is round about."""
    inside = (things.labels > 0).astype(np.uint8)
    kernel = np.ones((2 * RIM_PX + 1, 2 * RIM_PX + 1), np.uint8)
    wood = np.asarray(cv2.erode(inside, kernel), np.bool_)
    ground = ~np.asarray(cv2.dilate(inside, kernel), np.bool_)
    sigma = LIGHT_MM * scale.px_per_mm / _COARSER
    level = (_brightness(things.grey, wood, sigma) + _brightness(things.grey, ground, sigma)) / 2
    return replace(things, grey=np.asarray(things.grey - level, np.float32), level=0.0)


def _brightness(grey: NDArray[np.float32], mask: NDArray[np.bool_], sigma: float) -> NDArray[np.float32]:
    """Return how bright the pixels of a mask are round about each pixel; far from all of them, as their mean."""
    rows, columns = grey.shape
    small = (max(1, columns // _COARSER), max(1, rows // _COARSER))
    share = cv2.resize(mask.astype(np.float32), small, interpolation=cv2.INTER_AREA)
    total = cv2.resize(grey * mask, small, interpolation=cv2.INTER_AREA)
    mean = float(grey[mask].mean()) if mask.any() else float(grey.mean())
    faint = 1e-3
    blurred = (cv2.GaussianBlur(total, (0, 0), sigma) + faint * mean) / (cv2.GaussianBlur(share, (0, 0), sigma) + faint)
    return np.asarray(cv2.resize(blurred, (columns, rows), interpolation=cv2.INTER_LINEAR), np.float32)


def _scanned(things: Things, scale: PlanScale, thing: int) -> ScannedThing:
    seen = sorted((scale.to_mm(contour) for contour in contours_of(things, thing)), key=lambda c: -abs(_area(c)))
    body, *others = seen
    holes = [ring for ring in others if abs(_area(ring)) >= LEAST_HOLE_MM2]
    area = abs(_area(body)) - sum(abs(_area(ring)) for ring in holes)
    row, column = np.argwhere(things.labels == thing)[0].tolist()
    return ScannedThing((body, *holes), area, (float(column), float(row)))


def _area(ring: Points) -> float:
    x, y = ring.T
    return float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) / 2
