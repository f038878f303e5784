"""Boundary points through places where something else touches the line."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from vectorize.curve import Points
from vectorize.curves.shapes import as_point, fit_circle, fit_line

LONGEST_MM = 8.0
"""An arrowhead or a label hides no more of a line than this; a longer stretch is left as it was seen."""

STRAIGHT_ON_DEG = 14.0
"""Where the line leaves a disturbed stretch as it came, within this angle, no corner lies in it."""

ROUND_ON_DEG = 70.0
ROUND_RMS_MM = 0.03
"""A bend goes on, too, up to this turn, where one circle follows both sides within this distance."""


def repaired(
    points: Points, is_clean: NDArray[np.bool_], *, pen_mm: float, step_mm: float
) -> tuple[Points, NDArray[np.bool_]]:
    """Return a closed boundary whose disturbed stretches are bridged smoothly where the line goes straight on.

    A line that turns inside the stretch has a corner there; its points are kept as they are. Also returned is which
    points to fit: what disturbs a line pulls it for most of a pen width before it is wide enough to be noticed.

    Args:
        points: (N, 2) in millimetres, `step_mm` apart, closed, the first not repeated.
        is_clean: (N,) False where the measurement was disturbed.
        pen_mm: Pen width; a stretch of less than 1.6 times that between two disturbed ones is not trusted.
        step_mm: Distance between points.
    """
    count = len(points)
    window = max(6, round(2.0 / step_mm))
    spare = round(0.8 * pen_mm / step_mm)
    fixed, fit = points.copy(), is_clean.copy()
    for first, last in _stretches(is_clean, max(2, 2 * spare)):
        first, length = first - spare, (last - first) % count + 1 + 2 * spare
        last = first + length - 1
        if length * step_mm > LONGEST_MM or length + 2 * window > count:
            continue
        before = points[(np.arange(first - window, first)) % count]
        after = points[(np.arange(last + 1, last + 1 + window)) % count]
        inner = (np.arange(first, first + length)) % count
        bridge = _straight_on(before, after, length, pen_mm)
        if bridge is not None:
            fixed[inner] = bridge
            fit[inner] = False
    return fixed, fit


def _stretches(is_clean: NDArray[np.bool_], join: int) -> list[tuple[int, int]]:
    """Return (first, last) of each run of disturbed points; runs closer than `join` are one."""
    bad = np.flatnonzero(~is_clean)
    if len(bad) == 0 or len(bad) == len(is_clean):
        return []
    gaps = np.diff(bad) > join
    firsts = bad[np.concatenate([[True], gaps])].tolist()
    lasts = bad[np.concatenate([gaps, [True]])].tolist()
    if len(firsts) > 1 and firsts[0] + len(is_clean) - lasts[-1] <= join:
        firsts = [firsts[-1], *firsts[1:-1]]
        lasts = lasts[:-1]
    return list(zip(firsts, lasts, strict=True))


def _straight_on(before: Points, after: Points, length: int, pen_mm: float) -> Points | None:
    """Return `length` points of a cubic from one side to the other, None where the line turns between."""
    (p0, t0), (p1, t1) = _ray(before, at_end=True), _ray(after, at_end=False)
    chord = p1 - p0
    size = float(np.hypot(*chord))
    if size < 1e-9:
        return None
    turn = _turn_deg(t0, t1)
    bends = [_turn_deg(t0, chord), _turn_deg(chord, t1)]
    # What the sides bend by themselves goes on between them.
    own = (_bend_deg(before) + _bend_deg(after)) / 2 * size
    slack = STRAIGHT_ON_DEG + math.degrees(0.3 * pen_mm / size)
    goes_on = any(abs(turn - k) <= STRAIGHT_ON_DEG and max(abs(b - k / 2) for b in bends) <= slack for k in (0.0, own))
    if not goes_on and not (abs(turn) < ROUND_ON_DEG and _on_one_circle(before, after)):
        return None
    # A tangent of this size follows a circular arc.
    size /= math.cos(math.radians(turn) / 4) ** 2
    u = (np.arange(length) + 1.0)[:, None] / (length + 1.0)
    return np.asarray(
        (2 * u**3 - 3 * u**2 + 1) * p0
        + (u**3 - 2 * u**2 + u) * size * t0
        + (-2 * u**3 + 3 * u**2) * p1
        + (u**3 - u**2) * size * t1,
        np.float64,
    )


def _turn_deg(one: Points, other: Points) -> float:
    """Return the turn from one direction to another, positive to the left."""
    return math.degrees(math.atan2(one[0] * other[1] - one[1] * other[0], float(one @ other)))


def _bend_deg(points: Points) -> float:
    """Return by how many degrees a stretch turns in each millimetre."""
    (first, t0), (last, t1) = _ray(points, at_end=False), _ray(points, at_end=True)
    return _turn_deg(t0, t1) / max(float(np.hypot(*(last - first))), 1e-9)


def _on_one_circle(before: Points, after: Points) -> bool:
    """Whether one circle follows both sides clearly better than a straight line each: then no corner lies between."""
    both = np.vstack([before, after])
    circle = fit_circle(both)
    if circle is None:
        return False
    round_rms = float(np.sqrt(np.mean(circle.distances(both) ** 2)))
    lines = [fit_line(side, as_point(side[-1] - side[0])).distances(side) for side in (before, after)]
    straight_rms = float(np.sqrt(np.mean(np.concatenate(lines) ** 2)))
    return round_rms < min(ROUND_RMS_MM, 0.5 * straight_rms)


def _ray(points: Points, *, at_end: bool) -> tuple[Points, Points]:
    """Return the end point of the smoothed points and the direction of walking there (a parabola's)."""
    s = np.linspace(-1.0, 0.0, len(points)) if at_end else np.linspace(0.0, 1.0, len(points))
    fits = [np.polyfit(s, points[:, k], 2 if len(points) > 10 else 1) for k in (0, 1)]
    tangent = np.array([fit[-2] for fit in fits])
    return np.array([fit[-1] for fit in fits]), tangent / max(float(np.hypot(*tangent)), 1e-12)
