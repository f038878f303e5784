"""Where a straight line lies between the pixels of a picture in black and white only.

Along a line that runs with the rows, every pixel of an edge is rounded the same way, and its measured middle is off by
up to half a pixel however long it is. Three things still tell where it lies: the few pixels that noise has turned
over, the columns in which it changes step, and the pen's width, which slanting lines show to a few hundredths of a
pixel. The place is the mean of all places that could have left these pixels, each as often as it is likely to.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates
from scipy.special import ndtr

from vectorize.scale.plan_scale import PlanScale
from vectorize.shapes.outline import Ring
from vectorize.shapes.segment import Line, Points

SHORTEST_PX = 24.0
"""A shorter line is hardly surer for this."""

MOST_DRIFT_PX = 4.0
"""A line that crosses more rows than this is rounded both ways alike."""

NOISE_PX = 0.08
"""One standard deviation of where an edge turns a pixel over, of drawn scans."""

SPECK_SHARE = 0.01
"""So many pixels of an edge something else has turned over."""

WIDTH_SIGMA_PX = 0.06
LEAST_SLANTING_PX = 40
"""So much of slanting line at least tells the width of its pen, with that standard deviation."""

_PIECES = 16
_PLACES = np.linspace(-1.0, 1.0, 41)
_DRIFTS = np.linspace(-1.5, 1.5, 25)
_MIDDLE = 128


def dequantise_edges(
    points: Points,
    is_clean: NDArray[np.bool_],
    ring: Ring,
    darkness: NDArray[np.uint8],
    scale: PlanScale,
    *,
    pen_px: float,
) -> Points:
    """Return measured points moved to where the straight lines of their ring lie between the pixels.

    Args:
        points: (N, 2) in mm, once round the middle of a drawn line, one pixel apart.
        is_clean: (N,) False where a point was disturbed.
        ring: What was fitted to them.
        darkness: 0 where there is paper, 255 where there is ink.
        scale: From millimetres to the picture's pixels.
        pen_px: About the width of the line.
    """
    px = scale.to_px(points)
    beside = [_along(px, is_clean, line, scale) for line in ring.segments if isinstance(line, Line)]
    level = [near for near in beside if near.any()]
    if not level:
        return points
    width = _pen_width(px, is_clean & ~np.any(level, axis=0), darkness, pen_px)
    for near in level:
        # Lines that run with the columns are looked at on their side.
        is_upright = bool(np.ptp(px[near, 1]) > np.ptp(px[near, 0]))
        line, picture = (px[near][:, ::-1], darkness.T) if is_upright else (px[near], darkness)
        line[:, 1] += _shifts(line, picture, width, reach=round(pen_px) + 3)
        px[near] = line[:, ::-1] if is_upright else line
    return scale.to_mm(px)


def _along(px: Points, is_clean: NDArray[np.bool_], line: Line, scale: PlanScale) -> NDArray[np.bool_]:
    """Return which clean points lie along a line that runs with the rows or columns, none for any other line."""
    start, end = scale.to_px([line.start, line.end])
    step = end - start
    length = float(np.hypot(*step))
    if length < SHORTEST_PX or np.min(np.abs(step)) > MOST_DRIFT_PX:
        return np.zeros(len(px), np.bool_)
    away = px - start
    aside, ahead = np.abs(away @ [-step[1], step[0]]) / length, away @ step / length
    near = is_clean & (aside < 1.0) & (ahead > 0) & (ahead < length)
    return near if near.sum() >= SHORTEST_PX else np.zeros(len(px), np.bool_)


def _pen_width(px: Points, is_slanting: NDArray[np.bool_], darkness: NDArray[np.uint8], pen_px: float) -> float | None:
    """Return the width in pixels of lines that the pixels round both ways alike, None where there is too little."""
    if is_slanting.sum() < LEAST_SLANTING_PX:
        return None
    step = np.roll(px, -3, axis=0) - np.roll(px, 3, axis=0)
    normals = np.column_stack([-step[:, 1], step[:, 0]]) / np.maximum(np.hypot(*step.T), 1e-9)[:, None]
    offsets = np.arange(-0.9 * pen_px - 1.5, 0.9 * pen_px + 1.5, 0.25)
    x, y = px[is_slanting].T[:, :, None] + offsets * normals[is_slanting].T[:, :, None]
    seen = map_coordinates(darkness, [y, x], order=1, output=np.float64) / 255.0
    return float(np.mean(seen.sum(axis=1))) * 0.25


@dataclass(frozen=True, slots=True, eq=False)
class _Edges:
    """Between which pixels of a column ink begins (`low`) and ends (`high`), for the columns in which that is known."""

    is_known: NDArray[np.bool_]
    low: Points
    high: Points


@dataclass(frozen=True, slots=True, eq=False)
class _Likelihood:
    """How well an edge at each of `places` (P,) explains what is seen: the logarithm, (D, P), for each drift."""

    places: Points
    values: Points


def _shifts(line: Points, darkness: NDArray[np.uint8], width: float | None, *, reach: int) -> Points:
    """Return by how much each point of a line along a row is to be moved across it."""
    columns, first = np.unique(np.round(line[:, 0]).astype(np.intp), return_index=True)
    edges = _edges(columns, line[first, 1], darkness, reach)
    if edges is None:
        return np.zeros(len(line))
    middle_x, length = (line[:, 0].min() + line[:, 0].max()) / 2, float(np.ptp(line[:, 0]))
    share = (line[:, 0] - middle_x) / length
    drift, middle = np.polyfit(share, line[:, 1], 1)
    drifts = drift + _DRIFTS
    shares = (columns[edges.is_known] - middle_x) / length
    low, high = (_log_likelihood(shares, border, drifts) for border in (edges.low, edges.high))
    first_at, last_at = low.places[None, :, None], high.places[None, None, :]
    together = low.values[:, :, None] + high.values[:, None, :]
    if width is not None:
        across = width * np.hypot(1.0, drift / length)
        together -= 0.5 * ((last_at - first_at - across) / WIDTH_SIGMA_PX) ** 2
    weight = np.exp(together - together.max())
    weight /= weight.sum()
    place = float(np.sum(weight * (first_at + last_at) / 2))
    turned = float(np.sum(weight * drifts[:, None, None]))
    return np.asarray(place - middle + (turned - drift) * share, np.float64)


def _edges(columns: NDArray[np.intp], middles: Points, darkness: NDArray[np.uint8], reach: int) -> _Edges | None:
    """Return where the ink round the middle of a line begins and ends, None where that is known in too few columns."""
    rows = np.round(middles).astype(np.intp)[:, None] + np.arange(-reach, reach + 1)
    height, length = darkness.shape
    is_inside = (rows[:, 0] >= 0) & (rows[:, -1] < height) & (columns >= 0) & (columns < length)
    is_paper = darkness[rows.clip(0, height - 1), columns.clip(0, length - 1)[:, None]] < _MIDDLE
    up, down = is_paper[:, reach::-1], is_paper[:, reach:]
    is_known = is_inside & ~is_paper[:, reach] & up.any(axis=1) & down.any(axis=1)
    if is_known.sum() < SHORTEST_PX:
        return None
    at = rows[is_known, reach].astype(np.float64)
    low, high = at - up[is_known].argmax(axis=1) + 0.5, at + down[is_known].argmax(axis=1) - 0.5
    return _Edges(is_known, low, high)


def _log_likelihood(shares: Points, borders: Points, drifts: Points) -> _Likelihood:
    """Return how likely each place and drift of an edge is, given where between pixels it shows.

    An edge shows at a border where it runs within half a pixel of it, but for noise. What shows at one border in one
    piece of the line counts together.
    """
    pieces = np.round((_PIECES - 1) * (shares + 0.5))
    seen, count = np.unique(np.column_stack([pieces, borders]), axis=0, return_counts=True)
    share, border = seen[:, 0] / (_PIECES - 1) - 0.5, seen[:, 1]
    places = float(np.mean(borders)) + _PLACES
    off = places[:, None] + drifts[:, None, None] * share - border
    chance = ndtr((off + 0.5) / NOISE_PX) - ndtr((off - 0.5) / NOISE_PX)
    return _Likelihood(places, np.log(SPECK_SHARE + (1.0 - SPECK_SHARE) * chance) @ count)
