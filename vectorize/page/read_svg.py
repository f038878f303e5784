"""SVG drawings as pages: exact curves in the user units of the outermost element, y down."""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from xml.etree import ElementTree

from vectorize.basics.errors import ScanError
from vectorize.basics.notes import Note
from vectorize.basics.units import MM_PER_INCH
from vectorize.basics.wording import listed, reason_of
from vectorize.page.plan_page import NAME_THE_UNIT, Page, PageInfo, check_page_number
from vectorize.page.strokes import (
    Fill,
    bounds_of,
    chosen_layers,
    cleaned,
    ellipse_arc,
    fill_shown,
    layers_of,
    quadratic,
    refuse_far,
    shown_on_paper,
)
from vectorize.page.svg_uses import with_symbols_laid_out
from vectorize.shapes.affine import Affine
from vectorize.shapes.segment import Cubic, Line, Point, Segment
from vectorize.shapes.stroke import Stroke

# CSS Values and Units, absolute lengths: 1 in = 2.54 cm = 25.4 mm = 101.6 Q = 72 pt = 6 pc. `px` and bare
# numbers are left out on purpose: programs write them for 96, 90 or 72 to the inch.
_MM_PER_UNIT = {"mm": 1.0, "cm": 10.0, "in": MM_PER_INCH, "pt": MM_PER_INCH / 72, "pc": MM_PER_INCH / 6, "q": 0.25}
_LENGTH = re.compile(r"^\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([a-zA-Z%]*)\s*$")


@dataclass(frozen=True, slots=True)
class _Frame:
    """Extent in user units, size in mm where units are given, and the file without its viewport."""

    width: float
    height: float
    px_per_mm: tuple[float, float] | None
    source: bytes


def read(name: str, data: bytes, *, page: int, layers: tuple[str, ...] | None) -> Page:
    """Return an SVG file given as bytes as a page of strokes.

    Raises:
        ScanError: Not sound XML, nothing drawn, no such page or layer.
    """
    check_page_number(name, page, 1)
    frame, strokes = _loaded(name, data)
    strokes = chosen_layers(name, strokes, layers)
    notes = (_size_note(name, frame), _layer_note(name, strokes))
    return Page(name, 1, 1, None, strokes, frame.width, frame.height, False, frame.px_per_mm, notes)


def list_pages(name: str, data: bytes) -> tuple[PageInfo, ...]:
    """Return the one page of an SVG file.

    Raises:
        ScanError: Not sound XML, or nothing drawn.
    """
    frame, strokes = _loaded(name, data)
    size = None
    if frame.px_per_mm is not None:
        size = (frame.width / frame.px_per_mm[0], frame.height / frame.px_per_mm[1])
    return (PageInfo(1, "drawing", frame.width, frame.height, size, layers_of(strokes)),)


def _loaded(name: str, data: bytes) -> tuple[_Frame, tuple[Stroke, ...]]:
    if b"<!ENTITY" in data:
        raise ScanError(f"{name} defines XML entities, which are not read; save it as plain SVG.")
    try:
        frame = _frame(name, data)
        strokes = cleaned(shown_on_paper(_strokes(frame)))
        refuse_far(name, strokes)
    except ScanError:
        raise
    except ElementTree.ParseError as error:
        raise ScanError(f"{name} is not sound SVG{reason_of(error)}; save it again as plain SVG.") from error
    # svgelements raises whatever a malformed number or reference leads to.
    except Exception as error:
        raise ScanError(f"{name} cannot be read as SVG{reason_of(error)}; save it again as plain SVG.") from error
    if not strokes:
        raise ScanError(f"{name} holds no lines; text and pictures in an SVG are not traced.")
    if frame.width > 0 and frame.height > 0:
        return frame, strokes
    bounds = bounds_of(strokes)
    assert bounds is not None
    return _Frame(max(bounds[2], 1.0), max(bounds[3], 1.0), frame.px_per_mm, frame.source), strokes


def _frame(name: str, data: bytes) -> _Frame:
    """Take width, height and viewBox off the outermost element, so that coordinates stay in its user units."""
    root = ElementTree.fromstring(data)
    if not root.tag.endswith("svg"):
        raise ElementTree.ParseError(f"the outermost element is {root.tag!r} and not svg")
    width, unit_x = _length(root.attrib.pop("width", ""))
    height, unit_y = _length(root.attrib.pop("height", ""))
    box = [float(v) for v in re.split(r"[\s,]+", root.attrib.pop("viewBox", "").strip()) if v]
    stretches = root.attrib.pop("preserveAspectRatio", "").startswith("none")
    if len(box) == 4 and box[2] > 0 and box[3] > 0:
        extent = (box[2], box[3])
    else:
        extent = (width if unit_x != "%" else 0.0, height if unit_y != "%" else 0.0)
        # Without a viewBox a user unit is a CSS pixel, 96 to the inch, wherever width carries a real unit.
        extent = tuple(  # type: ignore[assignment]
            v * _MM_PER_UNIT.get(u, 0) * 96 / MM_PER_INCH or v for v, u in zip(extent, (unit_x, unit_y), strict=True)
        )
    stated = _stated(extent, (width, height), (unit_x, unit_y), stretches=stretches)
    with_symbols_laid_out(name, root, extent)
    return _Frame(extent[0], extent[1], stated, ElementTree.tostring(root))


def _length(text: str) -> tuple[float, str]:
    match = _LENGTH.match(text)
    return (float(match[1]), match[2].lower()) if match else (0.0, "")


def _stated(
    extent: tuple[float, float], size: tuple[float, float], units: tuple[str, str], *, stretches: bool
) -> tuple[float, float] | None:
    if any(unit not in _MM_PER_UNIT for unit in units) or min(*extent, *size) <= 0:
        return None
    x, y = (e / (s * _MM_PER_UNIT[u]) for e, s, u in zip(extent, size, units, strict=True))
    return (x, y) if stretches else (max(x, y), max(x, y))


def _size_note(name: str, frame: _Frame) -> Note:
    w, h = frame.width, frame.height
    if frame.px_per_mm is not None:
        size = f"{w / frame.px_per_mm[0]:.1f} x {h / frame.px_per_mm[1]:.1f} mm"
        return Note("units-stated", f"{name} states its units: the sheet is {size}.")
    sizes = ", ".join(f"{w * k:.0f} x {h * k:.0f} mm {how}" for how, k in _GUESSES.items())
    return Note("units-missing", f"{name} states no units of length. It would be {sizes}; {NAME_THE_UNIT}.")


_GUESSES = {
    "at 96 units to the inch": MM_PER_INCH / 96,
    "at 90": MM_PER_INCH / 90,
    "at 72": MM_PER_INCH / 72,
    "in millimetres": 1.0,
}


def _layer_note(name: str, strokes: tuple[Stroke, ...]) -> Note:
    names = listed(repr(layer) for layer in layers_of(strokes)) if strokes else "no layer"
    return Note("layers", f"{name}: {len(strokes)} strokes are read, on {names}.")


def _strokes(frame: _Frame) -> Iterator[tuple[Stroke, Fill]]:
    import svgelements

    # Percentages are of the viewport, which was taken off the outermost element; the library takes the two crosswise.
    size = {"width": frame.height, "height": frame.width} if min(frame.width, frame.height) > 0 else {}

    # Not reified: the library turns arcs wrongly when it writes a mirror or a shear into them.
    root = svgelements.SVG.parse(io.BytesIO(frame.source), reify=False, on_error="raise", **size)
    yield from _group(root, (), svgelements)


def _group(group: Any, groups: tuple[str, ...], svgelements: Any) -> Iterator[tuple[Stroke, Fill]]:
    for element in group:
        # A group's opacity is not handed down to what is in it: it acts on the whole.
        if _opacity(element) <= 0:
            continue
        if isinstance(element, (svgelements.Group, svgelements.Use)):
            yield from _group(element, (*groups, *_names(element)), svgelements)
        elif isinstance(element, svgelements.Shape):
            yield from _shape(element, groups, svgelements)


def _opacity(element: Any) -> float:
    match = _LENGTH.match(str(element.values.get("opacity", "1")))
    return float(match[1]) if match else 1.0


def _names(group: Any) -> tuple[str, ...]:
    """Return what the drawing calls a group: a label attribute of any namespace, then its id."""
    attributes = group.values.get("attributes", group.values)
    label = next((v for k, v in attributes.items() if k.endswith("}label")), None)
    return tuple(str(name) for name in (label, group.id) if name)


def _shape(shape: Any, groups: tuple[str, ...], svgelements: Any) -> Iterator[tuple[Stroke, Fill]]:
    if str(shape.values.get("visibility", "")) in ("hidden", "collapse"):
        return
    is_drawn = shape.stroke is not None and shape.stroke.value is not None and shape.stroke.alpha > 0
    fill = _fill(shape.fill)
    if not is_drawn and fill == "none":
        return
    dash = str(shape.values.get("stroke-dasharray") or "none")
    pen = float(shape.stroke_width or 0.0) if is_drawn else 0.0
    m = shape.transform
    to_page = Affine(*map(float, (m.a, m.b, m.c, m.d, m.e, m.f)))
    for segments, is_closed in _runs(svgelements.Path(shape), svgelements):
        stroke = Stroke(
            segments=to_page.segments(segments),
            is_closed=is_closed or not is_drawn,
            layer=groups[0] if groups else "",
            groups=groups,
            pen_width=pen * to_page.scale if math.isfinite(pen) else 0.0,
            is_dashed=is_drawn and dash not in ("none", "0"),
            is_filled=fill != "none" and not is_drawn,
        )
        yield stroke, fill


def _fill(colour: Any) -> Fill:
    """Return what a shape's fill shows as; what is not said is black."""
    if colour is None:
        return "ink"
    return "none" if colour.value is None else fill_shown(colour.red, colour.green, colour.blue, colour.alpha)


def _runs(path: Any, svgelements: Any) -> Iterator[tuple[tuple[Segment, ...], bool]]:
    run: list[Segment] = []
    for piece in path:
        if isinstance(piece, svgelements.Move):
            if run:
                yield tuple(run), False
            run = []
        elif isinstance(piece, svgelements.Close):
            if piece.start is not None and piece.end is not None:
                run.append(Line(_point(piece.start), _point(piece.end)))
            if run:
                yield tuple(run), True
            run = []
        else:
            run.extend(_pieces(piece, svgelements))
    if run:
        yield tuple(run), False


def _pieces(piece: Any, svgelements: Any) -> tuple[Segment, ...]:
    if isinstance(piece, svgelements.CubicBezier):
        return (Cubic(_point(piece.start), _point(piece.control1), _point(piece.control2), _point(piece.end)),)
    if isinstance(piece, svgelements.QuadraticBezier):
        return (quadratic(_point(piece.start), _point(piece.control), _point(piece.end)),)
    if isinstance(piece, svgelements.Arc):
        return _arc(piece)
    return (Line(_point(piece.start), _point(piece.end)),)


def _arc(piece: Any) -> tuple[Segment, ...]:
    centre = _point(piece.center)
    major = (float(piece.prx.x) - centre[0], float(piece.prx.y) - centre[1])
    minor = (float(piece.pry.x) - centre[0], float(piece.pry.y) - centre[1])
    if math.hypot(*major) == 0 or math.hypot(*minor) == 0:
        return (Line(_point(piece.start), _point(piece.end)),)
    return ellipse_arc(centre, major, minor, float(piece.get_start_t()), float(piece.sweep))


def _point(point: Any) -> Point:
    return (float(point.x), float(point.y))
