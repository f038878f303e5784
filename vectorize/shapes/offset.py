"""Move the edges of a ring in or out, all alike or each by its own distance, keeping lines and arcs.

Every piece is moved along its normal on its own: a line stays a line, an arc an arc, a cubic becomes
cubics within 0.001 mm of the true offset. Neighbours are joined, and what the raw curve winds round
the wrong way (where an inner corner or a tight arc has vanished) is dropped by its winding number.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING, Literal, TypeAlias

import numpy as np

from vectorize.shapes.boolean import cut, outlines_with_curves, united
from vectorize.shapes.outline import FINE_MM, Outline, Ring
from vectorize.shapes.ring_crossings import lines_merged, nearest_share
from vectorize.shapes.segment import Arc, Cubic, Line, Point, Points, Segment
from vectorize.shapes.segment_parts import direction_at, part_of, velocity_at

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

MITRE_LIMIT = 4.0
"""A corner is drawn on to a point at most this many offsets away (angles from 29 degrees); a keener one is rounded."""

Corners: TypeAlias = Literal["mitre", "round"]
"""What becomes of a corner that opens: it is drawn on to a point, or gone round at the distance."""

_SMOOTH_DEG = 0.5
_CUSP = 1e-9
"""Two directions whose sine is less are one, or opposite."""
_MOST_HALVINGS = 8


def offset_outline(
    outline: Outline, distance_mm: float, *, with_cutouts: bool = False, corners: Corners = "mitre"
) -> tuple[Outline, ...]:
    """Return `outline` grown by `distance_mm` (shrunk where negative), largest piece first; empty if nothing is left.

    Lines and arcs are exact, cubics within 0.0005 mm. Corners stay corners by default: wood left on for sanding is
    sanded back to the corner that was drawn, and a rounded one would have lost it. With `round` ones nothing lies
    farther off than the distance. Cut-outs keep their size unless `with_cutouts`: then they close by the same distance.
    """
    rings = outline.rings if with_cutouts else (outline.exterior,)
    exterior, *holes = (_offset_ring(ring, [distance_mm] * len(ring.segments), corners) for ring in rings)
    kept = [hole for group in holes for hole in group] if with_cutouts else [Outline(r) for r in outline.cutouts]
    return _with_cutouts(exterior, kept)


def offset_edges(outline: Outline, picked: Collection[int], distance_mm: float) -> tuple[Outline, ...]:
    """Return `outline` with some pieces of its exterior moved out by `distance_mm` (in where negative).

    A neighbour that stays is shortened to where the moved edge crosses it, or drawn on straight to meet it.
    Cut-outs stay as they are.

    Args:
        outline: What to change.
        picked: Indices into `outline.exterior.segments`.
        distance_mm: How far these move.
    """
    ring = outline.exterior
    if not picked or not distance_mm:
        return (outline,)
    if len(picked) == len(ring.segments):
        return offset_outline(outline, distance_mm)
    if distance_mm < 0:
        bands = [band for run in _runs(picked, len(ring.segments)) for band in _inner_band(ring, run, -distance_mm)]
        return cut(outline, *bands)
    moved = _offset_ring(ring, [distance_mm if i in picked else 0.0 for i in range(len(ring.segments))])
    # A neighbour is drawn on along its tangent; where it bends, that would leave a sliver on the wrong side.
    return _with_cutouts(united(*moved, Outline(ring)), [Outline(hole) for hole in outline.cutouts])


def _runs(picked: Collection[int], count: int) -> list[list[int]]:
    """Return the picked indices as runs of neighbours round the ring."""
    starts = [i for i in sorted(picked) if (i - 1) % count not in picked]
    runs = []
    for start in starts:
        run = [start]
        while (run[-1] + 1) % count in picked:
            run.append((run[-1] + 1) % count)
        runs.append(run)
    return runs


def _inner_band(ring: Ring, run: Sequence[int], width_mm: float) -> tuple[Outline, ...]:
    """Return the band `width_mm` deep along a run of pieces, drawn on straight over corners that turn away from it."""
    chain = [ring.segments[i] for i in run]
    reach = 4 * width_mm
    before, after = ring.segments[run[0] - 1], ring.segments[(run[-1] + 1) % len(ring.segments)]
    (sx, sy), (dx, dy) = chain[0].start, direction_at(chain[0], 0.0)
    (ex, ey), (fx, fy) = chain[-1].end, direction_at(chain[-1], 1.0)
    if _turns_left(before, chain[0]):
        chain.insert(0, Line((sx - reach * dx, sy - reach * dy), (sx, sy)))
    if _turns_left(chain[-1], after):
        chain.append(Line((ex, ey), (ex + reach * fx, ey + reach * fy)))
    outer, inner = _moved_chain(chain, 1.0), _moved_chain(chain, -width_mm)
    back = [piece.reversed() for piece in reversed(inner)]
    raw = [*outer, Line(outer[-1].end, back[0].start), *back, Line(back[-1].end, outer[0].start)]
    return outlines_with_curves(_wound_areas(raw, is_counter_clockwise=True), raw, tolerance_mm=1e-7)


def _turns_left(before: Segment, after: Segment) -> bool:
    (ax, ay), (bx, by) = direction_at(before, 1.0), direction_at(after, 0.0)
    return ax * by - ay * bx > math.sin(math.radians(_SMOOTH_DEG))


def _moved_chain(chain: Sequence[Segment], distance: float) -> list[Segment]:
    """Return an open chain moved to the right by `distance`, its corners joined."""
    moved = [_moved(segment, distance) for segment in chain]
    raw = [*moved[0]]
    for i in range(1, len(chain)):
        raw.extend(_join(chain[i - 1], chain[i], moved[i - 1][-1].end, moved[i][0].start, distance, distance))
        raw.extend(moved[i])
    return raw


def _with_cutouts(outlines: Sequence[Outline], holes: Sequence[Outline]) -> tuple[Outline, ...]:
    return tuple(piece for outline in outlines for piece in (cut(outline, *holes) if holes else (outline,)))


def _offset_ring(ring: Ring, distances_mm: Sequence[float], corners: Corners = "mitre") -> tuple[Outline, ...]:
    """Return the areas that the moved ring winds round in its own sense."""
    raw = _raw_offset(ring, distances_mm, corners)
    area = ring.signed_area_mm2
    areas = _wound_areas(raw, is_counter_clockwise=area > 0)
    if max(distances_mm) * area < 0:
        areas = _far_enough(areas, ring, min(map(abs, distances_mm)))
    found = outlines_with_curves(areas, raw, tolerance_mm=1e-7)
    return tuple(Outline(lines_merged(o.exterior), tuple(map(lines_merged, o.cutouts))) for o in found)


def _raw_offset(ring: Ring, distances_mm: Sequence[float], corners: Corners) -> list[Segment]:
    moved = [
        _moved(segment, distance) if distance else [segment]
        for segment, distance in zip(ring.segments, distances_mm, strict=True)
    ]
    raw: list[Segment] = []
    for i, segment in enumerate(ring.segments):
        raw.extend(moved[i])
        j = (i + 1) % len(moved)
        after = ring.segments[j]
        start, end = moved[i][-1].end, moved[j][0].start
        raw.extend(_join(segment, after, start, end, distances_mm[i], distances_mm[j], corners))
    return [piece for piece in raw if math.dist(piece.start, piece.end) > 1e-9 or piece.length > 1e-6]


def _normal(segment: Segment, share: float) -> Point:
    """Return the unit normal to the right of the way walked: outward for a counter-clockwise ring."""
    dx, dy = direction_at(segment, share)
    return (dy, -dx)


def _shifted(segment: Segment, share: float, distance: float) -> Point:
    (x, y), (nx, ny) = segment.point_at(share), _normal(segment, share)
    return (x + distance * nx, y + distance * ny)


def _moved(segment: Segment, distance: float) -> list[Segment]:
    """Return the pieces `distance` to the right of `segment`."""
    start, end = _shifted(segment, 0.0, distance), _shifted(segment, 1.0, distance)
    match segment:
        case Line():
            return [Line(start, end)]
        case Arc(_, _, bulge):
            # An arc moved in by more than its radius comes out on the far side, with the same sweep.
            return [Arc(start, end, bulge)] if math.dist(start, end) > 1e-9 else [Line(start, end)]
        case Cubic():
            return _moved_cubic(segment, distance, _MOST_HALVINGS)


def _moved_cubic(cubic: Cubic, distance: float, halvings: int) -> list[Segment]:
    """Tiller and Hanson's control polygon, halved until three inner points are at their true distance.

    Source: Tiller & Hanson 1984, doi:10.1109/MCG.1984.275995.
    """
    start, end = _shifted(cubic, 0.0, distance), _shifted(cubic, 1.0, distance)
    handles = [_handle(cubic, share, distance) for share in (0.0, 1.0)]
    candidate = Cubic(
        start,
        (start[0] + handles[0][0], start[1] + handles[0][1]),
        (end[0] - handles[1][0], end[1] - handles[1][1]),
        end,
    )
    shares = (0.25, 0.5, 0.75)
    worst = max(_distance_error(cubic, share, distance, candidate) for share in shares)
    if worst <= FINE_MM / 2 or halvings == 0:
        return [candidate]
    halves = (part_of(cubic, 0.0, 0.5), part_of(cubic, 0.5, 1.0))
    return [piece for half in halves if isinstance(half, Cubic) for piece in _moved_cubic(half, distance, halvings - 1)]


def _handle(cubic: Cubic, share: float, distance: float) -> Point:
    """Return a third of the velocity of the offset curve: the cubic's own, scaled by 1 + curvature times distance."""
    vx, vy = velocity_at(cubic, share)
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = cubic.start, cubic.first, cubic.second, cubic.end
    if share == 0.0:
        ax, ay = 6 * (x0 - 2 * x1 + x2), 6 * (y0 - 2 * y1 + y2)
    else:
        ax, ay = 6 * (x1 - 2 * x2 + x3), 6 * (y1 - 2 * y2 + y3)
    speed = math.hypot(vx, vy)
    bend = (vx * ay - vy * ax) / speed**3 if speed > 1e-9 else 0.0
    factor = (1 + bend * distance) / 3
    return (vx * factor, vy * factor)


def _distance_error(cubic: Cubic, share: float, distance: float, candidate: Cubic) -> float:
    """Return how far the true offset point lies from the candidate, across the curve."""
    point = _shifted(cubic, share, distance)
    return math.dist(point, candidate.point_at(nearest_share(candidate, point, share)))


def _join(
    before: Segment,
    after: Segment,
    start: Point,
    end: Point,
    first_mm: float,
    second_mm: float,
    corners: Corners = "mitre",
) -> list[Segment]:
    """Return the pieces from where `before` has moved to, to where `after` begins now."""
    if math.dist(start, end) < 1e-9:
        return []
    corner = after.start
    (ax, ay), (bx, by) = direction_at(before, 1.0), direction_at(after, 0.0)
    cross, turn = ax * by - ay * bx, math.atan2(ax * by - ay * bx, ax * bx + ay * by)
    if abs(math.degrees(turn)) < _SMOOTH_DEG:
        return [Line(start, end)]
    if abs(cross) < _CUSP:
        return _round_cusp(before, after, start, end, first_mm, second_mm)
    gx, gy = end[0] - start[0], end[1] - start[1]
    ahead, behind = (gx * by - gy * bx) / cross, (ax * gy - ay * gx) / cross
    tip = (start[0] + ahead * ax, start[1] + ahead * ay)
    if first_mm == second_mm and not (ahead >= 0 and behind >= 0):
        return [Line(start, corner), Line(corner, end)]
    if corners == "mitre" and math.dist(tip, corner) <= MITRE_LIMIT * max(abs(first_mm), abs(second_mm)):
        return [Line(start, tip), Line(tip, end)]
    if first_mm == second_mm:
        return [Arc(start, end, math.tan(turn / 4))]
    return [Line(start, end)]


def _round_cusp(
    before: Segment, after: Segment, start: Point, end: Point, first_mm: float, second_mm: float
) -> list[Segment]:
    """Return the join where the way turns right back, as at the point of a feather; which way it bends tells a side."""
    (ax, ay), (bx, by) = direction_at(before, 0.9), direction_at(after, 0.1)
    side = math.copysign(1.0, ax * by - ay * bx)
    if first_mm != second_mm:
        return [Line(start, end)]
    if side * first_mm > 0:
        return [Arc(start, end, side)]
    return [Line(start, after.start), Line(after.start, end)]


def _wound_areas(raw: Sequence[Segment], *, is_counter_clockwise: bool) -> BaseGeometry:
    """Return the faces of the closed curve whose winding number has the ring's own sign."""
    import shapely
    from shapely.geometry import LineString
    from shapely.ops import polygonize, unary_union

    points = np.array([p for piece in raw for p in piece.flattened(FINE_MM)])
    closed = np.vstack([points, points[:1]])
    faces = list(polygonize(unary_union(LineString(closed))))
    inner = [shapely.get_coordinates(face.representative_point())[0] for face in faces]
    sign = 1 if is_counter_clockwise else -1
    kept = [face for face, point in zip(faces, inner, strict=True) if sign * _winding(closed, point) > 0]
    return unary_union(kept)


def _far_enough(areas: BaseGeometry, ring: Ring, distance_mm: float) -> BaseGeometry:
    """Return the areas of a ring moved in that lie as far from it as they should.

    A circle moved in by more than its radius comes out on the far side whole, and winds round in its old sense.
    """
    import shapely

    rim = shapely.LinearRing(ring.flattened(FINE_MM))
    pieces = shapely.get_parts(areas)
    spots = shapely.point_on_surface(pieces)
    return shapely.union_all(pieces[shapely.distance(rim, spots) > distance_mm - FINE_MM])


def _winding(closed: Points, point: Points) -> int:
    """Return how often the closed polyline goes round `point`, counter-clockwise counted positive.

    Source: crossing count with direction, Sunday 2001, 'Inclusion of a point in a polygon'.
    """
    (x0, y0), (x1, y1) = (closed[:-1] - point).T, (closed[1:] - point).T
    side = x0 * y1 - x1 * y0
    up = (y0 <= 0) & (y1 > 0) & (side > 0)
    down = (y0 > 0) & (y1 <= 0) & (side < 0)
    return int(up.sum()) - int(down.sum())
