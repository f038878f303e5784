"""The centre of a drawn line to a fraction of a pixel, and its width.

Across the line the darkness is a bell; its centroid is the centre, whatever the pen width and the
threshold. Where something else joins (a crossing, a label that touches) the bell is disturbed; such
points are marked and left out of every fit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import binary_opening, uniform_filter1d

from vectorize.shapes.segment import Points

_STEP_PX = 0.5

_FOOT = 2
"""Steps by which a bell may run out below a fifth of its peak."""

_PAPER_SHARE = 0.05
"""Darkness of no account for a centroid, as a share of the peak: more leans by the rows of pixels, less feels paper."""

COMPANY_SHARE = 0.05
"""A line is not alone where it is wider by more than this share, and by more than it strays, over two pen widths."""


@dataclass(frozen=True, slots=True, eq=False)
class Centred:
    """Centre points along a line, (N, 2) in pixels, and what was measured at each.

    `widths` are in pixels; `ink` is the darkness summed across the line, in pixels of full black.
    """

    points: Points
    widths: Points
    ink: Points
    is_clean: NDArray[np.bool_]


def centred(darkness: NDArray[np.uint8], points: Points, *, width_px: float, rounding_px: float = 0.0) -> Centred:
    """Return the centre line near `points`, which follow it within half the pen width.

    Args:
        darkness: 0 paper to 255 ink.
        points: (N, 2) pixel positions along the line, about one pixel apart.
        width_px: Pen width to expect; the window across is twice as wide.
        rounding_px: By how much the picture rounds widths; no more than that is told from them.
    """
    count = len(points)
    if count < 3:
        return Centred(points, np.full(count, width_px), np.full(count, np.nan), np.zeros(count, np.bool_))
    reach = max(2.5, 0.9 * width_px + 1.5)
    offsets = np.arange(-reach, reach + _STEP_PX / 2, _STEP_PX)
    at = points
    for _ in range(2):
        normals = _normals(at, window=max(5, round(2.0 * width_px)))
        bells = _bells(darkness, at, normals, offsets)
        shift, width, ink, is_clean = _measured(bells, offsets)
        at = at + np.where(is_clean, shift, 0.0)[:, None] * normals
    typical = float(np.quantile(width[is_clean], 0.3)) if np.any(is_clean) else width_px
    is_clean &= (width > 0.6 * typical) & (width < 1.3 * typical + max(0.5, rounding_px))
    is_clean &= ~_has_company(width, is_clean, width_px, rounding_px)
    return Centred(at, width, ink, is_clean)


def _has_company(widths: Points, is_clean: NDArray[np.bool_], width_px: float, rounding_px: float) -> NDArray[np.bool_]:
    """Return where another line lies almost on this one: for several pen widths on end it is too wide.

    Its centre is then off by half of what is too much. The line's own width is told from its narrowest tenth.
    A corner or a crossing is wide for a shorter piece; a picture that rounds widths makes one pen both wide and narrow.
    """
    pen = math.ceil(width_px)
    if np.count_nonzero(is_clean) <= 4 * pen:
        return np.zeros(len(widths), np.bool_)
    strays = 1.4826 / math.sqrt(2) * float(np.median(np.abs(widths[pen:] - widths[:-pen])))
    smooth = uniform_filter1d(widths, pen, mode="nearest")
    usual = float(np.quantile(smooth[is_clean], 0.1))
    is_wide = smooth > usual + max(COMPANY_SHARE * usual, 3.0 * strays) + rounding_px
    return np.asarray(binary_opening(is_wide, np.ones(2 * pen, np.bool_)), np.bool_)


def ink_across(darkness: NDArray[np.uint8], lines: Sequence[Points], *, width_px: float) -> Points:
    """Return the ink across the middle of each line in pixels of full black, nan for lines too short to tell.

    A quick look at up to seven places each, all lines at once; `centred` measures a line properly.
    """
    reach = max(2.5, 0.9 * width_px + 1.5)
    offsets = np.arange(-reach, reach + _STEP_PX / 2, _STEP_PX)
    spots, normals, owners = [], [], []
    for index, line in enumerate(lines):
        count = len(line)
        if count < 7:
            continue
        at = np.unique(np.linspace(0.3 * count, 0.7 * count, 7).astype(np.intp))
        step = line[np.minimum(at + 3, count - 1)] - line[np.maximum(at - 3, 0)]
        spots.append(line[at])
        normals.append(np.column_stack([-step[:, 1], step[:, 0]]) / np.maximum(np.hypot(*step.T), 1e-9)[:, None])
        owners.append(np.full(len(at), index))
    found = np.full(len(lines), np.nan)
    if not spots:
        return found
    _, _, ink, is_whole = _measured(_bells(darkness, np.vstack(spots), np.vstack(normals), offsets), offsets)
    owner = np.concatenate(owners)[is_whole]
    order = np.lexsort((ink[is_whole], owner))
    owner, value = owner[order], ink[is_whole][order]
    firsts = np.flatnonzero(np.diff(owner, prepend=-1))
    middles = (firsts + np.append(firsts[1:], len(owner)) - 1) // 2
    found[owner[firsts]] = value[middles]
    return found


def centre_offsets(
    darkness: NDArray[np.uint8], points: Points, normals: Points, *, width_px: float
) -> tuple[Points, Points, NDArray[np.bool_]]:
    """Return how far along each normal the centre of the line lies, its width, and whether it is undisturbed.

    Points and unit normals are (N, 2) in pixels; the centre is looked for within half the window of `centred`.
    """
    reach = max(2.5, 0.9 * width_px + 1.5)
    offsets = np.arange(-reach, reach + _STEP_PX / 2, _STEP_PX)
    shift, width, _, is_whole = _measured(_bells(darkness, points, normals, offsets), offsets)
    return shift, width, is_whole


def _normals(points: Points, *, window: int) -> Points:
    size = min(window, max(3, len(points) // 2 * 2 - 1))
    smooth = uniform_filter1d(points, size, axis=0, mode="nearest")
    tangent = np.gradient(smooth, axis=0)
    tangent /= np.maximum(np.hypot(*tangent.T), 1e-9)[:, None]
    return np.column_stack([-tangent[:, 1], tangent[:, 0]])


def _bells(darkness: NDArray[np.uint8], points: Points, normals: Points, offsets: Points) -> Points:
    """Return (N, K) darkness across the line at every point, bilinear, 0 outside the page."""
    x = points[:, :1] + normals[:, :1] * offsets
    y = points[:, 1:] + normals[:, 1:] * offsets
    rows, columns = darkness.shape
    column, row = np.floor(x).astype(np.intp), np.floor(y).astype(np.intp)
    is_inside = (column >= 0) & (row >= 0) & (column < columns - 1) & (row < rows - 1)
    column, row = np.where(is_inside, column, 0), np.where(is_inside, row, 0)
    u, v = x - column, y - row
    corners = [darkness[row + j, column + i].astype(np.float32) for j in (0, 1) for i in (0, 1)]
    value = (corners[0] * (1 - u) + corners[1] * u) * (1 - v) + (corners[2] * (1 - u) + corners[3] * u) * v
    return np.asarray(np.where(is_inside, value, 0.0), np.float64)


def _measured(bells: Points, offsets: Points) -> tuple[Points, Points, Points, NDArray[np.bool_]]:
    """Return the centroid's offset, the width, the ink, and whether one single bell stands in the window.

    The bell is what hangs together around the middle above a fifth of its peak; its width is its darkness
    over its peak. Its centroid feels its feet too: cut off where they meet the rows of pixels it would lean to one
    side, by up to a twentieth of a pixel on lines that follow the rows.
    """
    middle = len(offsets) // 2
    near = slice(max(0, middle - 3), middle + 4)
    peak = np.maximum(bells[:, near].max(axis=1), 1.0)
    top = near.start + np.argmax(bells[:, near], axis=1)
    above = bells > 0.2 * peak[:, None]
    index = np.arange(len(offsets))
    left_gap = np.where(~above & (index < top[:, None]), index, -1).max(axis=1)
    right_gap = np.where(~above & (index > top[:, None]), index, len(offsets)).min(axis=1)
    inside = (index > left_gap[:, None]) & (index < right_gap[:, None])
    total = np.maximum(np.where(inside, bells - 0.1 * peak[:, None], 0.0).sum(axis=1), 1e-9)
    is_felt = inside | _feet(bells, left_gap, right_gap)
    weight = np.where(is_felt, np.maximum(bells - _PAPER_SHARE * peak[:, None], 0.0), 0.0)
    shift = (weight * offsets).sum(axis=1) / np.maximum(weight.sum(axis=1), 1e-9)
    width = total * _STEP_PX / peak
    is_whole = (left_gap >= 0) & (right_gap < len(offsets)) & (peak > 20)
    return shift, width, total * _STEP_PX / 255.0, is_whole


def _feet(bells: Points, left_gap: NDArray[np.intp], right_gap: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Return where the bell runs out on either side of what is above a fifth of its peak, as long as it falls."""
    rows, last = np.arange(len(bells)), bells.shape[1] - 1
    feet = np.zeros(bells.shape, np.bool_)
    for first, way in ((left_gap, -1), (right_gap, 1)):
        before, falls = bells[rows, np.clip(first - way, 0, last)], np.ones(len(bells), np.bool_)
        for at in (first + k * way for k in range(_FOOT)):
            value = bells[rows, np.clip(at, 0, last)]
            falls &= (at >= 0) & (at <= last) & (value <= before)
            feet[rows[falls], at[falls]] = True
            before = value
    return feet
