"""DXF entities as exact strokes, with blocks, layers and line types resolved."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from vectorize.page.strokes import ellipse_arc, polyline
from vectorize.shapes.affine import Affine
from vectorize.shapes.segment import Arc, Cubic, Line, Point, Segment
from vectorize.shapes.stroke import Stroke

MOST_ENTITIES = 300_000
"""More than this, blocks within blocks and arrays counted out, is a file gone wrong and no plan."""
_DRAWN = {"LINE", "ARC", "CIRCLE", "ELLIPSE", "LWPOLYLINE", "POLYLINE", "SPLINE", "HELIX"}
_IN_OWN_PLANE = {"ARC", "CIRCLE", "LWPOLYLINE", "POLYLINE"}
_SPLINE_PIECES = 16
"""Into so many cubics a span that is not a plain cubic is cut."""


class TooManyEntitiesError(Exception):
    """The blocks of a file multiply to more entities than any plan has."""


@dataclass(frozen=True, slots=True)
class _Style:
    """What an entity inherits from the insert that it stands in."""

    layer: str
    linetype: str
    lineweight: int


def strokes_of(document: Any) -> tuple[list[Stroke], Counter[str]]:
    """Return all strokes of the model space, and how many entities of which kind were left out."""
    left_out: Counter[str] = Counter()
    style = _Style("0", "CONTINUOUS", -3)
    count = itertools.count(1)
    return list(_walk(document, document.modelspace(), style, Affine(), (), left_out, count)), left_out


def _walk(
    document: Any,
    entities: Iterable[Any],
    outer: _Style,
    to_page: Affine,
    within: tuple[str, ...],
    left_out: Counter[str],
    count: Iterator[int],
) -> Iterator[Stroke]:
    """Go through entities and the blocks inserted among them; `to_page` brings them to model space.

    A block that stands in itself, in one of the blocks `within`, is left out. The maps are multiplied here: a
    library that writes them back into inserts cannot turn a block that stands in another one scaled unevenly.
    """
    for entity in entities:
        if next(count) > MOST_ENTITIES:
            raise TooManyEntitiesError
        kind = entity.dxftype()
        style = _style(entity, outer)
        if kind != "INSERT" and kind not in _DRAWN:
            left_out[kind] += 1
        elif not _is_shown(document, style.layer, entity):
            left_out["on hidden layers"] += 1
        elif kind != "INSERT":
            yield _stroke(document, entity, style, to_page)
        elif (name := str(entity.dxf.name)) in within:
            left_out["blocks in themselves"] += 1
        elif (block := entity.block()) is not None:
            for copy in _copies(entity, count):
                inner = _affine(copy.matrix44()).then(to_page)
                yield from _walk(document, block, style, inner, (*within, name), left_out, count)


def _copies(insert: Any, count: Iterator[int]) -> Iterator[Any]:
    """Yield the copies of an insert that is an array, or itself; each counts, were its block empty."""
    for copy in insert.multi_insert() if insert.mcount > 1 else (insert,):
        if next(count) > MOST_ENTITIES:
            raise TooManyEntitiesError
        yield copy


def _affine(matrix: Any) -> Affine:
    """Return the part of a 4 x 4 matrix that acts in the drawing plane."""
    origin, x, y = (_flat(matrix.transform(point)) for point in ((0, 0, 0), (1, 0, 0), (0, 1, 0)))
    return Affine(x[0] - origin[0], x[1] - origin[1], y[0] - origin[0], y[1] - origin[1], *origin)


def _style(entity: Any, outer: _Style) -> _Style:
    """Resolve layer 0 inside a block, BYBLOCK and the insert's own values (DXF Reference, INSERT)."""
    layer = entity.dxf.get("layer", "0")
    linetype = str(entity.dxf.get("linetype", "BYLAYER")).upper()
    weight = int(entity.dxf.get("lineweight", -1))
    return _Style(
        outer.layer if layer == "0" else layer,
        outer.linetype if linetype == "BYBLOCK" else linetype,
        outer.lineweight if weight == -2 else weight,
    )


def _is_shown(document: Any, layer: str, entity: Any) -> bool:
    if entity.dxf.get("invisible", 0):
        return False
    if not document.layers.has_entry(layer):
        return True
    entry = document.layers.get(layer)
    return not (entry.is_off() or entry.is_frozen())


def _stroke(document: Any, entity: Any, style: _Style, to_page: Affine) -> Stroke:
    segments, is_closed = _segments(entity)
    # A mirrored copy carries its mirror as an extrusion of (0, 0, -1): its numbers are in that plane. The usual plane,
    # (0, 0, 1), may be written out too, and needs no map.
    if entity.dxftype() in _IN_OWN_PLANE and (own := entity.ocs()).transform:
        to_page = _affine(own.matrix).then(to_page)
    return Stroke(
        segments=to_page.segments(segments),
        is_closed=is_closed,
        layer=style.layer,
        pen_width=_pen(document, style),
        is_dashed=_is_dashed(document, style),
    )


def _pen(document: Any, style: _Style) -> float:
    """Return the line weight in drawing units; DXF states it in hundredths of a mm, negative for a default."""
    weight = style.lineweight
    if weight == -1 and document.layers.has_entry(style.layer):
        weight = document.layers.get(style.layer).dxf.get("lineweight", -3)
    units = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0}
    mm = units.get(int(document.header.get("$INSUNITS", 0) or 0), 1.0)
    return max(0, weight) / 100 / mm


def _is_dashed(document: Any, style: _Style) -> bool:
    linetype = style.linetype
    if linetype == "BYLAYER" and document.layers.has_entry(style.layer):
        linetype = str(document.layers.get(style.layer).dxf.get("linetype", "CONTINUOUS")).upper()
    if linetype in ("CONTINUOUS", "BYLAYER", "BYBLOCK") or not document.linetypes.has_entry(linetype):
        return False
    tags = document.linetypes.get(linetype).pattern_tags.tags
    return any(tag.code == 49 and float(tag.value) < 0 for tag in tags)


def _segments(entity: Any) -> tuple[tuple[Segment, ...], bool]:
    dxf = entity.dxf
    match entity.dxftype():
        case "LINE":
            return polyline([_flat(dxf.start), _flat(dxf.end)]), False
        case "CIRCLE":
            return _circular(_flat(dxf.center), dxf.radius, 0.0, 2 * math.pi), True
        case "ARC":
            begin = math.radians(dxf.start_angle)
            sweep = math.radians((dxf.end_angle - dxf.start_angle) % 360.0) or 2 * math.pi
            return _circular(_flat(dxf.center), dxf.radius, begin, sweep), False
        case "ELLIPSE":
            return _ellipse(entity)
        case "LWPOLYLINE":
            return _bulged([(x, y, b) for x, y, b in entity.get_points("xyb")], is_closed=entity.closed)
        case "POLYLINE":
            if entity.is_2d_polyline or entity.is_3d_polyline:
                rows = [(*_flat(v.dxf.location), v.dxf.get("bulge", 0.0)) for v in entity.vertices]
                return _bulged(rows, is_closed=entity.is_closed)
            return (), False
        case _:
            return _spline(entity)


def _flat(point: Any) -> Point:
    return float(point[0]), float(point[1])


def _circular(centre: Point, radius: float, begin: float, sweep: float) -> tuple[Segment, ...]:
    return ellipse_arc(centre, (radius, 0.0), (0.0, radius), begin, sweep)


def _ellipse(entity: Any) -> tuple[tuple[Segment, ...], bool]:
    dxf = entity.dxf
    major = _flat(dxf.major_axis)
    # DXF Reference, ELLIPSE: the minor axis is the extrusion crossed with the major one, times the ratio.
    up = float(dxf.extrusion[2])
    minor = (-up * major[1] * dxf.ratio, up * major[0] * dxf.ratio)
    sweep = (dxf.end_param - dxf.start_param) % (2 * math.pi)
    is_whole = sweep < 1e-9 or abs(sweep - 2 * math.pi) < 1e-9
    return ellipse_arc(_flat(dxf.center), major, minor, dxf.start_param, 2 * math.pi if is_whole else sweep), is_whole


def _bulged(rows: list[tuple[float, float, float]], *, is_closed: bool) -> tuple[tuple[Segment, ...], bool]:
    segments: list[Segment] = []
    following = [*rows[1:], rows[0]] if is_closed else rows[1:]
    for (x0, y0, bulge), (x1, y1, _) in zip(rows, following, strict=False):
        if (x0, y0) == (x1, y1):
            continue
        a, b = (float(x0), float(y0)), (float(x1), float(y1))
        segments.append(Arc(a, b, float(bulge)) if abs(bulge) > 1e-12 else Line(a, b))
    return tuple(segments), is_closed


def _spline(entity: Any) -> tuple[tuple[Segment, ...], bool]:
    """Return the cubic that has the curve's ends and end speeds on each piece of each knot span.

    That is the curve itself where it is a plain cubic or lower one; rational curves and those of a higher
    degree are cut into 16 pieces a span, which follow them to about 1e-6 of their size.
    """
    curve = entity.construction_tool()
    is_plain = curve.degree <= 3 and not curve.is_rational
    knots = sorted({round(float(k), 12) for k in curve.knots()[curve.degree : -curve.degree]})
    segments: list[Segment] = []
    for low, high in itertools.pairwise(knots):
        marks = np.linspace(low, high, 2 if is_plain else _SPLINE_PIECES + 1)
        # The speed at a knot is that of the span it is the end of: step in by less than matters.
        inner = np.clip(marks, low, high - 1e-9 * (high - low))
        rows = [(_flat(point), _flat(speed)) for point, speed in curve.derivatives(inner.tolist(), n=1)]
        step = float(marks[1] - marks[0]) / 3
        for (start, out), (end, into) in itertools.pairwise(rows):
            first = (start[0] + out[0] * step, start[1] + out[1] * step)
            second = (end[0] - into[0] * step, end[1] - into[1] * step)
            segments.append(Cubic(segments[-1].end if segments else start, first, second, end))
    return tuple(segments), bool(entity.closed)
