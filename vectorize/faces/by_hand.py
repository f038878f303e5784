"""Gaps that a person closed: each is drawn as a stroke of the pen beside it before anything is measured."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np

from vectorize.basics.errors import ScanError
from vectorize.lines.ink import Ink
from vectorize.page import Page
from vectorize.shapes.segment import Line, Point
from vectorize.shapes.stroke import Stroke

Bridge = tuple[Point, Point]
"""Two ends of lines that should meet, in pixels of the page."""

_REACH_PX = 6
_LEAST_PEN_PX = 1.5
_SUBPIXEL_BITS = 6


def check_bridges(page: Page, bridges: Sequence[Bridge]) -> None:
    """Do nothing if every bridge lies on the page and has a length.

    Raises:
        ScanError: One that does not; names its ends.
    """
    for start, end in bridges:
        ends = f"from ({start[0]:.1f}, {start[1]:.1f}) to ({end[0]:.1f}, {end[1]:.1f})"
        if not all(-0.5 <= x <= page.width and -0.5 <= y <= page.height for x, y in (start, end)) and not page.is_y_up:
            raise ScanError(
                f"{page.name}: the bridge {ends} leaves the page of {page.width:.0f} x {page.height:.0f}; "
                "give two points on it."
            )
        if math.dist(start, end) == 0.0:
            raise ScanError(f"{page.name}: the bridge {ends} has no length; give two different points.")


def bridged_strokes(page: Page, bridges: Sequence[Bridge]) -> Page:
    """Return a drawing with a stroke for every bridge."""
    check_bridges(page, bridges)
    added = tuple(Stroke((Line(start, end),), is_closed=False) for start, end in bridges)
    return replace(page, strokes=(*page.strokes, *added)) if added else page


def bridged_ink(ink: Ink, bridges: Sequence[Bridge]) -> Ink:
    """Return the ink of a page with every bridge drawn as wide and as dark as the lines at its ends."""
    if not bridges:
        return ink
    darkness, mask = ink.darkness.copy(), ink.mask.copy()
    half_widths = cv2.distanceTransform(ink.mask, cv2.DIST_L2, 3)
    level = int(np.median(ink.darkness[ink.mask > 0])) if np.any(ink.mask) else 255
    for start, end in bridges:
        widths = [2.0 * _largest_near(half_widths, at) for at in (start, end)]
        pen = max(_LEAST_PEN_PX, float(np.mean([width for width in widths if width > 0] or [3.0])))
        stroke = np.zeros_like(darkness)
        corners = _quad(start, end, pen / 2)
        points = np.round(np.array(corners) * 2**_SUBPIXEL_BITS).astype(np.int32)
        cv2.fillConvexPoly(stroke, points, level, cv2.LINE_AA, _SUBPIXEL_BITS)
        darkness = np.maximum(darkness, stroke)
        mask[stroke > level // 2] = 1
    return replace(ink, darkness=darkness, mask=mask)


def _largest_near(values: np.ndarray, at: Point) -> float:
    column, row = round(at[0]), round(at[1])
    near = values[max(0, row - _REACH_PX) : row + _REACH_PX + 1, max(0, column - _REACH_PX) : column + _REACH_PX + 1]
    return float(near.max()) if near.size else 0.0


def _quad(start: Point, end: Point, half: float) -> list[Point]:
    """Return the corners of a stroke that reaches a half width past both ends, so that it joins what it meets."""
    length = math.dist(start, end)
    ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    (x0, y0), (x1, y1) = (
        (start[0] - half * ux, start[1] - half * uy),
        (end[0] + half * ux, end[1] + half * uy),
    )
    nx, ny = -uy * half, ux * half
    return [(x0 + nx, y0 + ny), (x1 + nx, y1 + ny), (x1 - nx, y1 - ny), (x0 - nx, y0 - ny)]
