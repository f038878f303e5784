"""Whether one of two scans is torn: along the seam its lines fit on one side of a tear and miss together on the other.

A sheet that lies uneven misses more and more from place to place; one whose halves were laid on the glass torn misses
by one step. What is left after scans are laid on each other, near every place of the overlap and also where it is too
much to be a seam, is therefore explained twice: by a change that bends along a line, and by one with a step there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TypeAlias

import cv2
import numpy as np
from numpy.typing import NDArray

from vectorize.scale.joined.scan_seams import both_centres, line_points
from vectorize.scale.joined.seam_uncertainty import Tear
from vectorize.scale.joined.tile import Tile
from vectorize.shapes.segment import Points

Picture: TypeAlias = NDArray[np.uint8]

LEAST_STEP_MM = 0.15
"""A smaller step is no more than paper does by itself where it is damp or was folded."""

_FARTHEST_MM = 2.5
_CELL_MM = 12.0
_PX_PER_MM = 6.0
_SPREAD_MM = 0.03
"""Where robust costs flatten: well above what line centres on two good scans differ by, well below a tear."""

_LEAST_POINTS = 40
_LEAST_MM = 8.0
_COST_SHARE = 0.45
"""A step must leave less than this of what a bend leaves: a tear leaves up to a quarter, a wavy sheet 0.7 or more."""

_GAIN = 0.15
_MOST = 700


def found_tear(one: Tile, other: Tile, move: Points) -> Tear | None:
    """Return the tear that shows where two scans overlap, or None.

    Args:
        one: The first scan.
        other: The second.
        move: 2 x 3 map from own mm of the first to own mm of the second, as adjusted.
    """
    points, normals = line_points(one, other, move)
    if len(points) < 2 * _LEAST_POINTS:
        return None
    near = _shifts(one, other, move, one.to_own(points))
    a, b, across = both_centres(one, other, move, points, normals, near)
    every = slice(None, None, max(1, len(a) // _MOST))
    a, b, across = a[every], b[every], across[every]
    if len(a) < 2 * _LEAST_POINTS:
        return None
    back = np.linalg.inv(move[:, :2])
    rest = (((b - move[:, 2]) @ back.T - a) * across).sum(axis=1)
    found = _step(a, across, np.asarray(rest, np.float64))
    if found is None or found[1] < LEAST_STEP_MM:
        return None
    x, y = one.to_px(found[0])[0].tolist()
    return Tear((float(x), float(y)), found[1])


def _shifts(one: Tile, other: Tile, move: Points, own: Points) -> Points:
    """Return by how much the second scan shows the surroundings of (N, 2) places elsewhere than it should, in own mm.

    Cell by cell by correlation; 0 where the cell fits as well where it should be.
    """
    (first, to_first), (second, to_second) = _reduced(one), _reduced(other)
    there = np.column_stack([move[:, :2] / to_first, move[:, :2] @ (0.5 / to_first) + move[:, 2]]) * to_second[:, None]
    there[:, 2] -= 0.5
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    second = np.asarray(cv2.warpAffine(second, there, first.shape[::-1], flags=flags), np.uint8)
    cells = np.floor(own / _CELL_MM).astype(np.intp)
    shifts = np.zeros_like(own)
    for cell in np.unique(cells, axis=0):
        inside = np.all(cells == cell, axis=1)
        low = np.maximum(np.round(own[inside].min(axis=0) * to_first) - 6, 0).astype(np.intp)
        high = np.round(own[inside].max(axis=0) * to_first).astype(np.intp) + 7
        shifts[inside] = _shift(first, second, low, high) / to_first
    return shifts


def _reduced(tile: Tile) -> tuple[Picture, Points]:
    """Return a scan's darkness at about `_PX_PER_MM`, and its pixels per own mm along x and y."""
    size = np.array(tile.sketch.size_mm)
    extent = np.maximum(8, np.round(size * _PX_PER_MM)).astype(np.intp)
    small = cv2.resize(tile.ink.darkness, tuple(extent.tolist()), interpolation=cv2.INTER_AREA)
    return np.asarray(small, np.uint8), extent / size


def _shift(first: Picture, second: Picture, low: NDArray[np.intp], high: NDArray[np.intp]) -> Points:
    """Return where the window of the first picture is found in the second, as pixels from the same place."""
    margin = round(_FARTHEST_MM * _PX_PER_MM)
    padded = cv2.copyMakeBorder(second, margin, margin, margin, margin, cv2.BORDER_CONSTANT, value=0)
    window = first[low[1] : high[1], low[0] : high[0]]
    around = padded[low[1] : low[1] + window.shape[0] + 2 * margin, low[0] : low[0] + window.shape[1] + 2 * margin]
    likeness = cv2.matchTemplate(around, window, cv2.TM_CCOEFF_NORMED)
    row, column = np.unravel_index(int(np.argmax(likeness)), likeness.shape)
    if likeness[row, column] < likeness[margin, margin] + _GAIN:
        return np.zeros(2)
    return np.array([column - margin, row - margin], np.float64)


def _step(at: Points, normals: Points, rest: Points) -> tuple[Points, float] | None:
    """Return where a step explains what lines miss by, and its size in mm, if one does and a bend does not."""
    centre, reach = at.mean(axis=0), max(float(np.ptp(at, axis=0).max()), 1.0)
    u = (at - centre) / reach
    turn = normals[:, 1] * u[:, 0] - normals[:, 0] * u[:, 1]
    smooth = np.column_stack([normals, u[:, :1] * normals, u[:, 1:] * normals])
    bent, best, found = math.inf, math.inf, None
    for past, place in _sides(at):
        kink = np.maximum(past, 0.0)[:, None] / reach * normals
        bent = min(bent, _explained(np.column_stack([smooth, kink]), rest)[0])
        broken = np.column_stack([smooth, (past > 0)[:, None] * np.column_stack([normals, turn])])
        cost, answer = _explained(broken, rest)
        if cost < best:
            best, found = cost, (answer, place)
    if found is None or best > _COST_SHARE * bent:
        return None
    answer, place = found
    v = (place - centre) / reach
    return place, math.hypot(answer[6] - answer[8] * v[1], answer[7] + answer[8] * v[0])


def _sides(at: Points) -> Iterator[tuple[Points, Points]]:
    """Yield ways to cut the overlap in two: how far each point lies past the cut in mm, and a place on it."""
    for degrees in range(0, 180, 15):
        way = np.array([math.cos(math.radians(degrees)), math.sin(math.radians(degrees))])
        along = at @ way
        for cut in np.arange(along.min() + _LEAST_MM, along.max() - _LEAST_MM, 2.0):
            past = along - cut
            if min(int((past > 0).sum()), int((past <= 0).sum())) < _LEAST_POINTS:
                continue
            near = at[np.abs(past) < _CELL_MM]
            middle = near.mean(axis=0) if len(near) else at.mean(axis=0)
            yield past, middle + (cut - middle @ way) * way


def _explained(design: Points, rest: Points) -> tuple[float, Points]:
    """Return the robust cost that is left, and the answer, by reweighted least squares."""
    weight = np.ones(len(rest))
    pull = 1e-6 * len(rest) * np.eye(design.shape[1])
    answer: Points = np.zeros(design.shape[1])
    for _ in range(6):
        weighted = design * weight[:, None]
        answer = np.asarray(np.linalg.solve(design.T @ weighted + pull, weighted.T @ rest), dtype=np.float64)
        weight = 1.0 / (1.0 + ((rest - design @ answer) / _SPREAD_MM) ** 2)
    return float(-np.log(weight).sum()), answer
