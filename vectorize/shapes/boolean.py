"""Union, difference and intersection of outlines whose arcs and cubics survive.

shapely works on polygons, so both outlines are flattened to 0.001 mm, and afterwards every edge of
the result is traced back to the piece it came from: runs of edges on one piece become that piece again,
or a stretch of it. Where two pieces meet, the corner is put on the crossing of the true curves. A piece
that no cut touches comes back exactly as it was.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import reduce
from typing import TYPE_CHECKING

import numpy as np

from vectorize.shapes.coincident import COINCIDENT_MM, with_common_vertices
from vectorize.shapes.outline import FINE_MM, Outline, Ring, check_outline
from vectorize.shapes.ring_crossings import crossing, nearest_share, points_with_shares, without_spikes
from vectorize.shapes.segment import Line, Point, Points, Segment
from vectorize.shapes.segment_parts import part_of, with_ends

if TYPE_CHECKING:
    from shapely.geometry import LinearRing, Polygon
    from shapely.geometry.base import BaseGeometry

DUST_MM2 = 1e-3
"""Pieces and cut-outs below this area are leftovers of rounding (a 1 mm edge times 0.001 mm), not wood."""

_ON_EDGE_MM = 2 * COINCIDENT_MM


def united(first: Outline, *others: Outline) -> tuple[Outline, ...]:
    """Return the union as separate outlines, largest first; edges within 1e-7 mm of each other are one edge.

    Raises:
        OutlineError: One of them crosses itself, here as in `cut` and `common`.
    """
    from shapely import union_all

    return _overlaid((first, *others), union_all)


def cut(outline: Outline, *tools: Outline) -> tuple[Outline, ...]:
    """Return what is left of `outline` outside all `tools`, largest piece first; empty if nothing is."""
    from shapely import difference

    return _overlaid((outline, *tools), lambda polygons: reduce(difference, polygons))


def common(outline: Outline, other: Outline) -> tuple[Outline, ...]:
    """Return what lies in both, largest piece first; empty if nothing does."""
    return _overlaid((outline, other), lambda polygons: polygons[0].intersection(polygons[1]))


def _overlaid(
    outlines: Sequence[Outline], overlay: Callable[[Sequence[BaseGeometry]], BaseGeometry]
) -> tuple[Outline, ...]:
    from shapely.errors import GEOSException

    try:
        result = overlay(with_common_vertices([outline.to_polygon() for outline in outlines]))
    except GEOSException:
        # Only shapes that are none make it stumble: say which fault it is and where.
        for outline in outlines:
            check_outline(outline)
        raise
    return _outlines(result, outlines)


def _outlines(geometry: BaseGeometry, sources: Sequence[Outline]) -> tuple[Outline, ...]:
    pieces = tuple(segment for outline in sources for ring in outline.rings for segment in ring.segments)
    return outlines_with_curves(geometry, pieces, tolerance_mm=_ON_EDGE_MM)


def outlines_with_curves(
    geometry: BaseGeometry, pieces: Sequence[Segment], *, tolerance_mm: float
) -> tuple[Outline, ...]:
    """Return the polygons of `geometry` as outlines, largest first, with the curves of `pieces` put back.

    Args:
        geometry: Polygons whose vertices come from flattening `pieces` to 0.001 mm, and from crossings.
        pieces: The curves that edges may lie on; where two share an edge, the earlier one is taken.
        tolerance_mm: How far an edge's middle may lie from a flattened piece and still belong to it.
    """
    polygons = [p for p in _polygons(geometry) if p.area > DUST_MM2]
    if not polygons:
        return ()
    index = _EdgeIndex(pieces)
    found = [
        Outline(
            _ring(np.asarray(p.exterior.coords)[:-1], index, tolerance_mm),
            tuple(
                _ring(np.asarray(hole.coords)[:-1], index, tolerance_mm)
                for hole in p.interiors
                if _hole_area(hole) > DUST_MM2
            ),
        )
        for p in polygons
    ]
    return tuple(sorted(found, key=lambda outline: -outline.area_mm2))


def _polygons(geometry: BaseGeometry) -> list[Polygon]:
    from shapely.geometry import Polygon

    if isinstance(geometry, Polygon):
        return [geometry]
    return [p for part in getattr(geometry, "geoms", ()) for p in _polygons(part)]


def _hole_area(hole: LinearRing) -> float:
    from shapely.geometry import Polygon

    return float(Polygon(hole).area)


@dataclass(frozen=True, slots=True)
class _Run:
    """A stretch of one piece, or (piece None) a plain line, as the result's boundary walks it."""

    piece: int | None
    begin: float
    end: float
    start_point: Point
    end_point: Point


class _EdgeIndex:
    """Finds the piece, and the parameters on it, that an edge of a flattened polygon came from."""

    def __init__(self, pieces: Sequence[Segment]) -> None:
        import shapely

        self.pieces = pieces
        starts, ends, owners, begins, stops = [], [], [], [], []
        for number, segment in enumerate(pieces):
            points, shares = points_with_shares(segment, FINE_MM)
            starts.append(points[:-1])
            ends.append(points[1:])
            owners.append(np.full(len(points) - 1, number))
            begins.append(shares[:-1])
            stops.append(shares[1:])
        self._starts, self._ends = np.vstack(starts), np.vstack(ends)
        self._owners, self._begins, self._stops = map(np.concatenate, (owners, begins, stops))
        lines = np.asarray(shapely.linestrings(np.stack([self._starts, self._ends], axis=1)))
        self._tree = shapely.STRtree(lines)

    def runs(self, points: Points, tolerance_mm: float) -> list[_Run]:
        """Return one run for each edge of the closed polygon `points`."""
        ends = np.roll(points, -1, axis=0)
        edges = self._edges_of(points, ends, tolerance_mm)
        runs = []
        for edge, start, end in zip(edges, points, ends, strict=True):
            a, b = (float(start[0]), float(start[1])), (float(end[0]), float(end[1]))
            if edge < 0:
                runs.append(_Run(None, 0.0, 1.0, a, b))
            else:
                runs.append(_Run(int(self._owners[edge]), self._share(edge, a), self._share(edge, b), a, b))
        return runs

    def _edges_of(self, starts: Points, ends: Points, tolerance_mm: float) -> list[int]:
        """Return for each edge the number of the flattened edge it lies on, -1 for none.

        Three places of the edge must lie on the same flattened edge: its middle alone also touches curves
        that merely cross there.
        """
        import shapely

        lengths = np.hypot(*(ends - starts).T)
        middles = shapely.points((starts + ends) / 2)
        rows, candidates = self._tree.query(middles, predicate="dwithin", distance=tolerance_mm)
        best = [-1] * len(starts)
        for row, edge in sorted(zip(rows.tolist(), candidates.tolist(), strict=True), reverse=True):
            a, b = self._starts[edge], self._ends[edge]
            along = (b - a) / max(float(np.hypot(*(b - a))), 1e-300)
            chord = (ends[row] - starts[row]) / max(lengths[row], 1e-300)
            slant = abs(along[0] * chord[1] - along[1] * chord[0]) * lengths[row]
            if slant <= 4 * tolerance_mm:
                best[row] = edge
        return best

    def _share(self, edge: int, point: Point) -> float:
        a, b = self._starts[edge], self._ends[edge]
        along = b - a
        share = float(np.dot(np.asarray(point) - a, along) / np.dot(along, along))
        share = min(1.0, max(0.0, share))
        if share < 1e-9:
            return float(self._begins[edge])
        if share > 1 - 1e-9:
            return float(self._stops[edge])
        return float(self._begins[edge] + share * (self._stops[edge] - self._begins[edge]))


def _ring(points: Points, index: _EdgeIndex, tolerance_mm: float) -> Ring:
    runs = _joined(index.runs(points, tolerance_mm))
    corners = [_corner(index.pieces, runs[i - 1], run) for i, run in enumerate(runs)]
    segments: list[Segment] = []
    for i, run in enumerate(runs):
        (_, begin, start), (end, _, stop) = corners[i], corners[(i + 1) % len(runs)]
        if math.dist(start, stop) < _ON_EDGE_MM and len(runs) > 2:
            continue
        if run.piece is None:
            segments.append(Line(start, stop))
        else:
            segments.append(with_ends(part_of(index.pieces[run.piece], begin, end), start, stop))
    return Ring(without_spikes(_chained(segments)))


def _chained(segments: list[Segment]) -> tuple[Segment, ...]:
    """Close the hairline jumps that dropped pieces leave."""
    chained = []
    for i, segment in enumerate(segments):
        after = segments[(i + 1) % len(segments)].start
        chained.append(segment if segment.end == after else with_ends(segment, segment.start, after))
    return tuple(chained)


def _joined(runs: list[_Run]) -> list[_Run]:
    """Merge neighbours that walk the same piece on in the same direction."""
    joined: list[_Run] = []
    for run in runs:
        if joined and _continues(joined[-1], run):
            last = joined.pop()
            run = _Run(last.piece, last.begin, run.end, last.start_point, run.end_point)
        joined.append(run)
    if len(joined) > 1 and _continues(joined[-1], joined[0]):
        last, first = joined.pop(), joined[0]
        joined[0] = _Run(last.piece, last.begin, first.end, last.start_point, first.end_point)
    return joined


def _continues(before: _Run, after: _Run) -> bool:
    if before.piece is None or before.piece != after.piece or abs(before.end - after.begin) > 1e-6:
        return False
    return (before.end - before.begin) * (after.end - after.begin) > 0


def _corner(pieces: Sequence[Segment], before: _Run, after: _Run) -> tuple[float, float, Point]:
    """Return the parameter at which `before` ends, at which `after` begins, and the common point."""
    at = after.start_point
    if before.piece is None or after.piece is None:
        begin = after.begin if after.piece is None else _snapped(pieces[after.piece], after.begin, at)
        end = before.end if before.piece is None else _snapped(pieces[before.piece], before.end, at)
        return end, begin, at
    if before.end in (0.0, 1.0) and after.begin in (0.0, 1.0):
        return before.end, after.begin, at
    met = crossing(pieces[before.piece], before.end, pieces[after.piece], after.begin)
    if met is not None and math.dist(pieces[before.piece].point_at(met[0]), at) < 0.1:
        return met[0], met[1], pieces[before.piece].point_at(met[0])
    return (
        _snapped(pieces[before.piece], before.end, at),
        _snapped(pieces[after.piece], after.begin, at),
        at,
    )


def _snapped(piece: Segment, share: float, point: Point) -> float:
    return share if share in (0.0, 1.0) else nearest_share(piece, point, share)
