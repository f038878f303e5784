"""Walk the objects of a PDF page through pdfium: paths become strokes, pictures are noticed."""

from __future__ import annotations

import ctypes
from collections.abc import Callable, Container, Iterator
from functools import partial
from typing import Any

import pypdfium2.raw as pdfium

from vectorize.page.strokes import Fill, fill_shown, joined_arcs, recognised, shown_on_paper
from vectorize.shapes.affine import Affine
from vectorize.shapes.segment import Cubic, Line, Point, Segment
from vectorize.shapes.stroke import Stroke


def strokes_of(leaf: Any, to_pixels: Affine, *, hidden: Container[str] = ()) -> tuple[Stroke, ...]:
    """Return every drawn or filled path of a pdfium page that shows, mapped by `to_pixels`.

    Text is left out, and what lies on the `hidden` layers.
    """
    painted = _painted(leaf, to_pixels)
    return shown_on_paper((stroke, fill) for stroke, fill in painted if stroke.layer not in hidden)


def _painted(leaf: Any, to_pixels: Affine) -> Iterator[tuple[Stroke, Fill]]:
    for item, to_page in _objects(leaf):
        if pdfium.FPDFPageObj_GetType(item) == pdfium.FPDF_PAGEOBJ_PATH:
            yield from _path(item, _matrix(item).then(to_page.then(to_pixels)))


def has_pictures(leaf: Any) -> bool:
    """Return whether a pdfium page holds a picture."""
    return any(pdfium.FPDFPageObj_GetType(item) == pdfium.FPDF_PAGEOBJ_IMAGE for item, _ in _objects(leaf))


def _objects(leaf: Any) -> Iterator[tuple[Any, Affine]]:
    for index in range(pdfium.FPDFPage_CountObjects(leaf)):
        yield from _inside(pdfium.FPDFPage_GetObject(leaf, index), Affine())


def _inside(item: Any, to_page: Affine) -> Iterator[tuple[Any, Affine]]:
    if pdfium.FPDFPageObj_GetType(item) != pdfium.FPDF_PAGEOBJ_FORM:
        yield item, to_page
        return
    inner = _matrix(item).then(to_page)
    for index in range(pdfium.FPDFFormObj_CountObjects(item)):
        yield from _inside(pdfium.FPDFFormObj_GetObject(item, index), inner)


def _matrix(item: Any) -> Affine:
    matrix = pdfium.FS_MATRIX()
    if not pdfium.FPDFPageObj_GetMatrix(item, matrix):
        return Affine()
    return Affine(matrix.a, matrix.b, matrix.c, matrix.d, matrix.e, matrix.f)


def _path(item: Any, to_pixels: Affine) -> Iterator[tuple[Stroke, Fill]]:
    mode, draws = ctypes.c_int(), ctypes.c_int()
    pdfium.FPDFPath_GetDrawMode(item, mode, draws)
    is_drawn = bool(draws.value) and _alpha(item, pdfium.FPDFPageObj_GetStrokeColor) > 0
    fill: Fill = "none" if mode.value == pdfium.FPDF_FILLMODE_NONE else _fill(item)
    if not is_drawn and fill == "none":
        return
    width = ctypes.c_float()
    pdfium.FPDFPageObj_GetStrokeWidth(item, width)
    for segments, is_closed in _runs(item):
        stroke = Stroke(
            segments=joined_arcs([recognised(piece) for piece in to_pixels.segments(segments)]),
            is_closed=is_closed or not is_drawn,
            layer=_layer(item),
            pen_width=width.value * to_pixels.scale if is_drawn else 0.0,
            is_dashed=is_drawn and pdfium.FPDFPageObj_GetDashCount(item) > 0,
            is_filled=fill != "none" and not is_drawn,
        )
        yield stroke, fill


def _fill(item: Any) -> Fill:
    red, green, blue, alpha = (ctypes.c_uint() for _ in range(4))
    if not pdfium.FPDFPageObj_GetFillColor(item, red, green, blue, alpha):
        return "ink"
    return fill_shown(red.value, green.value, blue.value, alpha.value)


def _alpha(item: Any, get: Callable[..., Any]) -> int:
    red, green, blue, alpha = (ctypes.c_uint() for _ in range(4))
    return int(alpha.value) if get(item, red, green, blue, alpha) else 255


def _runs(item: Any) -> Iterator[tuple[list[Segment], bool]]:
    run: list[Segment] = []
    start: Point = (0.0, 0.0)
    at: Point = start
    controls: list[Point] = []
    for index in range(pdfium.FPDFPath_CountSegments(item)):
        piece = pdfium.FPDFPath_GetPathSegment(item, index)
        point = _point(piece)
        match pdfium.FPDFPathSegment_GetType(piece):
            case pdfium.FPDF_SEGMENT_MOVETO:
                if run:
                    yield run, False
                run, start, at = [], point, point
            case pdfium.FPDF_SEGMENT_LINETO:
                run.append(Line(at, point))
                at = point
            case pdfium.FPDF_SEGMENT_BEZIERTO:
                controls.append(point)
                if len(controls) == 3:
                    run.append(Cubic(at, controls[0], controls[1], point))
                    at, controls = point, []
        if pdfium.FPDFPathSegment_GetClose(piece) and run:
            if at != start:
                run.append(Line(at, start))
            yield run, True
            run, at = [], start
    if run:
        yield run, False


def _point(piece: Any) -> Point:
    x, y = ctypes.c_float(), ctypes.c_float()
    pdfium.FPDFPathSegment_GetPoint(piece, x, y)
    return float(x.value), float(y.value)


def _layer(item: Any) -> str:
    """Return the name of the optional-content group that the object is marked with, or nothing."""
    for index in range(pdfium.FPDFPageObj_CountMarks(item)):
        mark = pdfium.FPDFPageObj_GetMark(item, index)
        if _text(partial(pdfium.FPDFPageObjMark_GetName, mark)) == "OC":
            return _text(partial(pdfium.FPDFPageObjMark_GetParamStringValue, mark, b"Name"))
    return ""


def _text(get: Callable[..., Any]) -> str:
    """Call one of pdfium's string getters twice: for the length in bytes, then for the UTF-16 text."""
    length = ctypes.c_ulong()
    get(None, 0, length)
    if length.value < 2:
        return ""
    room = (ctypes.c_ushort * (length.value // 2))()
    get(room, length.value, length)
    return bytes(room).decode("utf-16-le", errors="replace").rstrip("\0")
