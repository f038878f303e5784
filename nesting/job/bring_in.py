"""Bring in: outlines from an SVG or DXF, one of ours or one made elsewhere, with true arcs and splines.

Drawings are read as plans are. Units are obeyed where the file states them and asked for where it does not.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from nesting.patterns.chains import BroughtIn, outlines_from_chains
from nesting.patterns.drawing import Layer
from nesting.patterns.write_dxf import layer_name
from vectorize.basics.errors import InputError
from vectorize.basics.units import MM_PER_INCH
from vectorize.page import Page, read_drawing
from vectorize.page.strokes import bounds_of
from vectorize.shapes.affine import Affine
from vectorize.shapes.outline import check_outline
from vectorize.shapes.segment import Segment
from vectorize.shapes.stroke import Stroke

SMALLEST_MM, LARGEST_MM = 2.0, 3000.0
"""Parts that are smaller or larger than this overall are in another unit than was stated."""

_UNITS = (
    (1.0, "1 mm"),
    (MM_PER_INCH, "1 in"),
    (MM_PER_INCH / 96, "1/96 in"),
    (MM_PER_INCH / 90, "1/90 in"),
    (MM_PER_INCH / 72, "1/72 in"),
)
"""What programs mean by a unit, and how `--unit` is told so."""


def bring_in(data: bytes, *, name: str, unit_mm: float | None = None) -> BroughtIn:
    """Return the outlines in an SVG or DXF, in millimetres, y up; every one is a simple shape.

    Of a file that we wrote, the cut lines are taken; of another, every visible shape. Texts, hatches,
    dimensions and hidden layers are left out.

    Args:
        data: The file's bytes.
        name: Its name, for messages.
        unit_mm: Millimetres per unit of the drawing; overrides what the file states.

    Raises:
        InputError: Not an SVG or DXF, no unit stated nor given or one that makes parts of no size that parts have,
            no closed shape in it, or one that crosses itself.
    """
    page = read_drawing(name, data)
    strokes = _of_ours(page.strokes) or page.strokes
    to_mm = _to_mm(page, strokes, unit_mm)
    found = outlines_from_chains(_chains(strokes, to_mm))
    if not found.outlines:
        why = f" ({found.notes[0].text})" if found.notes else ""
        raise InputError(f"{name} holds no closed shape{why}; draw each edge as a closed line.")
    _refuse_size(found, name)
    for outline in found.outlines:
        check_outline(outline, what=f"a shape in {name}")
    return found


def _of_ours(strokes: Sequence[Stroke]) -> list[Stroke]:
    """Return the strokes on the cut layers of our own files, whatever groups a drawing program has put round them."""
    own = {name for layer in Layer if layer.is_cut for name in (layer.value, layer_name(layer))}
    return [stroke for stroke in strokes if own & {stroke.layer, *stroke.groups}]


def _to_mm(page: Page, strokes: Sequence[Stroke], unit_mm: float | None) -> Affine:
    """Return the map from the page's units to millimetres, y up."""
    if unit_mm is not None:
        across = up = unit_mm
    elif page.stated_px_per_mm is not None:
        across, up = (1.0 / per_mm for per_mm in page.stated_px_per_mm)
    else:
        raise InputError(_question(page, strokes))
    return Affine(a=across, d=up if page.is_y_up else -up)


def _question(page: Page, strokes: Sequence[Stroke]) -> str:
    x0, y0, x1, y1 = bounds_of(strokes) or (0.0, 0.0, 0.0, 0.0)
    sizes = ", ".join(f"{(x1 - x0) * mm:.1f} × {(y1 - y0) * mm:.1f} mm with --unit '{unit}'" for mm, unit in _UNITS)
    is_absurd = any(note.code == "units-not-credible" for note in page.notes)
    fault = "states a unit that makes it no plan" if is_absurd else "does not state its size in a unit of length"
    return f"{page.name} {fault}; it would be {sizes}. Say which."


def _chains(strokes: Sequence[Stroke], to_mm: Affine) -> Iterator[tuple[Segment, ...]]:
    for stroke in strokes:
        yield to_mm.segments(stroke.segments)


def _refuse_size(found: BroughtIn, name: str) -> None:
    x0, y0, x1, y1 = zip(*(outline.bounds for outline in found.outlines), strict=True)
    width, height = max(x1) - min(x0), max(y1) - min(y0)
    if not SMALLEST_MM <= max(width, height) <= LARGEST_MM:
        raise InputError(
            f"{name} is {width:.4g} × {height:.4g} mm overall, which no parts are; give its true unit, such as "
            "--unit '1 mm' or --unit '1 in'."
        )
