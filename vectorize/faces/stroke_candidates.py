"""Which faces of a drawing could be parts when nobody has picked any."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from vectorize.faces.cutouts import LETTER_MM
from vectorize.faces.stroke_faces import Loop
from vectorize.faces.stroke_parts import Plane
from vectorize.faces.title_block import lettered_rectangle
from vectorize.shapes.segment import Point

if TYPE_CHECKING:
    from vectorize.scale.plan_scale import PlanScale

_LEAST_MM = 8.0
_CELL_MM = 30.0
_CELL_SHARE = 0.25
"""In a cell of a title block lettering fills at least this share of the height."""

_PEN_MM = 0.3
"""A letter's stroke is about this wide: no mark is thinner."""

_RULING_SHARE = 0.9


def drawn_candidates(plane: Plane, scale: PlanScale) -> list[Point]:
    """Return a point inside every face that could be a part, most likely first.

    Larger faces come first; behind them what lies in a cut-out or where two outlines overlap, then title blocks with
    their fields and lists, then the sheet about everything.
    """
    loops = plane.faces.loops
    least = _LEAST_MM * plane.per_mm
    rows = []
    for n, loop in enumerate(loops):
        if loop.area <= 0 or np.ptp(loop.points, axis=0).max() < least or loop.area < least * least / 4:
            continue
        islands = [loops[k] for k in plane.faces.islands([n])]
        body = loop.polygon.difference(shapely.union_all([island.polygon for island in islands]))
        if body.is_empty or body.area < 0.02 * loop.area:
            continue
        inside = _deepest(body, 0.5 * plane.per_mm)
        is_sheet = loop.area > _sheet_area(plane) or sum(i.area < -least * least / 4 for i in islands) > 3
        rank = (is_sheet, _is_table(plane, loop, scale), _is_air(plane, loop, inside), -body.area)
        rows.append((rank, inside))
    return [point for _, point in sorted(rows)]


def _sheet_area(plane: Plane) -> float:
    """Return half the area of all that is drawn: what is larger goes round the sheet."""
    return 0.5 * float(np.prod(np.ptp(plane.work.nodes, axis=0)))


def _is_air(plane: Plane, loop: Loop, inside: Point) -> bool:
    """Return whether a face is a cut-out, an overlap, or a pocket between outlines.

    That is, whether it lies in an even number of outlines, two or more, or in none although only whole
    outlines bound it. The sheet's frame does not count.
    """
    sheet, spot = _sheet_area(plane), shapely.Point(inside)
    depth = sum(area.area < sheet and area.contains(spot) for _, area in plane.enclosed)
    if depth == 0:
        return all(plane.chains[k].is_closed for piece, _ in loop.steps for k in plane.chains_of[piece])
    return depth % 2 == 0


def _is_table(plane: Plane, loop: Loop, scale: PlanScale) -> bool:
    """Return whether a face is a title block, a field of one, or a list."""
    chains = {plane.chains_of[piece] for piece, _ in loop.steps}
    is_free = len(chains) == 1 and all(plane.chains[k].is_closed for k in next(iter(chains)))
    if not is_free and _is_cell(plane, loop):
        return True
    kind = lettered_rectangle(
        scale.to_mm(loop.points),
        marks_mm=plane.marks_mm,
        pen_mm=_PEN_MM,
        is_ruled=_is_ruled(plane, loop),
        is_free=is_free,
    )
    return kind is not None


def _is_ruled(plane: Plane, loop: Loop) -> bool:
    """Return whether lines that hang on a rectangle's sides run right across it."""
    own, around = plane.mark_of[loop.steps[0][0]], {piece for piece, _ in loop.steps}
    inner = [plane.work.pieces[n].segment for n, mark in plane.mark_of.items() if mark == own and n not in around]
    spots = shapely.points(np.array([segment.point_at(0.5) for segment in inner]).reshape(-1, 2))
    is_inside = np.asarray(shapely.contains(loop.polygon, spots)).tolist()
    reach = sum(segment.length for segment, inside in zip(inner, is_inside, strict=True) if inside)
    return bool(reach > _RULING_SHARE * np.ptp(loop.points, axis=0).min())


def _is_cell(plane: Plane, loop: Loop) -> bool:
    """Return whether a face is a low rectangle that lettering nearly fills."""
    low, high = loop.points.min(axis=0), loop.points.max(axis=0)
    width, height = (high - low) / plane.per_mm
    if min(width, height) > _CELL_MM or loop.area < 0.98 * float(np.prod(high - low)):
        return False
    spots = shapely.points(plane.mark_spots)
    sizes = np.max(plane.marks_mm[:, 2:] - plane.marks_mm[:, :2], axis=1)
    letters = shapely.contains(loop.polygon, spots) & (sizes < LETTER_MM) & (sizes > 1.0)
    return bool(letters.sum() >= 2) and float(np.median(sizes[letters])) > _CELL_SHARE * min(width, height)


def _deepest(body: BaseGeometry, tolerance: float) -> Point:
    """Return the point of an area that is farthest from its edge, about."""
    largest = max((p for p in shapely.get_parts(body) if isinstance(p, Polygon)), key=lambda p: p.area)
    x, y = shapely.maximum_inscribed_circle(largest, tolerance=tolerance).coords[0]
    return float(x), float(y)
