"""DXF: closed polylines with true arcs, millimetres, a layer for each purpose."""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

import ezdxf
from ezdxf.colors import rgb2int
from ezdxf.document import Drawing as Document
from ezdxf.enums import TextEntityAlignment
from ezdxf.filemanagement import new as new_document
from ezdxf.layouts.layout import Modelspace

from nesting.patterns.drawing import Box, Element, Fill, Layer, Stroke, Text
from nesting.patterns.pattern_settings import DxfVersion
from nesting.patterns.pens import PENS
from vectorize.basics.units import IN_MILLIMETRES
from vectorize.shapes.segment import Arc, Point, Segment

SPLINE_CHORD_MM = 0.002
"""Splines become straight pieces that stay within this: far below any kerf, small enough for the areas."""

_PAGE_ONLY = (Layer.PAGE, Layer.JOIN, Layer.SCISSORS, Layer.HELP, Layer.PROOF)
_ALIGN = {
    "start": TextEntityAlignment.LEFT,
    "middle": TextEntityAlignment.CENTER,
    "end": TextEntityAlignment.RIGHT,
}


def layer_name(layer: Layer) -> str:
    """Return the layer's name in a form that R12 allows too."""
    return layer.value.upper().replace("-", "_")


def dxf_bytes(elements: Sequence[Element], *, box: Box, version: DxfVersion = "R2010") -> bytes:
    """Return a DXF of the elements, y up, in millimetres, the same bytes for the same elements.

    Lines and arcs are exact; cubics are flattened within 0.002 mm. Files of R2000 and later carry the unit in
    the header; as R12 has no place for it, the overall size with its unit is written beside the drawing
    in every version. What only concerns paper (scissor lines, joints) is left out.
    """
    with _fixed_metadata():
        document = _new_document(version)
        space = document.modelspace()
        for element in elements:
            if element.layer not in _PAGE_ONLY:
                _add(space, element, is_r12=version == "R12")
        _add_size(space, box)
        return _encoded(document)


@contextmanager
def _fixed_metadata() -> Iterator[None]:
    """Keep clock and random numbers out of the file; ezdxf has one switch for both."""
    options = ezdxf.options  # type: ignore[attr-defined]  # ezdxf lists no exports
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def _new_document(version: DxfVersion) -> Document:
    document = new_document(version, units=4)
    document.header["$INSUNITS"] = 4
    document.header["$MEASUREMENT"] = 1
    for layer in Layer:
        if layer in _PAGE_ONLY:
            continue
        entry = document.layers.add(layer_name(layer), color=7)
        if version != "R12":
            entry.dxf.true_color = rgb2int(PENS[layer].rgb_bytes)
            entry.dxf.lineweight = round(100 * PENS[layer].width_mm)
    document.styles.add("WORDS", font="DejaVuSansCondensed.ttf")
    return document


def _add(space: Modelspace, element: Element, *, is_r12: bool) -> None:
    attributes = {"layer": layer_name(element.layer)}
    match element:
        case Stroke(segments, is_closed=is_closed):
            _polyline(space, segments, attributes, is_closed=is_closed, is_r12=is_r12)
        case Fill(ring):
            _polyline(space, ring.segments, attributes, is_closed=True, is_r12=is_r12)
        case Text():
            _text(space, element, attributes)


def _polyline(
    space: Modelspace, segments: Sequence[Segment], attributes: dict[str, str], *, is_closed: bool, is_r12: bool
) -> None:
    vertices = [(x, y, 0.0, 0.0, bulge) for (x, y), bulge in bulge_vertices(segments, is_closed=is_closed)]
    add = space.add_polyline2d if is_r12 else space.add_lwpolyline
    add(vertices, format="xyseb", close=is_closed, dxfattribs=attributes)


def bulge_vertices(segments: Sequence[Segment], *, is_closed: bool) -> list[tuple[Point, float]]:
    """Return (vertex, bulge to the next vertex); a closed chain's last bulge belongs to the closing piece."""
    vertices: list[tuple[Point, float]] = []
    for segment in segments:
        if isinstance(segment, Arc):
            vertices.append((segment.start, segment.bulge))
        else:
            vertices.extend((point, 0.0) for point in segment.flattened(SPLINE_CHORD_MM))
    if not is_closed:
        vertices.append((segments[-1].end, 0.0))
    return vertices


def _text(space: Modelspace, text: Text, attributes: dict[str, str]) -> None:
    entity = space.add_text(
        text.text, height=text.height_mm, rotation=text.angle_deg, dxfattribs={**attributes, "style": "WORDS"}
    )
    entity.set_placement(text.at, align=_ALIGN[text.align])


def _add_size(space: Modelspace, box: Box) -> None:
    width, height = box[2] - box[0], box[3] - box[1]
    words = f"{IN_MILLIMETRES}, overall {width:.2f} x {height:.2f} mm"
    _text(space, Text(words, (box[0], box[1] - 8.0), 3.0, align="start"), {"layer": layer_name(Layer.SIZE)})


def _encoded(document: Document) -> bytes:
    # Writing adds the classes in use in the order of a set, another in each process; named before, they keep theirs.
    for name in sorted(document.entitydb.dxf_types_in_use()):
        document.classes.add_class(name)
    stream = io.StringIO()
    document.write(stream)
    # R12 and R2000 are written in the code page of the header; ezdxf's own handler turns what it
    # lacks into \U+xxxx, which readers of DXF know.
    return stream.getvalue().encode(document.output_encoding, errors="dxfreplace")
