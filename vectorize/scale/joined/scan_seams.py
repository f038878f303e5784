"""What two overlapping scans say of each other to a hundredth of a millimetre: line centres measured on both.

A straight line tells nothing along itself, so each observation is a distance across the line: the centre as one scan
has it, the centre as the other has it, and the direction across.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vectorize.lines.centre import centre_offsets
from vectorize.lines.thinning import thinned
from vectorize.scale.joined.overlap import moved
from vectorize.scale.joined.tile import Tile
from vectorize.shapes.segment import Points

_MOST = 2500
_LEAST = 60
_PATCH = 4
_ROUNDS = 4
_SPREAD_MM = 0.05
"""Where robust weights begin to fall: line centres on two scans agree to about this."""

FIRM_MM = 0.1
"""A seam is firm when its line work holds every direction, and the turn at its ends, to this."""


@dataclass(frozen=True, slots=True, eq=False)
class Seam:
    """Lines measured on two scans, (N, 2) points in own mm of each and (N, 2) unit normals in own mm of the first.

    `is_firm` says whether they hold the scans in every direction; lines that all run one way do not.
    """

    first: int
    second: int
    on_first: Points
    on_second: Points
    normals: Points
    is_firm: bool


def measured_seam(one: Tile, other: Tile, move: Points) -> Seam | None:
    """Return the seam between two scans that lie on each other by `move` (own mm to own mm) to about half a pen width.

    None where too few undisturbed lines lie in the overlap.
    """
    points, normals = line_points(one, other, move)
    if len(points) < _LEAST:
        return None
    a, b, across = points, points, normals
    for _ in range(_ROUNDS):
        a, b, across = both_centres(one, other, move, points, normals)
        if len(a) < _LEAST:
            return None
        move = _better(move, a, b, across)
    rest = _rest(move, a, b, across)
    kept = np.abs(rest) < max(0.3, 4.0 * float(np.median(np.abs(rest))))
    a, b, across = a[kept], b[kept], across[kept]
    if len(a) < _LEAST:
        return None
    return Seam(one.number, other.number, a, b, across, _holds(a, across))


def line_points(one: Tile, other: Tile, move: Points) -> tuple[Points, Points]:
    """Return up to `_MOST` pixels of line work of the first scan that the second also shows, and their normals."""
    window, corner = _overlap(one, other, move)
    row, column = np.nonzero(thinned(np.ascontiguousarray(one.ink.mask[window])))
    points = np.column_stack([column, row]).astype(np.float64) + corner
    on_other = other.to_px(moved(move, one.to_own(points)))
    rim = 2.0 * max(one.pen_px, other.pen_px) + _PATCH
    inside = np.ones(len(points), np.bool_)
    for at, (columns, rows) in ((points, one.size_px), (on_other, other.size_px)):
        inside &= np.all((at > rim) & (at < (columns - 1 - rim, rows - 1 - rim)), axis=1)
    points = points[inside]
    points = points[:: max(1, len(points) // _MOST)]
    normals, is_line = _across(one.ink.darkness, points)
    return points[is_line], normals[is_line]


def _overlap(one: Tile, other: Tile, move: Points) -> tuple[tuple[slice, slice], Points]:
    """Return the window of the first scan that holds all that the second covers, and its first column and row."""
    w, h = other.sketch.size_mm
    back = np.linalg.inv(move[:, :2])
    corners = (np.array([(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)]) - move[:, 2]) @ back.T
    at = one.to_px(corners)
    columns, rows = one.size_px
    x0, y0 = np.clip(np.floor(at.min(axis=0)), 0, (columns, rows)).astype(int).tolist()
    x1, y1 = np.clip(np.ceil(at.max(axis=0)) + 1, 0, (columns, rows)).astype(int).tolist()
    return (slice(y0, y1), slice(x0, x1)), np.array([x0, y0], np.float64)


def _across(darkness: NDArray[np.uint8], points: Points) -> tuple[Points, NDArray[np.bool_]]:
    """Return the direction across the line at pixels, and whether there is one line there and no crossing.

    From the tensor of the gradient in a small patch (Förstner & Gülch 1987); a line has one strong direction.
    """
    offsets = np.arange(-_PATCH, _PATCH + 1)
    column, row = points.astype(np.intp).T
    patch = darkness[row[:, None, None] + offsets[:, None], column[:, None, None] + offsets].astype(np.float32)
    gy, gx = np.gradient(patch, axis=(1, 2))
    xx, yy, xy = ((u * v).sum(axis=(1, 2)) for u, v in ((gx, gx), (gy, gy), (gx, gy)))
    angle = 0.5 * np.arctan2(2.0 * xy, xx - yy)
    coherence = np.hypot(xx - yy, 2.0 * xy) / np.maximum(xx + yy, 1e-6)
    return np.column_stack([np.cos(angle), np.sin(angle)]).astype(np.float64), coherence > 0.8


def both_centres(
    one: Tile, other: Tile, move: Points, points: Points, normals: Points, aside: Points | float = 0.0
) -> tuple[Points, Points, Points]:
    """Return line centres on both scans in own mm, and the normals, where both see one undisturbed line.

    On the second scan a line is looked for where `move` has it, or `aside` of there, in own mm of the first.
    """
    at, is_clean = points, np.ones(len(points), np.bool_)
    for _ in range(2):
        shift, width, is_whole = centre_offsets(one.ink.darkness, at, normals, width_px=one.pen_px)
        at, is_clean = at + np.where(is_whole, shift, 0.0)[:, None] * normals, is_whole
    there = other.to_px(moved(move, one.to_own(at) + aside))
    turned = normals @ move[:, :2].T
    turned /= np.hypot(*turned.T)[:, None]
    shift, width_there, is_whole = centre_offsets(other.ink.darkness, there, turned, width_px=other.pen_px)
    there = there + shift[:, None] * turned
    ratio = (width_there * other.own_mm_per_px) / np.maximum(width * one.own_mm_per_px, 1e-9)
    is_clean = is_clean & is_whole & (ratio > 0.6) & (ratio < 1.7)
    return one.to_own(at[is_clean]), other.to_own(there[is_clean]), normals[is_clean]


def _rest(move: Points, a: Points, b: Points, normals: Points) -> Points:
    """Return how far the lines still miss each other across, in own mm of the first."""
    back = np.linalg.inv(move[:, :2])
    return np.asarray((((b - move[:, 2]) @ back.T - a) * normals).sum(axis=1), np.float64)


def _better(move: Points, a: Points, b: Points, normals: Points) -> Points:
    """Return the affine map that lays the lines on each other best, outliers weighing little.

    A faint pull keeps terms that the lines do not tell (a stretch along them) as they were.
    """
    back = np.linalg.inv(move[:, :2])
    centre, reach = a.mean(axis=0), max(float(np.ptp(a, axis=0).max()), 1.0)
    for _ in range(3):
        local = (b - move[:, 2]) @ back.T
        rest = ((local - a) * normals).sum(axis=1)
        weight = 1.0 / (1.0 + (rest / _SPREAD_MM) ** 2)
        u = (a - centre) / reach
        design = np.column_stack([normals, u[:, :1] * normals, u[:, 1:] * normals])
        pull = np.diag([1e-6, 1e-6, 1e-3, 1e-3, 1e-3, 1e-3]) * len(a)
        normal_matrix = design.T @ (design * weight[:, None]) + pull
        step = np.linalg.solve(normal_matrix, design.T @ (rest * weight))
        # a + step(a) is where the first scan's lines are on the second one's, in own mm of the first.
        linear = np.eye(2) + np.column_stack([step[2:4], step[4:6]]) / reach
        shift = step[:2] - np.column_stack([step[2:4], step[4:6]]) @ centre / reach
        move = np.column_stack([move[:, :2] @ linear, move[:, :2] @ shift + move[:, 2]])
        back = np.linalg.inv(move[:, :2])
    return move


def _holds(a: Points, normals: Points) -> bool:
    """Whether the lines fix both shifts and the turn: fifty independent looks of `_SPREAD_MM` are reckoned with."""
    centre, reach = a.mean(axis=0), max(float(np.ptp(a, axis=0).max()), 1.0)
    u = (a - centre) / reach
    design = np.column_stack([normals, normals[:, 1] * u[:, 0] - normals[:, 0] * u[:, 1]])
    information = 50.0 / len(a) * (design.T @ design) / _SPREAD_MM**2
    weakest = float(np.linalg.eigvalsh(information)[0])
    return weakest > 1.0 / FIRM_MM**2
