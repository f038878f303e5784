"""Reading SVG: every visible shape with its transforms resolved, arcs kept where they are circular."""

from __future__ import annotations

import io
import itertools
import math
import re
from collections.abc import Iterator, Sequence
from xml.etree.ElementTree import ParseError

import numpy as np
import svgelements as svg

from nesting.patterns.drawing import Layer
from vectorize.curve import Arc, Cubic, Line, Point, Segment
from vectorize.errors import InputError
from vectorize.units import MM_PER_INCH

PX_MM = MM_PER_INCH / 96
"""CSS: 96 px to the inch."""
_ROOT = re.compile(rb"<svg\b[^>]*>", re.DOTALL)
_SIZE = re.compile(rb"""\s(?:width|height)\s*=\s*(?:"[^"]*"|'[^']*')""")
_STATED = re.compile(rb"""\swidth\s*=\s*["']\s*[\d.eE+]+\s*(?:mm|cm|in|pt|pc|q)\s*["']""", re.IGNORECASE)
_ARC_STEPS = 720


def svg_chains(data: bytes, *, name: str, unit_mm: float | None, layers: Sequence[str]) -> list[list[Segment]]:
    """Return the chains of an SVG in millimetres, y up; see `bring_in`.

    Raises:
        InputError: The file cannot be read, has not the groups asked for, or states no unit and none is given.
    """
    root = _ROOT.search(data)
    is_stated = root is not None and _STATED.search(root[0]) is not None
    if unit_mm is None and is_stated:
        shapes, scale = _shapes(data, name, layers), PX_MM
    else:
        # Without width and height the reader keeps to the numbers of the drawing itself.
        plain = data if root is None else data.replace(root[0], _SIZE.sub(b"", root[0]), 1)
        shapes = _shapes(plain, name, layers)
        scale = unit_mm or _ask_for_unit(shapes, name)
    if layers and not shapes:
        raise InputError(f"{name} has no shape in a group called {' or '.join(layers)}.")
    return [chain for path in shapes for chain in _chains(path, scale) if chain]


def _shapes(data: bytes, name: str, layers: Sequence[str]) -> list[svg.Path]:
    try:
        document = svg.SVG.parse(io.BytesIO(data), reify=True, ppi=96)
    except (ParseError, ValueError, KeyError, TypeError, AttributeError) as error:
        raise InputError(f"{name} cannot be read as SVG ({error}); save it again as plain SVG.") from error
    own = [layer.value for layer in Layer if layer.is_cut]
    wanted = set(layers) or (set(own) if any(f'id="{group}"'.encode() in data for group in own) else set())
    return list(_walked(document, wanted, is_inside=not wanted))


def _walked(group: svg.Group, wanted: set[str], *, is_inside: bool) -> Iterator[svg.Path]:
    for element in group:
        is_in = is_inside or getattr(element, "id", None) in wanted
        if isinstance(element, svg.Group | svg.Use):
            yield from _walked(element, wanted, is_inside=is_in)
        elif is_in and isinstance(element, svg.Shape):
            yield svg.Path(element)


def _ask_for_unit(shapes: Sequence[svg.Path], name: str) -> float:
    boxes = [box for box in (path.bbox() for path in shapes) if box is not None]
    if not boxes:
        raise InputError(f"{name} holds no shape; draw each edge as a closed line.")
    width = max(box[2] for box in boxes) - min(box[0] for box in boxes)
    height = max(box[3] for box in boxes) - min(box[1] for box in boxes)
    sizes = ", ".join(
        f"{width * factor:.1f} × {height * factor:.1f} mm {what}"
        for factor, what in (
            (1.0, "if its unit is 1 mm"),
            (PX_MM, "at 96 to the inch"),
            (MM_PER_INCH / 90, "at 90 to the inch"),
            (MM_PER_INCH / 72, "at 72 to the inch"),
        )
    )
    raise InputError(f"{name} does not state its size in a unit of length; it would be {sizes}. Say which.")


def _chains(path: svg.Path, scale: float) -> Iterator[list[Segment]]:
    chain: list[Segment] = []
    for piece in path:
        if isinstance(piece, svg.Move):
            yield chain
            chain = []
        elif piece.start is not None and piece.end is not None:
            chain.extend(_pieces(piece, scale))
            if isinstance(piece, svg.Close):
                yield chain
                chain = []
    yield chain


def _pieces(piece: svg.PathSegment, scale: float) -> list[Segment]:
    start, end = _point(piece.start, scale), _point(piece.end, scale)
    match piece:
        case svg.CubicBezier():
            return [Cubic(start, _point(piece.control1, scale), _point(piece.control2, scale), end)]
        case svg.QuadraticBezier():
            middle = _point(piece.control, scale)
            return [Cubic(start, _toward(start, middle), _toward(end, middle), end)]
        case svg.Arc():
            return _arc(piece, start, end, scale)
        case _:
            return [Line(start, end)] if start != end else []


def _point(point: svg.Point, scale: float) -> Point:
    return (float(point.x) * scale, -float(point.y) * scale)


def _toward(end: Point, middle: Point) -> Point:
    """The handle of the cubic that equals a quadratic: two thirds of the way to its control point."""
    return (end[0] + 2 / 3 * (middle[0] - end[0]), end[1] + 2 / 3 * (middle[1] - end[1]))


def _arc(piece: svg.PathSegment, start: Point, end: Point, scale: float) -> list[Segment]:
    """A circular arc as arcs of at most half a turn (y is turned over, so the sense too); an ellipse as short lines."""
    sweep = -float(piece.sweep)
    if abs(piece.rx - piece.ry) > 1e-6 * max(piece.rx, piece.ry):
        points = [_point(piece.point(t), scale) for t in np.linspace(0.0, 1.0, _ARC_STEPS + 1)]
        return [Line(a, b) for a, b in itertools.pairwise(points)]
    if abs(sweep) <= math.pi + 1e-9 and math.dist(start, end) > 0:
        return [Arc(start, end, math.tan(sweep / 4))]
    middle = _point(piece.point(0.5), scale)
    return [Arc(start, middle, math.tan(sweep / 8)), Arc(middle, end, math.tan(sweep / 8))]
