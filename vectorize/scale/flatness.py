"""Whether a photographed sheet lay flat: lines along its margin that were drawn straight tell.

A sheet with waves or folds moves every line by some tenths of a millimetre, and no map of a plane takes that out.
Curves are drawn in the middle of a plan; the long lines along its margin are those of its frame.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.ndimage import uniform_filter1d

from vectorize.shapes.segment import Points

MARGIN_SHARE = 0.12
"""A frame runs within this share of the sheet's width or height from its edge (common practice, no source)."""

LONG_SHARE = 0.45
"""A shorter line shows too little of a wave."""

SLOPE = 0.05
"""A frame is drawn along the sheet: within three degrees, once the photo is laid flat."""

SMOOTH_SHARE = 0.03
"""Waves are longer than this share of a line; what is shorter is noise of the measurement."""


def wave_mm(lines_mm: Sequence[Points]) -> float:
    """Return how far the lines of a sheet's frame stray from straight, as root mean square in mm; 0 without any.

    Drawn photos of flat sheets stray by 0.002 to 0.01 mm, one of a sheet with waves of 1.5 mm by 0.5 mm.

    Args:
        lines_mm: (N, 2) points along every long line of the sheet that is straight or nearly so, laid flat.
    """
    lines = [line for line in lines_mm if len(line) >= 8]
    if not lines:
        return 0.0
    low, high = (
        np.min([line.min(axis=0) for line in lines], axis=0),
        np.max([line.max(axis=0) for line in lines], axis=0),
    )
    strays = [stray for line in lines if (stray := _stray(line, low, high)) is not None]
    return float(np.sqrt(np.mean(np.concatenate(strays) ** 2))) if strays else 0.0


def _stray(line: Points, low: Points, high: Points) -> Points | None:
    """Return how far a line of the frame strays from straight along its length, None for any other line."""
    along = int(np.argmax(np.ptp(line, axis=0)))
    x, y = line[np.argsort(line[:, along], kind="stable")].T[[along, 1 - along]]
    size = high - low
    if np.ptp(x) < LONG_SHARE * size[along]:
        return None
    slope, start = np.polyfit(x, y, 1)
    inside = min(y.mean() - low[1 - along], high[1 - along] - y.mean())
    if abs(slope) > SLOPE or inside > MARGIN_SHARE * size[1 - along]:
        return None
    return np.asarray(uniform_filter1d(y - slope * x - start, max(3, round(SMOOTH_SHARE * len(x)))), np.float64)
