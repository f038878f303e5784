"""The width of the cut: where a beam or bit must run, and what a cut along the line leaves.

Offsets are made by Clipper on integers of 0.00001 mm; circles of the source come back as true arcs.

Source: cutting services' guidance that the kerf is centred on the line, so that the path lies half of it away.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import pyclipper
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from vectorize.curve import Arc, Line, Point, Points, Segment
from vectorize.errors import ToleranceError
from vectorize.notes import Note
from vectorize.outline import Outline, Ring

UNITS_PER_MM = 100_000
CHORD_MM = 0.0005
MITRE_LIMIT = 2.0
"""Corners sharper than 60 degrees are cut off square, outside the part, rather than run out far."""
_ON_CIRCLE_MM = 0.002


@dataclass(frozen=True, slots=True)
class Offset:
    """What an offset made of an outline: none, one or more outlines, and what was lost on the way."""

    outlines: tuple[Outline, ...]
    notes: tuple[Note, ...] = ()


def cut_path(outline: Outline, *, kerf_mm: float, part: str = "") -> Offset:
    """Return where the middle of the cut must run so that the part comes out as `outline`.

    The exterior moves out by half the kerf and cut-outs move in. Cut-outs, or necks of them, and slots
    that are narrower than the cut cannot be made: each is an `open` note with its place in mm.

    Raises:
        ToleranceError: If `kerf_mm` is negative or not finite.
    """
    half = _half(kerf_mm)
    if half == 0:
        return Offset((outline,))
    notes = [
        *_lost_notes(_lost(Polygon(outline.exterior.flattened(0.01)), half, is_slot=True), "slot", kerf_mm, part),
        *(note for ring in outline.cutouts for note in _cutout_notes(ring, half, kerf_mm, part)),
    ]
    return Offset(_offset(outline, half), tuple(notes))


def left_by_cut_on_line(outline: Outline, *, kerf_mm: float, part: str = "") -> Offset:
    """Return what a cut centred on the line leaves: the exterior smaller, cut-outs larger by half the kerf.

    A neck narrower than the kerf is cut through; that is an `open` note with its place in mm.

    Raises:
        ToleranceError: If `kerf_mm` is negative or not finite.
    """
    half = _half(kerf_mm)
    if half == 0:
        return Offset((outline,))
    lost = _lost(outline.to_polygon(0.01), half, is_slot=False)
    return Offset(_offset(outline, -half), tuple(_lost_notes(lost, "neck", kerf_mm, part)))


def _half(kerf_mm: float) -> float:
    if not (math.isfinite(kerf_mm) and kerf_mm >= 0):
        raise ToleranceError(f"kerf is {kerf_mm} mm; it must be zero or more.")
    return kerf_mm / 2


def _offset(outline: Outline, distance_mm: float) -> tuple[Outline, ...]:
    clipper = pyclipper.PyclipperOffset(MITRE_LIMIT)
    for ring in outline.rings:
        path = np.rint(ring.flattened(CHORD_MM) * UNITS_PER_MM).astype(np.int64)
        clipper.AddPath(path.tolist(), pyclipper.JT_MITER, pyclipper.ET_CLOSEDPOLYGON)
    circles = _offset_circles(outline, distance_mm)
    tree = clipper.Execute2(distance_mm * UNITS_PER_MM)
    return tuple(_outlines(tree, circles))


def _outlines(node: pyclipper.PyPolyNode, circles: Sequence[tuple[Point, float]]) -> Iterator[Outline]:
    """Walk Clipper's tree: exteriors, their holes, and exteriors within those."""
    for child in node.Childs:
        rings = [_with_arcs(np.array(n.Contour) / UNITS_PER_MM, circles) for n in (child, *child.Childs)]
        yield Outline(rings[0], tuple(rings[1:]))
        for hole in child.Childs:
            yield from _outlines(hole, circles)


def _offset_circles(outline: Outline, distance_mm: float) -> list[tuple[Point, float]]:
    """The circles on which offset arcs lie: material is on the left, so growth widens left-turning arcs."""
    circles = []
    for ring in outline.rings:
        for segment in ring.segments:
            if isinstance(segment, Arc):
                radius = segment.radius + math.copysign(distance_mm, segment.bulge * distance_mm)
                circles.append((segment.centre, radius))
    return [(centre, radius) for centre, radius in circles if radius > 10 * _ON_CIRCLE_MM]


def _with_arcs(points: Points, circles: Sequence[tuple[Point, float]]) -> Ring:
    """Return the ring through `points` in which runs of short chords on one of the circles are arcs."""
    on = [_chords_on(points, centre, radius) for centre, radius in circles]
    chord_circle = np.full(len(points), -1)
    for index in range(len(on) - 1, -1, -1):
        chord_circle[on[index]] = index
    whole = chord_circle[0]
    if whole >= 0 and np.all(chord_circle == whole):
        circle = Ring.circle(*circles[whole])
        return circle.oriented(is_counter_clockwise=Ring.from_points(points).signed_area_mm2 > 0)
    breaks = np.flatnonzero(chord_circle != np.roll(chord_circle, 1))
    start = int(breaks[0]) if len(breaks) else 0
    segments = list(_pieces(np.roll(points, -start, axis=0), np.roll(chord_circle, -start), circles))
    return Ring(tuple(segments))


def _chords_on(points: Points, centre: Point, radius: float) -> np.ndarray:
    """Which chords (from each point to the next) lie on the circle, as near as flattening puts them."""
    following = np.roll(points, -1, axis=0)
    near = np.abs(np.hypot(*(points - centre).T) - radius) < _ON_CIRCLE_MM
    middle = (points + following) / 2
    sagitta = radius - np.hypot(*(middle - centre).T)
    flat = np.abs(sagitta) < 4 * _ON_CIRCLE_MM
    return np.asarray(near & np.roll(near, -1) & flat)


def _pieces(points: Points, chord_circle: np.ndarray, circles: Sequence[tuple[Point, float]]) -> Iterator[Segment]:
    count = len(points)
    ends = np.flatnonzero(np.append(chord_circle[1:] != chord_circle[:-1], True))
    start = 0
    for end in ends:
        index = int(chord_circle[start])
        run = [points[i % count] for i in range(start, int(end) + 2)]
        if index >= 0 and len(run) > 2:
            yield _arc(run, circles[index][0])
        else:
            for a, b in itertools.pairwise(run):
                yield Line((float(a[0]), float(a[1])), (float(b[0]), float(b[1])))
        start = int(end) + 1


def _arc(run: Sequence[np.ndarray], centre: Point) -> Arc:
    angles = np.unwrap([math.atan2(p[1] - centre[1], p[0] - centre[0]) for p in run])
    sweep = float(angles[-1] - angles[0])
    start, end = run[0], run[-1]
    return Arc((float(start[0]), float(start[1])), (float(end[0]), float(end[1])), math.tan(sweep / 4))


def _lost(shape: Polygon, half: float, *, is_slot: bool) -> list[Polygon]:
    """What is narrower than the cut: slots outside the shape, or necks of it, longer than two cuts are wide."""
    first = half if is_slot else -half
    back = shape.buffer(first, join_style="mitre", mitre_limit=5).buffer(-first, join_style="mitre", mitre_limit=5)
    difference = back.difference(shape) if is_slot else shape.difference(back)
    return [piece for piece in _polygons(difference) if _longest_side(piece) > 4 * half and piece.area > half * half]


def _polygons(shape: BaseGeometry) -> list[Polygon]:
    return [piece for piece in getattr(shape, "geoms", [shape]) if isinstance(piece, Polygon) and not piece.is_empty]


def _longest_side(piece: Polygon) -> float:
    x0, y0, x1, y1 = piece.minimum_rotated_rectangle.bounds
    return math.hypot(x1 - x0, y1 - y0)


def _cutout_notes(ring: Ring, half: float, kerf_mm: float, part: str) -> Iterator[Note]:
    hole = Polygon(ring.flattened(0.01))
    if hole.buffer(-half).is_empty:
        yield from _lost_notes([hole], "cut-out", kerf_mm, part)
    else:
        yield from _lost_notes(_lost(hole, half, is_slot=False), "cut-out's neck", kerf_mm, part)


def _lost_notes(lost: Sequence[Polygon], what: str, kerf_mm: float, part: str) -> Iterator[Note]:
    for piece in lost:
        at = piece.representative_point()
        text = (
            f"a {what} at ({at.x:.1f}, {at.y:.1f}) mm is narrower than the cut of {kerf_mm:g} mm and would be lost; "
            "widen it, or use a finer tool."
        )
        yield Note(f"kerf-{what.replace(' ', '-').replace(chr(39), '')}", text, "open", part or None)
