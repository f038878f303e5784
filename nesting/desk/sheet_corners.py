"""The corners of a photographed sheet, marked in any order."""

from __future__ import annotations

import math
from collections.abc import Sequence

from vectorize.basics.errors import JobError
from vectorize.shapes.segment import Point


def round_the_sheet(corners: Sequence[Point]) -> list[Point]:
    """Return four corners clockwise as the picture shows them, from the upper left.

    Raises:
        JobError: They are not the corners of a sheet: one lies inside the others, or three lie on a line.
    """
    x = sum(corner[0] for corner in corners) / 4
    y = sum(corner[1] for corner in corners) / 4
    ordered = sorted(corners, key=lambda corner: math.atan2(corner[1] - y, corner[0] - x))
    first = min(range(4), key=lambda k: ordered[k][0] + ordered[k][1])
    ordered = [*ordered[first:], *ordered[:first]]
    size = max(math.dist(a, b) for a in corners for b in corners)
    for k in range(4):
        (ax, ay), (bx, by), (cx, cy) = (ordered[(k + step) % 4] for step in range(3))
        if (bx - ax) * (cy - by) - (by - ay) * (cx - bx) < 0.02 * size**2:
            raise JobError(
                f"these are not the four corners of a sheet: ({bx:.0f}, {by:.0f}) lies on the line of its neighbours "
                "or inside the others; mark each corner once."
            )
    return ordered
