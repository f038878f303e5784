"""Reading DXF: lines, arcs, circles, ellipses, polylines, splines, in blocks too."""

from __future__ import annotations

import io
import itertools
import math
from collections.abc import Iterator, Sequence

from ezdxf.disassemble import recursive_decompose
from ezdxf.document import Drawing as Document
from ezdxf.entities.arc import Arc as ArcEntity
from ezdxf.entities.circle import Circle
from ezdxf.entities.dxfentity import DXFEntity
from ezdxf.entities.ellipse import Ellipse
from ezdxf.entities.line import Line as LineEntity
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.entities.polyline import Polyline
from ezdxf.entities.spline import Spline
from ezdxf.lldxf.const import DXFError
from ezdxf.math import UVec, Vec3
from ezdxf.recover import read as read_and_repair

from nesting.patterns.drawing import Layer
from nesting.patterns.dxf import layer_name
from vectorize.curve import Arc, Cubic, Line, Point, Segment
from vectorize.errors import InputError
from vectorize.outline import Ring
from vectorize.units import MM_PER_INCH

UNIT_MM = {1: MM_PER_INCH, 2: 12 * MM_PER_INCH, 4: 1.0, 5: 10.0, 6: 1000.0, 9: MM_PER_INCH / 1000, 13: 0.001, 14: 100.0}
"""$INSUNITS of the DXF Reference: inch, foot, millimetre, centimetre, metre, mil, micron, decimetre."""
OWN_WORDS = "drawn in millimetres"
"""What our files say about the unit where the header cannot (R12)."""
CHORD_MM = 0.001
"""Curves that are neither circular nor plain cubics are followed within this."""

_SHAPES = "LINE ARC CIRCLE ELLIPSE LWPOLYLINE POLYLINE SPLINE INSERT"


def dxf_chains(data: bytes, *, name: str, unit_mm: float | None, layers: Sequence[str]) -> list[list[Segment]]:
    """Return the chains of a DXF in millimetres; see `bring_in`.

    Raises:
        InputError: The file cannot be read, has not the layers asked for, or states no unit and none is given.
    """
    document = _read(data, name)
    wanted = _wanted_layers(document, layers, name)
    scale = unit_mm or _stated_unit_mm(document, name)
    chains: list[list[Segment]] = []
    for entity in recursive_decompose(document.modelspace().query(_SHAPES)):
        if entity.dxf.get("layer", "0") in wanted:
            chains.extend(chain for chain in _chains(entity, scale) if chain)
    return chains


def _read(data: bytes, name: str) -> Document:
    try:
        document, audit = read_and_repair(io.BytesIO(data))
    except (DXFError, OSError, ValueError, IndexError, AttributeError) as error:
        raise InputError(f"{name} cannot be read as DXF ({error}); save it again as DXF R2000 or R2010.") from error
    if audit.has_errors:
        raise InputError(f"{name} is damaged ({audit.errors[0].message}); save it again as DXF R2000 or R2010.")
    return document


def _wanted_layers(document: Document, layers: Sequence[str], name: str) -> set[str]:
    visible = [layer.dxf.name for layer in document.layers if not layer.is_off() and not layer.is_frozen()]
    used = {entity.dxf.get("layer", "0") for entity in document.modelspace()}
    if layers:
        missing = [layer for layer in layers if layer not in used and layer not in visible]
        if missing:
            raise InputError(f"{name} has no layer {missing[0]!r}; its layers are {', '.join(sorted(used))}.")
        return set(layers)
    own = {layer_name(layer) for layer in Layer if layer.is_cut}
    if layer_name(Layer.OUTLINE) in used:
        return own
    hidden = {layer.dxf.name for layer in document.layers} - set(visible)
    return (used | {layer.dxf.name for layer in document.layers}) - hidden


def _stated_unit_mm(document: Document, name: str) -> float:
    stated = UNIT_MM.get(int(document.header.get("$INSUNITS", 0)))
    if stated is not None and document.dxfversion > "AC1009":
        return stated
    if any(OWN_WORDS in text.dxf.text for text in document.modelspace().query("TEXT")):
        return 1.0
    from ezdxf.bbox import extents

    size = extents(document.modelspace(), fast=True).size
    raise InputError(
        f"{name} does not state its unit; it would be {size.x:.1f} × {size.y:.1f} mm, or "
        f"{size.x * MM_PER_INCH:.1f} × {size.y * MM_PER_INCH:.1f} mm if drawn in inches. Say which unit it is in."
    )


def _chains(entity: DXFEntity, scale: float) -> Iterator[list[Segment]]:
    match entity:
        case LineEntity():
            yield [Line(_xy(entity.dxf.start, scale), _xy(entity.dxf.end, scale))]
        case ArcEntity():  # before Circle, of which it is a kind
            yield [_arc(entity, scale)]
        case Circle():
            centre = _xy(entity.ocs().to_wcs(entity.dxf.center), scale)
            yield list(Ring.circle(centre, entity.dxf.radius * scale).segments)
        case LWPolyline():
            corners = [(Vec3(x, y), bulge) for x, y, bulge in entity.get_points("xyb")]
            yield _polyline(entity, corners, scale, is_closed=entity.closed)
        case Polyline() if entity.is_2d_polyline or entity.is_3d_polyline:
            corners = [(vertex.dxf.location, vertex.dxf.get("bulge", 0.0)) for vertex in entity.vertices]
            yield _polyline(entity, corners, scale, is_closed=entity.is_closed)
        case Spline():
            yield _spline(entity, scale)
        case Ellipse():
            yield _lines([_xy(point, scale) for point in entity.flattening(CHORD_MM / scale)])


def _xy(point: UVec, scale: float) -> Point:
    place = Vec3(point)
    return (place.x * scale, place.y * scale)


def _polyline(
    entity: LWPolyline | Polyline,
    corners: Sequence[tuple[Vec3, float]],
    scale: float,
    *,
    is_closed: bool,
) -> list[Segment]:
    """Straight pieces and arcs by their bulges; seen from below (extrusion -z) the bulges turn the other way."""
    turn = 1.0 if entity.dxf.extrusion.z > 0 else -1.0
    points = [(_xy(entity.ocs().to_wcs(at), scale), turn * bulge) for at, bulge in corners]
    following = [*points[1:], *(points[:1] if is_closed else [])]
    pieces: list[Segment] = []
    for (start, bulge), (end, _) in zip(points, following, strict=False):
        if start != end:
            pieces.append(Arc(start, end, bulge) if abs(bulge) > 1e-9 else Line(start, end))
    return pieces


def _arc(entity: ArcEntity, scale: float) -> Arc:
    """An arc runs counter-clockwise in its own frame; one seen from below (extrusion -z) runs the other way."""
    sweep = (entity.dxf.end_angle - entity.dxf.start_angle) % 360.0 or 360.0
    turn = 1.0 if entity.dxf.extrusion.z > 0 else -1.0
    bulge = turn * math.tan(math.radians(sweep) / 4)
    return Arc(_xy(entity.start_point, scale), _xy(entity.end_point, scale), bulge)


def _spline(entity: Spline, scale: float) -> list[Segment]:
    """Cubic splines without weights become their Bezier pieces exactly; others are followed by short lines."""
    curve = entity.construction_tool()
    if curve.degree != 3 or curve.is_rational:
        return _lines([_xy(point, scale) for point in entity.flattening(CHORD_MM / scale)])
    pieces: list[Segment] = []
    for bezier in curve.bezier_decomposition():
        start, first, second, end = (_xy(point, scale) for point in bezier)
        pieces.append(Cubic(start, first, second, end))
    return pieces


def _lines(points: Sequence[Point]) -> list[Segment]:
    return [Line(a, b) for a, b in itertools.pairwise(points) if a != b]
