"""SVG: millimetres throughout, layers as named groups, arcs as arcs, no transform on any line."""

from __future__ import annotations

from collections.abc import Sequence
from xml.sax.saxutils import escape, quoteattr

from nesting.patterns.drawing import Box, Element, Fill, Layer, Stroke, Text
from nesting.patterns.pens import PENS
from nesting.patterns.typeface import REGULAR, font_size_mm
from vectorize.shapes.affine import Affine
from vectorize.shapes.segment import Arc, Cubic, Line, Segment

_ANCHOR = {"start": "start", "middle": "middle", "end": "end"}


def svg_bytes(elements: Sequence[Element], *, box: Box, title: str) -> bytes:
    """Return an SVG of `box` at true size: `width` and `height` in mm, the viewBox in the same numbers.

    y points down in SVG: points are turned over one by one, so that no path needs a transform. A text
    that is turned carries its own `rotate`.
    """
    width, height = box[2] - box[0], box[3] - box[1]
    flip = Affine(d=-1.0, e=-box[0], f=box[3])
    body = "".join(_group(layer, [e for e in elements if e.layer is layer], flip) for layer in Layer)
    text = (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{_number(width)}mm" '
        f'height="{_number(height)}mm" viewBox="0 0 {_number(width)} {_number(height)}">\n'
        f"<title>{escape(title)}</title>\n{body}</svg>\n"
    )
    return text.encode("utf-8")


def _group(layer: Layer, elements: Sequence[Element], flip: Affine) -> str:
    if not elements:
        return ""
    pen = PENS[layer]
    dashes = f' stroke-dasharray="{" ".join(map(_number, pen.dashes_mm))}"' if pen.dashes_mm else ""
    lines = "\n".join(_element(element, flip) for element in elements)
    return (
        f'<g id="{layer.value}" fill="none" stroke="{pen.hex_colour}" stroke-width="{_number(pen.width_mm)}"'
        f' stroke-linejoin="round"{dashes}>\n{lines}\n</g>\n'
    )


def _element(element: Element, flip: Affine) -> str:
    tag = f" class={quoteattr(element.part)}" if element.part else ""
    match element:
        case Stroke():
            return f'<path{tag} d="{path_data(flip.segments(element.segments), is_closed=element.is_closed)}"/>'
        case Fill():
            data = path_data(flip.segments(element.ring.segments), is_closed=True)
            return f'<path{tag} fill="{PENS[element.layer].hex_colour}" stroke="none" d="{data}"/>'
        case Text():
            return _text(element, flip, tag)


def _text(text: Text, flip: Affine, tag: str) -> str:
    x, y = flip(text.at)
    turn = "" if text.angle_deg == 0 else f' transform="rotate({_number(-text.angle_deg)} {_number(x)} {_number(y)})"'
    weight = ' font-weight="bold"' if text.is_bold else ""
    family = f"{REGULAR}, 'DejaVu Sans Condensed', 'DejaVu Sans', Arial, sans-serif"
    return (
        f'<text{tag} x="{_number(x)}" y="{_number(y)}" font-size="{_number(font_size_mm(text.height_mm))}"'
        f' font-family="{family}"{weight} text-anchor="{_ANCHOR[text.align]}" stroke="none"'
        f' fill="{PENS[text.layer].hex_colour}"{turn}>{escape(text.text)}</text>'
    )


def path_data(segments: Sequence[Segment], *, is_closed: bool) -> str:
    """Return the `d` of a path whose pieces are given with y down already."""
    pieces = [f"M{_pair(segments[0].start)}"]
    for segment in segments:
        match segment:
            case Line(_, end):
                pieces.append(f"L{_pair(end)}")
            case Arc(_, end, bulge):
                # y is down here, so that a positive bulge sweeps the way of SVG's positive angle.
                large, sweep = int(abs(bulge) > 1.0), int(bulge > 0)
                pieces.append(f"A{_number(segment.radius)} {_number(segment.radius)} 0 {large} {sweep} {_pair(end)}")
            case Cubic(_, first, second, end):
                pieces.append(f"C{_pair(first)} {_pair(second)} {_pair(end)}")
    return " ".join(pieces) + (" Z" if is_closed else "")


def _pair(point: tuple[float, float]) -> str:
    return f"{_number(point[0])},{_number(point[1])}"


def _number(value: float) -> str:
    """To 0.00001 mm, without trailing noughts."""
    text = f"{value:.5f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
