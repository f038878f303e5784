"""The width of the cut: where a beam or bit must run, and what a cut along the line leaves.

Paths are exact offsets: lines and arcs stay what they are, cubics become few cubics within 0.0005 mm. What no path
reaches is found by Clipper, on polygons of integers of 0.00001 mm.

Source: cutting services' guidance that the kerf is centred on the line, so that the path lies half of it away.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import pyclipper
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from vectorize.basics.errors import ToleranceError
from vectorize.basics.notes import Note
from vectorize.shapes.offset import Corners, offset_outline
from vectorize.shapes.outline import Outline, Ring

UNITS_PER_MM = 100_000
MITRE_LIMIT = 5.0
"""Corners keener than 23 degrees are lost to the rounding of a cut; that is no slot or neck."""

_LOST = {
    "kerf-slot": "slot",
    "kerf-neck": "neck",
    "kerf-cut-out": "cut-out",
    "kerf-cut-out-neck": "cut-out's neck",
}
"""What a cut may lose, by the code of its note."""


@dataclass(frozen=True, slots=True)
class Offset:
    """What an offset made of an outline: none, one or more outlines, and what was lost on the way."""

    outlines: tuple[Outline, ...]
    notes: tuple[Note, ...] = ()


def cut_path(outline: Outline, *, kerf_mm: float, part: str = "", corners: Corners = "mitre") -> Offset:
    """Return where the middle of the cut must run so that the part comes out as `outline`.

    At outside corners the path runs on to a point up to two kerfs away (angles from 29 degrees), and goes round keener
    ones; with `round` corners it goes round them all, and the tool never leaves the width of its cut beside the part.
    Either way the part's own corner comes out sharp. The exterior moves out by half the kerf and cut-outs move in.
    Cut-outs, or necks of them, and slots that are narrower than the cut cannot be made: each is an `open` note with its
    place in mm.

    Raises:
        ToleranceError: If `kerf_mm` is negative or not finite.
    """
    half = _half(kerf_mm)
    if half == 0:
        return Offset((outline,))
    notes = [
        *_lost_notes(_lost(Polygon(outline.exterior.flattened(0.01)), half, is_slot=True), "kerf-slot", kerf_mm, part),
        *(note for ring in outline.cutouts for note in _cutout_notes(ring, half, kerf_mm, part)),
    ]
    return Offset(offset_outline(outline, half, with_cutouts=True, corners=corners), tuple(notes))


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
    return Offset(
        offset_outline(outline, -half, with_cutouts=True), tuple(_lost_notes(lost, "kerf-neck", kerf_mm, part))
    )


def _half(kerf_mm: float) -> float:
    if not (math.isfinite(kerf_mm) and kerf_mm >= 0):
        raise ToleranceError(f"kerf is {kerf_mm} mm; it must be zero or more.")
    return kerf_mm / 2


def _lost(shape: Polygon, half: float, *, is_slot: bool) -> list[Polygon]:
    """What is narrower than the cut: slots outside the shape, or necks of it, longer than two cuts are wide."""
    first = half if is_slot else -half
    back = _moved(_moved(shape, first), -first)
    difference = back.difference(shape) if is_slot else shape.difference(back)
    return [piece for piece in _polygons(difference) if _longest_side(piece) > 4 * half and piece.area > half * half]


def _moved(shape: BaseGeometry, distance_mm: float) -> MultiPolygon:
    """Return polygons grown by a distance, or shrunk by a negative one, with mitred corners."""
    clipper = pyclipper.PyclipperOffset(MITRE_LIMIT)
    for polygon in _polygons(shape):
        for ring in (orient(polygon).exterior, *orient(polygon).interiors):
            path = np.rint(np.asarray(ring.coords)[:-1] * UNITS_PER_MM).astype(np.int64)
            clipper.AddPath(path.tolist(), pyclipper.JT_MITER, pyclipper.ET_CLOSEDPOLYGON)
    return MultiPolygon(list(_of_tree(clipper.Execute2(distance_mm * UNITS_PER_MM))))


def _of_tree(node: pyclipper.PyPolyNode) -> Iterator[Polygon]:
    """Walk Clipper's tree: exteriors, their holes, and exteriors within those."""
    for child in node.Childs:
        rings = [np.array(n.Contour) / UNITS_PER_MM for n in (child, *child.Childs)]
        yield Polygon(rings[0], rings[1:])
        for hole in child.Childs:
            yield from _of_tree(hole)


def _polygons(shape: BaseGeometry) -> list[Polygon]:
    return [piece for piece in getattr(shape, "geoms", [shape]) if isinstance(piece, Polygon) and not piece.is_empty]


def _longest_side(piece: Polygon) -> float:
    x0, y0, x1, y1 = piece.minimum_rotated_rectangle.bounds
    return math.hypot(x1 - x0, y1 - y0)


def _cutout_notes(ring: Ring, half: float, kerf_mm: float, part: str) -> Iterator[Note]:
    hole = Polygon(ring.flattened(0.01))
    if _moved(hole, -half).is_empty:
        yield from _lost_notes([hole], "kerf-cut-out", kerf_mm, part)
    else:
        yield from _lost_notes(_lost(hole, half, is_slot=False), "kerf-cut-out-neck", kerf_mm, part)


def _lost_notes(lost: Sequence[Polygon], code: str, kerf_mm: float, part: str) -> Iterator[Note]:
    for piece in lost:
        at = piece.representative_point()
        text = (
            f"a {_LOST[code]} at ({at.x:.1f}, {at.y:.1f}) mm is narrower than the cut of {kerf_mm:g} mm and would be "
            "lost; widen it, or use a finer tool."
        )
        yield Note(code, text, "open", part or None)
