"""Regions that dashes enclose within a part: a doubler behind it, or where another part lies on it.

The tracer takes dashes for no outline, so that these are no candidates of it. They are parts only where they are
lettered, and then they are offered.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np
import shapely

from nesting.job.draft.joining import Labelled, Region
from vectorize.faces.candidates import LEAST_LENGTH_MM, LEAST_WIDTH_MM

if TYPE_CHECKING:
    from vectorize.faces.sheet import Drawing
    from vectorize.shapes.segment import Point

INSIDE = 0.9
"""So much of a region that is drawn in dashes lies in the part that it is on, at least."""

SMALLER = 0.95
"""It is smaller than that part: dashes along an outline are the same part again."""

LEAST_TOLD = 0.5
"""A name or a wood read less surely than this makes no part of dashes."""


def dashed_regions(drawing: Drawing, regions: Sequence[Region], *, px_per_mm: float) -> list[Region]:
    """Return the regions that dashes alone enclose within others; those that share a dashed line are one.

    A centre line through such a region is dashed as well, and divides it on the paper only.
    """
    edges = drawing.regions.work.edges
    lines = [shapely.LineString(np.round(edge.points, 1)) for edge in edges if edge.is_dashed and len(edge.points) > 1]
    if not lines:
        return []
    whole = shapely.union_all(list(shapely.polygonize([shapely.union_all(lines)]).geoms))
    areas = [shapely.Polygon(area.exterior) for area in _polygons(whole)]
    return [_region(area) for area in areas if _is_wide(area, px_per_mm) and _is_in(area, regions)]


def is_told(one: Labelled) -> bool:
    """Return whether labels make a part of what dashes enclose."""
    return any(kind in one.values and one.values[kind].sure >= LEAST_TOLD for kind in ("name", "material"))


def _polygons(whole: shapely.Geometry) -> Iterable[shapely.Polygon]:
    return [
        area for area in getattr(whole, "geoms", [whole]) if isinstance(area, shapely.Polygon) and not area.is_empty
    ]


def _is_wide(area: shapely.Polygon, px_per_mm: float) -> bool:
    """Return whether an area is long and wide enough for a part."""
    left, top, right, bottom = area.bounds
    is_long = max(right - left, bottom - top) >= LEAST_LENGTH_MM * px_per_mm
    return is_long and bool(2 * area.area / area.length >= LEAST_WIDTH_MM * px_per_mm)


def _is_in(area: shapely.Polygon, regions: Sequence[Region]) -> bool:
    return any(
        area.area < SMALLER * region.area.area and area.intersection(region.area).area > INSIDE * area.area
        for region in regions
    )


def _region(area: shapely.Polygon) -> Region:
    circle = shapely.maximum_inscribed_circle(area)
    x, y = circle.coords[0]
    inside: Point = (float(x), float(y))
    return Region(inside, np.asarray(area.exterior.coords[:-1], np.float64), area, is_dashed=True)
