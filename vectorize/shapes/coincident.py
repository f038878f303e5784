"""Polygons whose edges should lie on each other, but differ by rounding, made to share their vertices.

Two panels sawn along one line and turned by some angle have edges 3e-15 mm apart: overlaying finds a gap there, or an
overlap, as chance has it. Where both have the same vertices, there is neither.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from shapely.geometry import Polygon

COINCIDENT_MM = 1e-7
"""Edges this near to each other are one edge: a million times the rounding of a coordinate, a ten-thousandth of what
flattening costs."""


def with_common_vertices(polygons: Sequence[Polygon], *, within_mm: float = COINCIDENT_MM) -> list[Polygon]:
    """Return the polygons, in their order, with edges and vertices within `within_mm` of each other made the same.

    A vertex of a later polygon moves onto that of an earlier one, and every edge is led through the others' vertices
    beside it. A polygon that would cross itself by it stays as it is.
    """
    import shapely

    shared = list(polygons)
    edges = [polygon.boundary for polygon in polygons]
    for i, j in itertools.combinations(range(len(shared)), 2):
        if shapely.dwithin(edges[i], edges[j], within_mm):
            shared[j] = _snapped(shared[j], shared[i], within_mm)
            shared[i] = _snapped(shared[i], shared[j], within_mm)
    return shared


def _snapped(polygon: Polygon, to: Polygon, within_mm: float) -> Polygon:
    import shapely
    from shapely.geometry import Polygon

    moved = shapely.snap(polygon, to, within_mm)
    return moved if isinstance(moved, Polygon) and moved.is_valid else polygon
