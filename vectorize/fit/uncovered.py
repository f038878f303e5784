"""A ring that runs over bare paper although its line was seen: what was left out of the fit is needed after all.

Points that look disturbed are not fitted, as those of a line under another one. Where a long side of a ring is left
out so, the pieces before and behind it can be led on past the line that was drawn.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.ndimage import label
from scipy.spatial import cKDTree

from vectorize.fit.ink_view import InkView
from vectorize.shapes.outline import Ring
from vectorize.shapes.segment import Points

BARE_SHARE = 0.3
"""With less than this share of the darkness that is usual along it, a ring runs over bare paper."""

BARE_MM = 1.5
"""Over so much of it at least: a corner that is rounded off bares less."""

_FLAT_MM = 0.01


def refit_uncovered_stretches(
    ring: Ring,
    points: Points,
    is_clean: NDArray[np.bool_],
    sight: InkView,
    *,
    pen_mm: float,
) -> NDArray[np.bool_] | None:
    """Return which points to fit instead of the clean ones, None where the ring keeps to the ink.

    Args:
        ring: What was fitted to the clean points.
        points: (N, 2) in mm, once round.
        is_clean: (N,) False where a point was left out.
        sight: The ink. A dashed line is bare in its spaces, any line in its gaps: that tells nothing.
        pen_mm: Width of the line.
    """
    if np.all(is_clean) or sight.is_dashed:
        return None
    line = shapely.LinearRing(ring.flattened(_FLAT_MM))
    along = shapely.get_coordinates(shapely.line_interpolate_point(line, np.arange(0.0, line.length, sight.step_mm)))
    dark = sight.at(along)
    usual = float(np.median(dark))
    is_bare = dark < BARE_SHARE * usual
    for gap in sight.gaps:
        is_bare &= shapely.distance(shapely.points(along), shapely.LineString(gap)) > 2.0 * pen_mm
    is_bare = _long_runs(is_bare, round(BARE_MM / sight.step_mm))
    if not np.any(is_bare):
        return None
    nearest = np.asarray(cKDTree(along).query(points)[1])
    is_missed = ~is_clean & is_bare[nearest] & (sight.at(points) > (1.0 - BARE_SHARE) * usual)
    runs = _runs(~is_clean)
    needed = np.isin(runs, np.unique(runs[is_missed]))
    return is_clean | needed if np.any(is_missed) else None


def _runs(flags: NDArray[np.bool_]) -> NDArray[np.intp]:
    """Return for each place of a closed row the number of the run of set flags that it is in, 0 where none is set."""
    numbers, count = label(flags)
    if count > 1 and flags[0] and flags[-1]:
        numbers[numbers == numbers[-1]] = numbers[0]
    return np.asarray(numbers, np.intp)


def _long_runs(flags: NDArray[np.bool_], least: int) -> NDArray[np.bool_]:
    """Return the set flags of a closed row that stand in runs of at least so many."""
    numbers = _runs(flags)
    return np.asarray(flags & (np.bincount(numbers)[numbers] >= least), np.bool_)
