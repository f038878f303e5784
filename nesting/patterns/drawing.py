"""The drawing protocol: what is drawn, on which layer, once for every format.

A drawing takes strokes, fills and texts in millimetres, y up. `Recorder` keeps them: it is what the
writers are fed with, and the double that tests look into.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, field, replace
from enum import Enum
from typing import Literal, Protocol, TypeAlias

from nesting.patterns.typeface import DESCENT_SHARE, font_size_mm, text_width_mm
from vectorize.shapes.affine import Affine
from vectorize.shapes.outline import FINE_MM, Outline, Ring
from vectorize.shapes.segment import Line, Point, Segment, extreme_points

Align = Literal["start", "middle", "end"]
Box: TypeAlias = tuple[float, float, float, float]
"""x least, y least, x greatest, y greatest."""


class Layer(Enum):
    """What a line is for. The value names the group in SVG and, in capitals, the layer in DXF."""

    OUTLINE = "outline-cut"
    OPENING = "opening-cut"
    DRILL = "drill-hole"
    MARK = "build-mark"
    GUIDE = "carving-guide"
    GRAIN = "grain-arrow"
    HELP = "saw-help"
    WORDS = "words"
    BOARD = "board-edge"
    SCISSORS = "scissor-line"
    SIZE = "overall-size"
    PROOF = "proof"
    JOIN = "page-join"
    PAGE = "page"

    @property
    def is_cut(self) -> bool:
        """Return whether wood is cut or drilled along this layer."""
        return self in (Layer.OUTLINE, Layer.OPENING, Layer.DRILL)


@dataclass(frozen=True, slots=True)
class Stroke:
    """A chain of pieces drawn as a line; `part` names what it belongs to, such as `gusset 2`."""

    segments: tuple[Segment, ...]
    layer: Layer
    part: str = ""
    is_closed: bool = False


@dataclass(frozen=True, slots=True)
class Fill:
    """A small solid area: an arrow head, a bar, a quadrant of a joining mark."""

    ring: Ring
    layer: Layer
    part: str = ""


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text. `at` is on the base line, `height_mm` the height of a capital."""

    text: str
    at: Point
    height_mm: float
    angle_deg: float = 0.0
    align: Align = "middle"
    is_bold: bool = False
    layer: Layer = Layer.WORDS
    part: str = ""


Element: TypeAlias = Stroke | Fill | Text


class Drawing(Protocol):
    """Anything that can be drawn on."""

    def draw(self, element: Element) -> None:
        """Take one element."""


_OTHER_END: dict[Align, Align] = {"start": "end", "end": "start", "middle": "middle"}


def moved_element(element: Element, move: Affine) -> Element:
    """Return an element under a map; a text keeps its size and stays readable, moved and turned."""
    match element:
        case Stroke():
            return Stroke(move.segments(element.segments), element.layer, element.part, element.is_closed)
        case Fill():
            return Fill(Ring(move.segments(element.ring.segments)), element.layer, element.part)
        case Text():
            return _moved_text(element, move)


def _moved_text(text: Text, move: Affine) -> Text:
    angle = math.radians(text.angle_deg)
    along = move.turned((math.cos(angle), math.sin(angle)))
    above = move.turned((-math.sin(angle) * text.height_mm, math.cos(angle) * text.height_mm))
    at = move(text.at)
    align = text.align
    if move.is_mirror:
        # Turned over, the line would run backwards: begin at its other end, in the same place.
        along, align = (-along[0], -along[1]), _OTHER_END[align]
    angle_deg = math.degrees(math.atan2(along[1], along[0]))
    if not -90.5 < angle_deg <= 90.5:
        # Upside down: turn it round within its own box.
        at, align = (at[0] + above[0], at[1] + above[1]), _OTHER_END[align]
        angle_deg += 180.0 if angle_deg < 0 else -180.0
    return replace(text, at=at, angle_deg=angle_deg, align=align)


IDENTITY = Affine()


class Scaled:
    """A drawing on another drawing, `scale` times as large with its origin at (x, y); letters change their size too."""

    def __init__(self, target: Drawing, scale: float, x_mm: float, y_mm: float) -> None:
        self.target, self.scale, self.move = target, scale, Affine(scale, 0, 0, scale, x_mm, y_mm)

    def draw(self, element: Element) -> None:
        """Take one element."""
        moved = moved_element(element, self.move)
        self.target.draw(replace(moved, height_mm=moved.height_mm * self.scale) if isinstance(moved, Text) else moved)


@dataclass(slots=True)
class Recorder:
    """A drawing that remembers: `elements` in the order in which they came."""

    elements: list[Element] = field(default_factory=list)

    def draw(self, element: Element) -> None:
        """Take one element."""
        self.elements.append(element)

    def replay(self, drawing: Drawing, move: Affine | None = None) -> None:
        """Draw everything again on `drawing`, moved by `move`."""
        for element in self.elements:
            drawing.draw(element if move is None else moved_element(element, move))

    def on(self, *layers: Layer) -> list[Element]:
        """Return the elements of the given layers."""
        return [element for element in self.elements if element.layer in layers]

    @property
    def texts(self) -> list[str]:
        """Return every text, in order."""
        return [element.text for element in self.elements if isinstance(element, Text)]

    def bounds(self, *layers: Layer) -> Box:
        """Return the box round the elements of `layers` (all if none are given)."""
        points = [p for element in (self.on(*layers) if layers else self.elements) for p in element_points(element)]
        xs, ys = zip(*points, strict=True)
        return min(xs), min(ys), max(xs), max(ys)


def text_corners(text: Text) -> tuple[Point, Point, Point, Point]:
    """Return the four corners of the box that the text covers, descenders and accents included."""
    width = text_width_mm(text.text, text.height_mm, is_bold=text.is_bold)
    begin = {"start": 0.0, "middle": -width / 2, "end": -width}[text.align]
    low, high = -DESCENT_SHARE * font_size_mm(text.height_mm), 1.3 * text.height_mm
    cos, sin = math.cos(math.radians(text.angle_deg)), math.sin(math.radians(text.angle_deg))

    def corner(x: float, y: float) -> Point:
        return (text.at[0] + cos * x - sin * y, text.at[1] + sin * x + cos * y)

    return corner(begin, low), corner(begin + width, low), corner(begin + width, high), corner(begin, high)


def element_points(element: Element) -> list[Point]:
    """Return points whose bounding box is that of the element."""
    match element:
        case Stroke(segments):
            return [p for segment in segments for p in extreme_points(segment, FINE_MM)]
        case Fill(ring):
            return [p for segment in ring.segments for p in extreme_points(segment, FINE_MM)]
        case Text():
            return list(text_corners(element))


def draw_outline(drawing: Drawing, outline: Outline, *, part: str = "") -> None:
    """Draw the exterior, then each cut-out: round ones to be drilled on their own layer."""
    drawing.draw(Stroke(outline.exterior.segments, Layer.OUTLINE, part, is_closed=True))
    for ring in outline.cutouts:
        drawing.draw(Stroke(ring.segments, cutout_layer(ring), part, is_closed=True))


BORDER_MM = 8.0
"""Room round a drawing that is no page of paper, as in SVG and in previews."""
LARGEST_DRILL_MM = 12.0
"""Round holes up to this are drilled, larger ones sawn (common practice, no source)."""


def cutout_layer(ring: Ring) -> Layer:
    """Return whether a cut-out is drilled or sawn."""
    circle = ring.as_circle()
    is_drilled = circle is not None and 2 * circle[1] <= LARGEST_DRILL_MM + 1e-6
    return Layer.DRILL if is_drilled else Layer.OPENING


def draw_line(drawing: Drawing, *points: Point, layer: Layer, part: str = "") -> None:
    """Draw the open chain of straight lines through `points`."""
    lines = tuple(Line(a, b) for a, b in itertools.pairwise(points))
    drawing.draw(Stroke(lines, layer, part))


def draw_box(drawing: Drawing, box: Box, *, layer: Layer) -> None:
    """Draw the four sides of a box."""
    drawing.draw(Stroke(Ring.rectangle(*box).segments, layer, is_closed=True))


def draw_lozenge(drawing: Drawing, x: float, y: float, *, size_mm: float = 1.2) -> None:
    """Draw a lozenge centred on (x, y)."""
    ring = Ring.from_points([(x, y - size_mm), (x + size_mm, y), (x, y + size_mm), (x - size_mm, y)])
    drawing.draw(Fill(ring, Layer.WORDS))
