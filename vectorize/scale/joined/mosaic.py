"""One working picture of all scans of a sheet, for the stages that look at lines as a whole.

It is a working picture only: what is true is the map from each scan's own pixels to millimetres, and the picture is
laid out by it. Each pixel is read from the scan whose rim is farthest; within `BLEND_MM` of the place where two scans
change over, their darkness is mixed, so that a line's measured centre passes from one to the other without a step.
"""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from vectorize.shapes.segment import Points

BLEND_MM = 4.0
"""Width over which one scan gives way to the next."""

_BAND = 256


def mosaic(
    darkness: Sequence[NDArray[np.uint8]], to_mosaic: Sequence[Points], size: tuple[int, int], *, px_per_mm: float
) -> NDArray[np.uint8]:
    """Return the grey working picture, white where no scan reaches.

    Args:
        darkness: Of every scan, 0 paper to 255 ink.
        to_mosaic: 2 x 3 maps from pixels of each scan to pixels of the picture.
        size: Columns and rows of the picture.
        px_per_mm: Of the picture.
    """
    columns, rows = size
    picture = np.full((rows, columns), 255, np.uint8)
    for top in range(0, rows, _BAND):
        band = picture[top : top + _BAND]
        shifted = [np.column_stack([m[:, :2], m[:, 2] - (0.0, top)]) for m in to_mosaic]
        found = [_rim_distance(d.shape, m, band.shape, px_per_mm) for d, m in zip(darkness, shifted, strict=True)]
        rims = {n: rim for n, rim in enumerate(found) if rim is not None}
        if not rims:
            continue
        widest = np.max(list(rims.values()), axis=0)
        total = np.zeros(band.shape, np.float32)
        weights = np.zeros(band.shape, np.float32)
        for n, rim in rims.items():
            weight = np.where(rim > 0, np.clip(1.0 - (widest - rim) / BLEND_MM, 0.0, 1.0), 0.0)
            total += weight * cv2.warpAffine(darkness[n], shifted[n], band.shape[::-1], flags=cv2.INTER_CUBIC)
            weights += weight
        seen = weights > 0
        band[seen] = 255 - np.rint(total[seen] / weights[seen]).astype(np.uint8)
    return picture


def _rim_distance(
    shape: tuple[int, ...], to_band: Points, band: tuple[int, ...], px_per_mm: float
) -> NDArray[np.float32] | None:
    """Return how far inside a scan each pixel of the band lies, in mm, negative outside; None where none is inside."""
    rows, columns = shape
    corners = np.array([(0, 0), (columns, 0), (columns, rows), (0, rows)]) @ to_band[:, :2].T + to_band[:, 2]
    if corners[:, 1].max() < 0 or corners[:, 1].min() > band[0]:
        return None
    back = np.linalg.inv(to_band[:, :2])
    x = np.arange(band[1], dtype=np.float32) - np.float32(to_band[0, 2])
    y = np.arange(band[0], dtype=np.float32)[:, None] - np.float32(to_band[1, 2])
    u, v = (np.float32(back[k, 0]) * x + np.float32(back[k, 1]) * y for k in (0, 1))
    rim = np.minimum(np.minimum(u, columns - 1 - u), np.minimum(v, rows - 1 - v))
    scale = np.float32(np.sqrt(abs(float(np.linalg.det(to_band[:, :2])))) / px_per_mm)
    return np.asarray(rim * scale, np.float32)
