"""Boundary points through places where something else touches the line."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from vectorize.shapes.primitives import Shape, as_point, crossings, fit_circle, fit_line, touching
from vectorize.shapes.segment import Point, Points

LONGEST_MM = 8.0
"""An arrowhead or a label hides no more of a line than this; a longer stretch is left as it was seen."""

STRAIGHT_ON_DEG = 14.0
"""Where the line leaves a disturbed stretch as it came, within this angle, no corner lies in it."""

ROUND_ON_DEG = 70.0
ROUND_RMS_MM = 0.03
"""A bend goes on, too, up to this turn, where one circle follows both sides within this distance."""

SIDE_MM = 4.0
LEG_SHARES = (1.0, 0.7, 0.5, 0.35, 0.25, 0.15)
"""A side of a gap is told from so much of it, or from such shares of that, whichever follows one line or circle."""

STRAIGHT_RMS_MM = 0.012
"""What follows a line or circle this closely, through the grain of the paper, was drawn as one."""

FARTHEST_GAPS = 2.0
"""The sides of a gap meet no farther from its ends than so many times its width."""

TOUCH_MM = 0.06
"""A line that passes a circle this closely was drawn to touch it."""


def repaired(
    points: Points,
    is_clean: NDArray[np.bool_],
    *,
    pen_mm: float,
    step_mm: float,
    gaps: Sequence[Points] = (),
) -> tuple[Points, NDArray[np.bool_]]:
    """Return a closed boundary whose disturbed stretches are bridged smoothly where the line goes straight on.

    A line that turns inside the stretch has a corner there; its points are kept as they are, but for a gap: through
    that each side goes on as it came until the two meet. Also returned is which points to fit: what disturbs a line
    pulls it for most of a pen width before it is wide enough to be noticed.

    Args:
        points: (N, 2) in millimetres, `step_mm` apart, closed, the first not repeated.
        is_clean: (N,) False where the measurement was disturbed.
        pen_mm: Pen width; a stretch of less than 1.6 times that between two disturbed ones is not trusted.
        step_mm: Distance between points.
        gaps: The ways, (M, 2) in millimetres, by which gaps in the line were bridged.
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
        if bridge is None:
            # A corner just beyond one side tells nothing of the stretch: what lies before it may.
            near = before[window // 2 :], after[: window - window // 2]
            if _on_one_circle(*near):
                bridge = _straight_on(*near, length, pen_mm)
        is_gap = any(_passes(points[inner], gap[len(gap) // 2], pen_mm) for gap in gaps)
        is_sure = is_gap and (bridge is None or (_is_even(before) and _is_even(after)))
        if bridge is None and is_gap:
            wide = round(SIDE_MM / step_mm)
            sides = points[np.arange(first - wide, first) % count], points[np.arange(last + wide, last, -1) % count]
            bridge = _met(*sides, length)
        if bridge is not None:
            fixed[inner] = bridge
            # Nothing hides under a gap: where its sides tell the way, that is all there is to fit.
            fit[inner] = is_sure
    return fixed, fit


def _passes(points: Points, place: Points, reach_mm: float) -> bool:
    return bool(np.min(np.hypot(*(points - place).T)) < reach_mm)


def _is_even(side: Points) -> bool:
    """Whether a side of a gap follows one line or circle."""
    return _unevenness(side) < STRAIGHT_RMS_MM


def _unevenness(side: Points) -> float:
    """Return how far a side strays from one line or circle, as root mean square in mm."""
    circle, line = fit_circle(side), fit_line(side, as_point(side[-1] - side[0]))
    return _rms(line if circle is None else circle, side)


def _met(before: Points, after: Points, length: int) -> Points | None:
    """Return `length` points along both sides of a gap, led on until they meet; None where they do not.

    Both sides are given as walked up to the gap.
    """
    one, other = _leg(before), _leg(after)
    if one is None or other is None:
        return None
    p, q = (shape.nearest(as_point(side[-1])) for shape, side in ((one, before), (other, after)))
    reach = FARTHEST_GAPS * math.dist(p, q)
    meeting = [at for at in _meetings(one, other) if _is_ahead(one, p, at, reach) and _is_ahead(other, q, at, reach)]
    if not meeting:
        return None
    at = min(meeting, key=lambda spot: math.dist(p, spot) + math.dist(q, spot))
    share = np.linspace(0.0, 1.0, 40)[:, None]
    legs = [
        np.array([shape.nearest(as_point(spot)) for spot in start + share * (np.array(at) - start)])
        for shape, start in ((one, np.array(p)), (other, np.array(q)))
    ]
    way = np.vstack([legs[0], legs[1][::-1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(way, axis=0).T))])
    wanted = along[-1] * np.arange(1, length + 1) / (length + 1)
    return np.column_stack([np.interp(wanted, along, way[:, k]) for k in (0, 1)])


def _leg(side: Points) -> Shape | None:
    """Return the line or circle on which a side comes to its last point, None where its very end is neither.

    A short stretch that is plainly straight is trusted before a longer one that a circle follows as well, but not
    before one that a circle follows as closely and twice as far: a short piece of any bend looks straight.
    """
    count = len(side)
    ends = [side[-max(5, round(share * count)) :] for share in LEG_SHARES]
    lines = [fit_line(end, as_point(end[-1] - end[0])) for end in ends]
    circles = [fit_circle(end) for end in ends]
    even = next((k for k, line in enumerate(lines) if _rms(line, ends[k]) < STRAIGHT_RMS_MM), len(ends))
    for end, circle in zip(ends[:even], circles, strict=False):
        is_even = circle is not None and _rms(circle, end) < STRAIGHT_RMS_MM
        if is_even and (even == len(ends) or len(end) >= 2 * len(ends[even])):
            return circle
    if even < len(ends) and len(ends[even]) <= max(5, count // 2):
        return lines[even]
    for end, line, circle in zip(ends, lines, circles, strict=True):
        if circle is not None and _rms(circle, end) < min(ROUND_RMS_MM, 0.5 * _rms(line, end)):
            return circle
        if _rms(line, end) < ROUND_RMS_MM:
            return line
    return None


def _rms(shape: Shape, points: Points) -> float:
    return float(np.sqrt(np.mean(shape.distances(points) ** 2)))


def _meetings(one: Shape, other: Shape) -> list[Point]:
    """Return where two shapes cross, or where a line all but touches a circle."""
    return touching(one, other, within_mm=TOUCH_MM) or crossings(one, other)


def _is_ahead(shape: Shape, end: Point, at: Point, reach: float) -> bool:
    """Whether a place lies ahead of the end of a side, no farther than `reach`."""
    (tx, ty), (dx, dy) = shape.tangent(end), (at[0] - end[0], at[1] - end[1])
    return math.hypot(dx, dy) < reach and dx * tx + dy * ty > -0.1 * reach


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
    # What the sides bend by themselves goes on between them; a side with a corner in it tells no bend.
    is_even = max(_unevenness(before), _unevenness(after)) < ROUND_RMS_MM
    own = (_bend_deg(before) + _bend_deg(after)) / 2 * size if is_even else 0.0
    slack = STRAIGHT_ON_DEG + math.degrees(0.3 * pen_mm / size)
    goes_on = any(abs(turn - k) <= STRAIGHT_ON_DEG and max(abs(b - k / 2) for b in bends) <= slack for k in (0.0, own))
    if abs(turn) > ROUND_ON_DEG or not (goes_on or _on_one_circle(before, after)):
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
