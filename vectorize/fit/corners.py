"""Where a boundary has sharp corners."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

from vectorize.fit.tolerances import FitSettings
from vectorize.shapes.primitives import Straight, as_point, crossings, fit_circle, fit_line
from vectorize.shapes.segment import Points

CORNER_DEG = 18.0
"""A turn sharper than this within a pen width or two is a corner; a blunter one is left to the fits."""

SLIGHT_DEG = 30.0
"""A slighter turn must be plain: noise on a round of a few millimetres looks like one, and the fits make it anyway."""

CLOSE_PAIR_DEG = 58.0
"""Corners closer together than the usual windows must turn by this much each to be told apart."""

BEND_SHARE = 0.66
"""Windows half as far apart see half of the turn of a tight round, but nearly all of a corner's."""

WIDEST_BEND_DEG = 80.0

PLAIN_DEG = 60.0
ROUND_REACH_MM = 3.0
"""A turn of less than `PLAIN_DEG` is looked at again over this much of either side: noise bends a short piece."""

BLUNT_MM = 1.5
"""An end of this thickness or less may show as one corner only."""


def find_corners(points: Points, is_clean: NDArray[np.bool_], *, settings: FitSettings) -> list[int]:
    """Return the indices of sharp corners in order.

    At each point the lines through the windows behind and ahead are compared with one circle through both:
    a corner is where two lines fit better and turn by more than `CORNER_DEG`. A tight round is told from a corner
    by how far the line stays inside the crossing of the two: a corner disturbs it for half a pen width only.
    """
    count = len(points)
    if count < 10:
        return []
    gap = max(2, round(0.8 * settings.pen_mm / settings.step_mm))
    window = max(5, round(1.0 / settings.step_mm))
    if count < 2 * (gap + window) + 2:
        gap, window = 2, max(3, (count - 6) // 4)
    corners, turn = _corners_at(points, is_clean, gap, window, settings)
    fine_gap, fine_window = (
        max(2, round(0.5 * settings.pen_mm / settings.step_mm)),
        max(4, round(0.4 / settings.step_mm)),
    )
    if fine_window >= window:
        return _with_blunt_ends(points, corners, window, settings)
    fine, fine_turn = _corners_at(points, is_clean, fine_gap, fine_window, settings)
    corners = [i for i in corners if not _is_bend(i, turn, fine_turn, gap)]
    corners = [i for i in corners if turn[i] > PLAIN_DEG or not _is_in_round(points, i, gap, settings)]
    close = [i for i in fine if fine_turn[i] > CLOSE_PAIR_DEG]
    corners = _with_pairs(corners, close, reach=gap + window, count=count)
    return _with_blunt_ends(points, corners, window, settings)


def _is_bend(index: int, turn: Points, fine_turn: Points, gap: int) -> bool:
    """Whether a closer look shows so much less of a turn that the line bends steadily there."""
    near = np.arange(index - gap, index + gap + 1) % len(turn)
    return bool(turn[index] <= WIDEST_BEND_DEG and fine_turn[near].max() < BEND_SHARE * turn[index])


def _is_in_round(points: Points, index: int, gap: int, settings: FitSettings) -> bool:
    """Whether a wider look shows one circle where noise made a turn."""
    reach = gap + round(ROUND_REACH_MM / settings.step_mm)
    if len(points) < 3 * reach:
        return False
    before, after = (
        points[np.arange(*span) % len(points)]
        for span in ((index - reach, index - gap + 1), (index + gap, index + reach + 1))
    )
    circle = fit_circle(np.vstack([before, after]))
    if circle is None:
        return False
    lines = [fit_line(arm, as_point(arm[-1] - arm[0])) for arm in (before, after)]
    bent = np.concatenate([line.distances(arm) for line, arm in zip(lines, (before, after), strict=True)])
    away = circle.distances(np.vstack([before, after]))
    smooth = uniform_filter1d(away, max(3, round(0.9 / settings.step_mm)))
    return _spread(away) < 0.8 * _spread(bent) and float(np.max(np.abs(smooth))) <= settings.tolerance_mm


def _spread(away: Points) -> float:
    return float(np.sqrt(np.mean(away**2)))


def _with_pairs(corners: list[int], close: list[int], *, reach: int, count: int) -> list[int]:
    """Add the corners that only a closer look shows, at the end of a narrow tongue, and drop the blur between two."""

    def apart(i: int, k: int) -> int:
        return min((i - k) % count, (k - i) % count)

    kept = [i for i in corners if sum(apart(i, k) <= reach for k in close) < 2]
    return sorted({*kept, *(k for k in close if all(apart(i, k) > reach // 2 for i in kept))})


def _with_blunt_ends(points: Points, corners: list[int], window: int, settings: FitSettings) -> list[int]:
    """Make two corners of a lone one at a blunt end, such as a trailing edge a millimetre thick.

    A pen reaches the apex of a sharp corner; where the line stays away from it, it left one side and met the
    other by a short edge of its own.
    """
    count = len(points)
    half = round(BLUNT_MM / settings.step_mm) + window // 2
    if count < 4 * (half + window):
        return corners
    direction, _ = _window_lines(points, window)
    found: list[int] = []
    for index in corners:
        others = [min((index - k) % count, (k - index) % count) for k in corners if k != index]
        is_lone = min(others, default=count) > half + window // 2
        found.extend(_blunt_ends(points, index, half, direction, settings) if is_lone else [index])
    return sorted(set(found))


def _blunt_ends(points: Points, index: int, half: int, direction: Points, settings: FitSettings) -> list[int]:
    count = len(points)
    if _stands_off(points, index, half, direction) <= 0.8 * settings.pen_mm + 0.15:
        return [index]
    near = np.arange(index - half, index + half + 1) % count
    slack = 0.3 * settings.pen_mm
    before, after = (
        np.flatnonzero(_off_line(points[near], points[k % count], direction[k % count]) <= slack)
        for k in (index - half, index + half)
    )
    last, first = int(before.max(initial=0)), int(after.min(initial=2 * half))
    return [int(near[last]), int(near[first])] if first - last >= 3 else [index]


def _off_line(points: Points, at: Points, direction: Points) -> Points:
    away = points - at
    return np.asarray(np.abs(away[:, 0] * direction[1] - away[:, 1] * direction[0]), np.float64)


def _corners_at(
    points: Points, is_clean: NDArray[np.bool_], gap: int, window: int, settings: FitSettings
) -> tuple[list[int], Points]:
    """Return the corners seen through windows of a given size, and the turn at each point in degrees."""
    count = len(points)
    direction, spread = _window_lines(points, window)
    half = gap + window // 2
    before, after = np.roll(direction, half, axis=0), np.roll(direction, -half, axis=0)
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turn = np.degrees(np.abs(np.arctan2(cross, np.sum(before * after, axis=1))))
    straightness = np.sqrt((np.roll(spread, half) ** 2 + np.roll(spread, -half) ** 2) / 2)
    corners = []
    for index in _peaks(turn, CORNER_DEG, gap + 1):
        arms = np.concatenate([np.arange(-gap - window, -gap + 1), np.arange(gap, gap + window + 1)]) + index
        circle = fit_circle(points[arms % count])
        bend = math.inf if circle is None else float(np.sqrt(np.mean(circle.distances(points[arms % count]) ** 2)))
        if turn[index] <= 60 and straightness[index] >= (0.55 if turn[index] < SLIGHT_DEG else 0.8) * bend:
            continue
        near = np.arange(index - gap // 2, index + gap // 2 + 1) % count
        if np.all(is_clean[near]) and _stands_off(points, index, half, direction) > 0.45 * settings.pen_mm + 0.05:
            continue
        corners.append(index)
    return _sharpest_apart(corners, turn, gap + window // 2, count), turn


def _stands_off(points: Points, index: int, half: int, direction: Points) -> float:
    """Return how far the line stays away from where its straight continuations would cross."""
    count = len(points)
    before, after = (index - half) % count, (index + half) % count
    crossed = crossings(
        Straight(as_point(points[before]), as_point(direction[before])),
        Straight(as_point(points[after]), as_point(direction[after])),
    )
    near = points[np.arange(index - half, index + half + 1) % count]
    return min((float(np.min(np.hypot(*(near - point).T))) for point in crossed), default=0.0)


def _window_lines(points: Points, window: int) -> tuple[Points, Points]:
    """Return direction (N, 2) and root mean square spread (N,) of the window centred at each point."""
    centred = points - points.mean(axis=0)
    mean = uniform_filter1d(centred, window, axis=0, mode="wrap")
    moments = [
        uniform_filter1d(centred[:, a] * centred[:, b], window, mode="wrap") for a, b in ((0, 0), (1, 1), (0, 1))
    ]
    xx, yy, xy = (m - mean[:, a] * mean[:, b] for m, (a, b) in zip(moments, ((0, 0), (1, 1), (0, 1)), strict=True))
    angle = 0.5 * np.arctan2(2 * xy, xx - yy)
    direction = np.column_stack([np.cos(angle), np.sin(angle)])
    heading = np.roll(points, -(window // 2), axis=0) - np.roll(points, window // 2, axis=0)
    direction *= np.where(np.sum(direction * heading, axis=1) < 0, -1.0, 1.0)[:, None]
    least = (xx + yy) / 2 - np.sqrt(((xx - yy) / 2) ** 2 + xy**2)
    return direction, np.sqrt(np.maximum(least, 0.0))


def _peaks(values: Points, least: float, reach: int) -> list[int]:
    """Indices of values above `least` that are greatest within `reach` on a closed sequence."""
    highest = values.copy()
    for step in range(1, reach + 1):
        highest = np.maximum(highest, np.maximum(np.roll(values, step), np.roll(values, -step)))
    return [int(i) for i in np.flatnonzero((values >= least) & (values == highest))]


def _sharpest_apart(corners: list[int], turn: Points, reach: int, count: int) -> list[int]:
    kept: list[int] = []
    for index in sorted(corners, key=lambda i: -turn[i]):
        if all(min((index - k) % count, (k - index) % count) > reach for k in kept):
            kept.append(index)
    return sorted(kept)
