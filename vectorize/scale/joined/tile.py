"""One scan of a sheet that was scanned in pieces, made ready to be matched with the others.

Every scan is put into millimetres of its own first, as its file states them (y down, the corner of the first pixel at
the origin): `own = (px + 0.5) * own_mm_per_px`. That is only a start; the true factors come out of the adjustment.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from vectorize.basics.errors import ScanError
from vectorize.lines.ink import Ink, find_ink
from vectorize.lines.thinning import thinned
from vectorize.page import Page
from vectorize.page.resolution import GUESSED_PX_PER_MM
from vectorize.shapes.segment import Points

SKETCH_PX_PER_MM = 4.0
"""Resolution at which scans are compared at first: enough for lettering 2 mm high, and quick."""

_FEATURES = 3000


@dataclass(frozen=True, slots=True, eq=False)
class Sketch:
    """A scan reduced to `SKETCH_PX_PER_MM`: what it has to be recognised by.

    `lines` are (N, 2) points of line work and `spots` (M, 2) places that look like no other, both in own mm;
    `angles` (degrees), `sizes` and `looks` (M, 128) describe the spots. `away` is the distance in mm from every pixel
    to the nearest line.
    """

    lines: Points
    spots: Points
    angles: Points
    sizes: Points
    looks: NDArray[np.float32]
    away: NDArray[np.float32]
    size_mm: tuple[float, float]


@dataclass(frozen=True, slots=True, eq=False)
class Tile:
    """A scan with its ink, its pen width and what it is recognised by."""

    number: int
    page: Page
    ink: Ink
    pen_px: float
    own_mm_per_px: float
    sketch: Sketch

    @property
    def name(self) -> str:
        """Return how messages call it."""
        return self.page.name

    @property
    def size_px(self) -> tuple[int, int]:
        """Return columns and rows."""
        rows, columns = self.ink.darkness.shape
        return columns, rows

    def to_own(self, points_px: ArrayLike) -> Points:
        """Return own mm of pixels."""
        return (np.asarray(points_px, np.float64).reshape(-1, 2) + 0.5) * self.own_mm_per_px

    def to_px(self, points_own: ArrayLike) -> Points:
        """Return pixels of own mm."""
        return np.asarray(points_own, np.float64).reshape(-1, 2) / self.own_mm_per_px - 0.5


def prepared(pages: Sequence[Page]) -> tuple[Tile, ...]:
    """Return the scans ready to be matched, numbered from 1.

    Raises:
        ScanError: One is a drawing, or bears no line work.
    """
    return tuple(_prepared(number, page) for number, page in enumerate(pages, start=1))


def _prepared(number: int, page: Page) -> Tile:
    if page.grey is None:
        raise ScanError(f"{page.name} is a drawing; only scans can be joined. Give it a [[plan]] of its own.")
    stated = page.stated_px_per_mm
    own = 1.0 / (GUESSED_PX_PER_MM if stated is None else math.sqrt(stated[0] * stated[1]))
    ink = find_ink(page.grey, px_per_mm=1.0 / own)
    sketch, pen_mm = _sketch(ink, own)
    if len(sketch.lines) < 50:
        raise ScanError(f"{page.name} bears hardly any line work, so it cannot be joined to the others; leave it out.")
    return Tile(number, page, ink, max(1.5, pen_mm / own), own, sketch)


def _sketch(ink: Ink, own_mm_per_px: float) -> tuple[Sketch, float]:
    rows, columns = ink.darkness.shape
    size = (columns * own_mm_per_px, rows * own_mm_per_px)
    extent = tuple(max(8, round(side * SKETCH_PX_PER_MM)) for side in size)
    small = np.asarray(cv2.resize(ink.darkness, extent, interpolation=cv2.INTER_AREA), np.uint8)
    mask = cv2.resize(ink.mask * np.uint8(255), extent, interpolation=cv2.INTER_AREA) > 60
    skeleton = thinned(mask.astype(np.uint8))
    pen_mm = float(ink.mask.mean()) * size[0] * size[1] / max(1.0, skeleton.sum() / SKETCH_PX_PER_MM)
    # The reduced picture's pixels are not exactly square; each axis has its own factor back to own mm.
    back = np.array(size) / np.array(extent)
    y, x = np.nonzero(skeleton)
    away = cv2.distanceTransform(1 - skeleton.astype(np.uint8), cv2.DIST_L2, 5) / np.float32(SKETCH_PX_PER_MM)
    found, looks = cv2.SIFT_create(nfeatures=_FEATURES).detectAndCompute(small, None)  # type: ignore[attr-defined]
    spots = np.array([spot.pt for spot in found], np.float64).reshape(-1, 2)
    return (
        Sketch(
            lines=(np.column_stack([x, y]) + 0.5) * back,
            spots=(spots + 0.5) * back,
            angles=np.array([spot.angle for spot in found]),
            sizes=np.array([spot.size for spot in found]),
            looks=np.zeros((0, 128), np.float32) if looks is None else np.asarray(looks, np.float32),
            away=np.asarray(away, np.float32),
            size_mm=size,
        ),
        pen_mm,
    )
