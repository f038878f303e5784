"""Lightening holes by rule: a web between them, an edge left, none where a fastener sits."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from nesting.alter.frame import Spot
from nesting.alter.hole_shapes import disc
from nesting.alter.step import Change, Setting, Step, fixed, reshaped
from nesting.wood.part import Part
from vectorize.basics.errors import PartError
from vectorize.basics.quantity import Length
from vectorize.shapes.boolean import cut
from vectorize.shapes.segment import Point

Floats = NDArray[np.float64]

_MOST_GRID_POINTS = 12_000


@dataclass(frozen=True, slots=True)
class Lighten(Step):
    """Round holes along the part that take out as much as the rule allows.

    Args:
        web_mm: Least wood between two holes.
        edge_mm: Least wood between a hole and any edge, cut-outs included.
        least_mm: Smaller holes are not worth the sawing.
        greatest_mm: None where only the part sets the limit.
        fasteners: Points that must keep `clear_mm` of wood round them.
        clear_mm: See `fasteners`.
    """

    make: Literal["lighten"] = field(default="lighten", kw_only=True, repr=False)
    web_mm: Length
    edge_mm: Length
    least_mm: Length = 8.0
    greatest_mm: Length | None = None
    fasteners: tuple[Spot, ...] = ()
    clear_mm: Length = 6.0

    def check(self, part: str, setting: Setting) -> None:
        """Raise PartError for what cannot be, whatever the part is like."""
        sizes = (self.web_mm, self.edge_mm, self.least_mm)
        if min(sizes) <= 0 or not all(map(math.isfinite, sizes)):
            raise PartError(
                f"lightening holes with a web of {self.web_mm:g} mm, an edge of {self.edge_mm:g} mm and at least "
                f"{self.least_mm:g} mm across cannot be; all three must be above zero."
            )

    def applied(self, part: Part, setting: Setting) -> Change:
        """Return the part with the holes.

        Raises:
            PartError: No hole of the least diameter finds room.
        """
        holes = self.holes(part, setting)
        if not holes:
            widest = 2 * float(self._rooms(part, setting)[1].max(initial=0.0))
            raise PartError(
                f"part {part.name}: the largest lightening hole that leaves {self.edge_mm:g} mm of edge is "
                f"{widest:.1f} mm; at least {self.least_mm:g} mm is wanted. "
                "Leave less edge or take a smaller hole."
            )
        discs = [disc(centre, 2 * radius) for centre, radius in holes]
        changed = reshaped(part, cut(part.outline, *discs), "cutting lightening holes")
        saved = 1 - changed.outline.area_mm2 / part.outline.area_mm2
        text = f"{len(holes)} lightening holes take out {100 * saved:.1f} % of it."
        return Change((changed,), notes=(fixed("lightening", part, text),))

    def holes(self, part: Part, setting: Setting) -> tuple[tuple[Point, float], ...]:
        """Return (centre, radius) of each hole, in order along the part."""
        points, radii = self._rooms(part, setting)
        keep = radii >= self.least_mm / 2
        points, radii = points[keep], radii[keep]
        chosen = _best_row(points, radii, self.web_mm)
        return tuple(((float(points[i][0]), float(points[i][1])), float(radii[i])) for i in chosen)

    def _rooms(self, part: Part, setting: Setting) -> tuple[Floats, Floats]:
        """Return the point with most room at each place along the part, and the radius that a hole may have there."""
        import shapely

        polygon = part.outline.to_polygon(0.01)
        along, across = _long_axis(polygon)
        columns = _columns(polygon, along, across)
        flat = columns.reshape(-1, 2)
        # A little less than measured, for chords and corners of the flattened outline.
        room = np.asarray(shapely.distance(shapely.points(flat), polygon.boundary)) - self.edge_mm - 0.02
        room[~shapely.contains_xy(polygon, flat)] = -np.inf
        for fastener in setting.frame.points(self.fasteners):
            room = np.minimum(room, np.hypot(*(flat - fastener).T) - self.clear_mm)
        if self.greatest_mm is not None:
            room = np.minimum(room, self.greatest_mm / 2)
        room = room.reshape(columns.shape[:2])
        best = room.argmax(axis=1)
        rows = np.arange(len(columns))
        return columns[rows, best], room[rows, best]


def _long_axis(polygon: object) -> tuple[Floats, Floats]:
    """Return unit vectors along and across the part, by the least rectangle round it."""
    import shapely

    box = shapely.minimum_rotated_rectangle(polygon)  # type: ignore[call-overload]
    a, b, c = shapely.get_coordinates(box)[:3]
    long, short = (b - a, c - b) if np.hypot(*(b - a)) >= np.hypot(*(c - b)) else (c - b, b - a)
    return long / np.hypot(*long), short / np.hypot(*short)


def _columns(polygon: object, along: Floats, across: Floats) -> Floats:
    """Return an (N, M, 2) grid over the polygon: N places along, M points across at each."""
    import shapely

    corners = shapely.get_coordinates(polygon)  # type: ignore[call-overload]
    u, v = corners @ along, corners @ across
    step = max(0.5, math.sqrt(float(np.ptp(u) * np.ptp(v)) / _MOST_GRID_POINTS))
    us = np.arange(u.min() + step / 2, u.max(), step)
    vs = np.arange(v.min() + step / 2, v.max(), step)
    return np.asarray(us[:, None, None] * along + vs[None, :, None] * across)


def _best_row(points: Floats, radii: Floats, web_mm: float) -> list[int]:
    """Return the row of holes of greatest area in which neighbours leave the web: dynamic programming along the part.

    Holes that are not neighbours may still come too close where the part doubles back; the smaller one goes.
    """
    best = radii**2
    before = np.full(len(radii), -1)
    for i in range(1, len(radii)):
        gap = np.hypot(*(points[:i] - points[i]).T) - radii[:i] - radii[i]
        value = np.where(gap >= web_mm, best[:i], -np.inf)
        j = int(value.argmax())
        if value[j] > 0:
            best[i], before[i] = best[i] + value[j], j
    row = []
    at = int(best.argmax()) if len(best) else -1
    while at >= 0:
        row.append(at)
        at = int(before[at])
    return sorted(_apart(row, points, radii, web_mm))


def _apart(row: list[int], points: Floats, radii: Floats, web_mm: float) -> list[int]:
    kept: list[int] = []
    for i in sorted(row, key=lambda i: (-radii[i], i)):
        if all(math.dist(points[i], points[j]) - radii[i] - radii[j] >= web_mm for j in kept):
            kept.append(i)
    return kept
