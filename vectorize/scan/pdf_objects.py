"""Walk the objects of a PDF page through pdfium: paths become strokes, pictures are noticed."""

from __future__ import annotations

import ctypes
from collections.abc import Callable, Iterator
from functools import partial
from typing import Any

import pypdfium2.raw as pdfium

from vectorize.curve import Cubic, Line, Point, Segment
from vectorize.scan.page import Stroke
from vectorize.scan.strokes import Affine, joined_arcs, recognised

_NEARLY_WHITE = 245
"""A fill paler than this in every channel hides what is below it and is no shape."""


def strokes_of(leaf: Any, to_pixels: Affine) -> Iterator[Stroke]:
    """Yield every drawn or filled path of a pdfium page, mapped by `to_pixels`; text is left out."""
    for item, to_page in _objects(leaf):
        if pdfium.FPDFPageObj_GetType(item) == pdfium.FPDF_PAGEOBJ_PATH:
            yield from _path(item, to_pixels.after(to_page).after(_matrix(item)))


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
    inner = to_page.after(_matrix(item))
    for index in range(pdfium.FPDFFormObj_CountObjects(item)):
        yield from _inside(pdfium.FPDFFormObj_GetObject(item, index), inner)


def _matrix(item: Any) -> Affine:
    matrix = pdfium.FS_MATRIX()
    if not pdfium.FPDFPageObj_GetMatrix(item, matrix):
        return Affine()
    return Affine(matrix.a, matrix.b, matrix.c, matrix.d, matrix.e, matrix.f)


def _path(item: Any, to_pixels: Affine) -> Iterator[Stroke]:
    fill, draws = ctypes.c_int(), ctypes.c_int()
    pdfium.FPDFPath_GetDrawMode(item, fill, draws)
    is_drawn, is_filled = bool(draws.value), fill.value != pdfium.FPDF_FILLMODE_NONE
    if not is_drawn and (not is_filled or _is_white(item)):
        return
    width = ctypes.c_float()
    pdfium.FPDFPageObj_GetStrokeWidth(item, width)
    for segments, is_closed in _runs(item):
        yield Stroke(
            segments=joined_arcs([recognised(piece) for s in segments for piece in to_pixels.carried(s)]),
            is_closed=is_closed or not is_drawn,
            layer=_layer(item),
            pen_width=width.value * to_pixels.scale if is_drawn else 0.0,
            is_dashed=is_drawn and pdfium.FPDFPageObj_GetDashCount(item) > 0,
            is_filled=is_filled and not is_drawn,
        )


def _is_white(item: Any) -> bool:
    red, green, blue, alpha = (ctypes.c_uint() for _ in range(4))
    if not pdfium.FPDFPageObj_GetFillColor(item, red, green, blue, alpha):
        return False
    return alpha.value == 0 or min(red.value, green.value, blue.value) >= _NEARLY_WHITE


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
