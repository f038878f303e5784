"""Affine maps, curve conversions and clean-up shared by the readers of drawings."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Literal, TypeAlias

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from vectorize.basics.errors import ScanError
from vectorize.basics.wording import listed
from vectorize.shapes.affine import Affine
from vectorize.shapes.segment import Arc, Cubic, Line, Point, Segment, control_points, extreme_points
from vectorize.shapes.stroke import Stroke

_SAME = 1e-9
_ARC_SHARE = 1.2e-3
_SINGLE = 5e-7
"""Relative error of coordinates in single precision, with a few operations on them."""

_NEARLY_WHITE = 245
"""A fill that shows paler than this in every channel is the paper's: it hides what is below it."""

_COVERED_SHARE = 0.01

FARTHEST = 1e7
"""Farthest from the origin that a line may lie, in units of the page: 10 km in mm, 800 m in pixels of 300 dpi."""

Fill: TypeAlias = Literal["none", "paper", "ink"]
"""What a shape is filled with, as it shows on white paper."""


def quadratic(start: Point, control: Point, end: Point) -> Cubic:
    """Return the quadratic Bezier curve as the cubic that it is."""

    def third(p: Point) -> Point:
        return (p[0] + 2 / 3 * (control[0] - p[0]), p[1] + 2 / 3 * (control[1] - p[1]))

    return Cubic(start, third(start), third(end), end)


def ellipse_arc(centre: Point, major: Point, minor: Point, begin: float, sweep: float) -> tuple[Segment, ...]:
    """Return the points centre + cos(t)·major + sin(t)·minor, t from `begin` through `sweep` radians.

    A circle gives true arcs of at most half a turn, an ellipse cubics (error below 2e-8 of its size).
    """
    to_page = Affine(major[0], major[1], minor[0], minor[1], *centre)
    count = max(1, math.ceil(abs(sweep) / math.pi - 1e-9))
    step = sweep / count
    marks = [begin + step * i for i in range(count + 1)]
    pieces: list[Segment] = []
    for low, high in itertools.pairwise(marks):
        unit = Arc((math.cos(low), math.sin(low)), (math.cos(high), math.sin(high)), math.tan(step / 4))
        pieces.extend(to_page.segments([unit]))
    return tuple(pieces)


def recognised(segment: Segment) -> Segment:
    """Return a cubic that draws a circular arc as that arc, others as they are.

    PDF has no arcs: programs write a quarter circle as one cubic, which is off it by 0.1 % of its height.
    """
    if not isinstance(segment, Cubic):
        return segment
    middle = segment.point_at(0.5)
    chord = math.dist(segment.start, segment.end)
    if chord == 0.0:
        return segment
    ux, uy = (segment.end[0] - segment.start[0]) / chord, (segment.end[1] - segment.start[1]) / chord
    x, y = middle[0] - segment.start[0], middle[1] - segment.start[1]
    along, height = x * ux + y * uy, y * ux - x * uy
    slack = _ARC_SHARE * abs(height) + _SINGLE * max(map(abs, (*segment.start, *segment.end)))
    if abs(along - chord / 2) > slack or abs(height) < 1e-3 * chord:
        return segment
    arc = Arc(segment.start, segment.end, -2 * height / chord)
    (cx, cy), radius = arc.centre, arc.radius
    away = (abs(math.dist(segment.point_at(t), (cx, cy)) - radius) for t in (0.125, 0.25, 0.75, 0.875))
    return arc if max(away) <= slack else segment


def joined_arcs(segments: Sequence[Segment]) -> tuple[Segment, ...]:
    """Return the segments with arcs of one circle that follow each other made one; a full circle is two halves.

    Arcs were recognised one by one; a short one alone tells its centre only roughly, so two are of one
    circle when their centres agree to 2 % of the radius and all joints lie on the joined arc.
    """
    runs: list[list[Segment]] = []
    for segment in segments:
        if runs and _are_of_one_circle(runs[-1][-1], segment):
            runs[-1].append(segment)
        else:
            runs.append([segment])
    return tuple(piece for run in runs for piece in _joined(run))


def _are_of_one_circle(one: Segment, other: Segment) -> bool:
    if not (isinstance(one, Arc) and isinstance(other, Arc)) or one.bulge * other.bulge < 0:
        return False
    slack = 0.02 * one.radius
    return math.dist(one.centre, other.centre) < slack and abs(one.radius - other.radius) < slack


def _joined(run: Sequence[Segment]) -> Sequence[Segment]:
    arcs = [segment for segment in run if isinstance(segment, Arc)]
    sweep = math.fsum(arc.sweep for arc in arcs)
    if len(arcs) < 2 or abs(sweep) > 2 * math.pi * 1.001:
        return run
    centre, radius = _circle_through([p for arc in arcs for p in (arc.start, arc.point_at(0.5), arc.end)])
    joints = [arc.start for arc in arcs[1:]]
    if any(abs(math.dist(p, centre) - radius) > _ARC_SHARE * radius for p in joints):
        return run
    if math.dist(arcs[0].start, arcs[-1].end) < 1e-6 * radius:
        begin = math.atan2(arcs[0].start[1] - centre[1], arcs[0].start[0] - centre[0])
        east = (centre[0] + radius * math.cos(begin), centre[1] + radius * math.sin(begin))
        west = (2 * centre[0] - east[0], 2 * centre[1] - east[1])
        turn = math.copysign(1.0, sweep)
        return [Arc(east, west, turn), Arc(west, east, turn)]
    if abs(sweep) > math.pi * 1.01:
        half = len(arcs) // 2
        return [*_joined(arcs[:half]), *_joined(arcs[half:])]
    start, end = arcs[0].start, arcs[-1].end
    turned = math.atan2(end[1] - centre[1], end[0] - centre[0]) - math.atan2(start[1] - centre[1], start[0] - centre[0])
    # The same turn as the arcs made together, but measured about the circle through all of them.
    turned += 2 * math.pi * round((sweep - turned) / (2 * math.pi))
    return [Arc(start, end, math.tan(turned / 4))]


def _circle_through(points: Sequence[Point]) -> tuple[Point, float]:
    """Return centre and radius of the least-squares circle. Source: Kasa 1976, doi:10.1109/TIM.1976.6312298."""
    xy = np.array(points)
    middle = xy.mean(axis=0)
    x, y = (xy - middle).T
    (a, b, c), *_ = np.linalg.lstsq(np.column_stack([2 * x, 2 * y, np.ones(len(x))]), x * x + y * y)
    return (float(middle[0] + a), float(middle[1] + b)), math.sqrt(float(c + a * a + b * b))


def polyline(points: Sequence[Point]) -> tuple[Segment, ...]:
    """Return lines through the points, those of no length left out."""
    return tuple(Line(a, b) for a, b in itertools.pairwise(points) if a != b)


def cleaned(strokes: Iterable[Stroke]) -> tuple[Stroke, ...]:
    """Return the strokes without pieces of no length, without numbers that are not finite, joined where closed."""
    kept = []
    for stroke in strokes:
        segments = tuple(s for s in stroke.segments if _is_sound(s))
        if not segments:
            continue
        gap = math.dist(segments[0].start, segments[-1].end)
        size = max(1.0, *map(abs, (*segments[0].start, *segments[-1].end)))
        if stroke.is_closed and gap > _SAME * size:
            segments = (*segments, Line(segments[-1].end, segments[0].start))
        is_closed = stroke.is_closed or (gap <= _SAME * size and len(segments) > 1)
        kept.append(replace(stroke, segments=segments, is_closed=is_closed))
    return tuple(kept)


def refuse_far(name: str, strokes: Iterable[Stroke]) -> None:
    """Do nothing if every coordinate is one that a plan can have.

    Raises:
        ScanError: One is not; the message says where it is.
    """
    for stroke in strokes:
        for segment in stroke.segments:
            for x, y in control_points(segment):
                if max(abs(x), abs(y)) > FARTHEST:
                    where = f" on layer {stroke.layer!r}" if stroke.layer else ""
                    raise ScanError(
                        f"{name} has a line{where} through ({x:.6g}, {y:.6g}), farther out than any plan reaches "
                        f"({FARTHEST:g} units); take it away and export the outlines again."
                    )


def _is_sound(segment: Segment) -> bool:
    points = control_points(segment)
    if not all(math.isfinite(v) for point in points for v in point):
        return False
    # A piece shorter than rounding is what is left of a closing line.
    size = max(1.0, *map(abs, segment.start))
    return any(math.dist(point, segment.start) > _SAME * size for point in points)


def bounds_of(strokes: Iterable[Stroke]) -> tuple[float, float, float, float] | None:
    """Return (x least, y least, x greatest, y greatest) of all strokes, or None without any."""
    points = [p for stroke in strokes for s in stroke.segments for p in extreme_points(s, _coarse(s))]
    if not points:
        return None
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def _coarse(segment: Segment) -> float:
    return max(1e-6, 1e-4 * math.dist(segment.start, segment.end))


def fill_shown(red: float, green: float, blue: float, alpha: float) -> Fill:
    """Return what a fill of a colour is on white paper; all four from 0 to 255."""
    if alpha <= 0:
        return "none"
    palest = 255 - (255 - min(red, green, blue)) * alpha / 255
    return "paper" if palest >= _NEARLY_WHITE else "ink"


def shown_on_paper(painted: Iterable[tuple[Stroke, Fill]]) -> tuple[Stroke, ...]:
    """Return those of the strokes, in the order in which they are painted, that show on white paper.

    A fill of the paper's colour that nothing is drawn round, like the sheet that drawing programs put behind a drawing,
    shows only where it lies on a darker one.
    """
    items = list(painted)
    pale = [n for n, (stroke, fill) in enumerate(items) if fill == "paper" and stroke.is_filled]
    if not pale:
        return tuple(stroke for stroke, _ in items)
    dark = [n for n, (_, fill) in enumerate(items) if fill == "ink"]
    grounds = [_area(items[n][0]) for n in dark]
    tree = shapely.STRtree(grounds)
    unseen = set()
    for n in pale:
        area = _area(items[n][0])
        below = [grounds[k] for k in tree.query(area).tolist() if dark[k] < n]
        if not any(area.intersection(ground).area > _COVERED_SHARE * area.area for ground in below):
            unseen.add(n)
    return tuple(stroke for n, (stroke, _) in enumerate(items) if n not in unseen)


def _area(stroke: Stroke) -> BaseGeometry:
    """Return about what a stroke encloses; a point every eighth of a segment is enough to see whether two overlap."""
    area: BaseGeometry = shapely.Polygon([s.point_at(k / 8) for s in stroke.segments for k in range(8)])
    return area if area.is_valid else shapely.make_valid(area)


def chosen_layers(name: str, strokes: tuple[Stroke, ...], layers: tuple[str, ...] | None) -> tuple[Stroke, ...]:
    """Return the strokes on the named layers, or all of them.

    Raises:
        ScanError: A layer that is not in the drawing; the message lists those that are.
    """
    if layers is None:
        return strokes
    present = layers_of(strokes)
    for layer in layers:
        if layer not in present:
            known = listed(repr(p) for p in present)
            raise ScanError(f"{name} has no layer {layer!r} with lines on it; its layers are {known}.")
    return tuple(stroke for stroke in strokes if stroke.layer in layers)


def layers_of(strokes: Iterable[Stroke]) -> tuple[str, ...]:
    """Return the names of the layers, sorted."""
    return tuple(sorted({stroke.layer for stroke in strokes}))
