"""Cutting and builder's marks: what is written on a part, and the lines that go with it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from shapely.geometry import LineString, MultiPolygon, Polygon
from shapely.geometry import Point as Spot
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from nesting.patterns.drawing import Drawing, Fill, Layer, Stroke, draw_line, draw_outline
from nesting.patterns.labels import CLEAR_MM, PlacedWords, chord_along, words_beside, words_inside
from nesting.patterns.pattern_settings import PatternSettings
from nesting.wood.part import FREE_GRAIN_DEG, Part
from vectorize.basics.units import format_length, format_mass, inch_fraction
from vectorize.shapes.affine import Affine
from vectorize.shapes.outline import Outline, Ring
from vectorize.shapes.segment import Line, Point

MarkKind = Literal["datum", "balance", "centre line", "doubler", "fold"]

MARK_TEXT_MM = 2.0
FARTHEST_LABEL_MM = 6.0
"""A label farther from its line than this would be read as another's, so it is left out."""
ROUGH_MM = 0.05
"""Chord tolerance where only room for words is looked for."""


@dataclass(frozen=True, slots=True)
class PartMark:
    """A line or point for the builder, in the part's own frame.

    One point is drawn as a crossed circle (the balance mark), two or more as a line; a doubler's
    points are the closed edge of where it sits.
    """

    kind: MarkKind
    points: tuple[Point, ...]
    text: str = ""


@dataclass(frozen=True, slots=True)
class Piece:
    """One copy of a part as it is to be drawn: where, and what is written on it.

    `outline` is the part's outline where the piece lies.
    """

    part: Part
    copy: int
    move: Affine
    is_mirrored: bool = False
    number: int | None = None
    weight_g: float | None = None
    marks: tuple[PartMark, ...] = ()
    outline: Outline = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        placed = self.part.outline.mapped(self.move, mirrors=self.move.is_mirror)
        object.__setattr__(self, "outline", placed)

    @property
    def key(self) -> str:
        """Return the name by which lines of this piece are tagged."""
        return self.part.name if self.part.copies == 1 else f"{self.part.name} {self.copy}"

    @property
    def grain_deg(self) -> float:
        """Return the direction of the grain where the piece lies."""
        angle = math.radians(self.part.grain_deg)
        x, y = self.move.turned((math.cos(angle), math.sin(angle)))
        return math.degrees(math.atan2(y, x)) % 180.0


def draw_piece(
    drawing: Drawing, piece: Piece, cuts: Sequence[Outline], *, settings: PatternSettings, outside: BaseGeometry
) -> None:
    """Draw `cuts` (the lines to follow), the marks that are on, the words and the grain arrow.

    `outside` is where words may go that find no room inside.
    """
    for cut in cuts:
        draw_outline(drawing, cut, part=piece.key)
    shape = piece.outline.to_polygon(ROUGH_MM)
    lines = _draw_lines(drawing, piece, settings)
    free: BaseGeometry = shape.buffer(-CLEAR_MM)
    if lines:
        free = free.difference(unary_union(lines).buffer(CLEAR_MM))
    words = _draw_words(drawing, piece, free, shape, settings, outside)
    if "grain" in settings.marks:
        _draw_grain(drawing, piece, free if words is None else free.difference(words.box.buffer(CLEAR_MM)))


def label_choices(piece: Piece, settings: PatternSettings) -> list[list[str]]:
    """Return what could be written on a piece, most wanted first, down to the number alone."""
    part, marks = piece.part, settings.marks
    name = [part.name] if "name" in marks else []
    hand = [_hand(piece)] if "hand" in marks and _hand(piece) else []
    count = [f"{piece.copy} of {part.copies}"] if "count" in marks and part.copies > 1 else []
    stock = [f"{thickness(part.thickness_mm, settings.units)} {part.material}"] if "stock" in marks else []
    weight = [mass(piece.weight_g, settings.units)] if "weight" in marks and piece.weight_g is not None else []
    is_numbered = piece.number is not None and bool({"name", "cutting"} & marks)
    short = [str(piece.number)] if is_numbered else []
    joined = " · "
    rows = [name, count + hand, stock + weight]
    choices = [
        [joined.join(row) for row in rows if row],
        [joined.join(name + count), joined.join(hand + stock + weight)],
        [joined.join(name + count + hand)],
        name,
        short,
    ]
    if is_numbered and name:
        choices = [[f"{piece.number}  {lines[0]}", *lines[1:]] if lines else [] for lines in choices[:4]] + [short]
    cleaned = [[line for line in lines if line] for lines in choices]
    return [lines for i, lines in enumerate(cleaned) if lines and lines not in cleaned[:i]]


def mass(mass_g: float, units: str) -> str:
    """Return a mass in the preferred system alone: `1.9 g`, or `0.07 oz` where units are inches."""
    return format_mass(mass_g, units=units).split(" (")[0]


def thickness(thickness_mm: float, units: str) -> str:
    """Return a thickness as it is sold: `3/32 in` where units are inches and it is one, else `2.5 mm`."""
    fraction = inch_fraction(thickness_mm)
    return f"{fraction} in" if units == "in" and fraction else f"{thickness_mm:g} mm"


def _hand(piece: Piece) -> str:
    match piece.part.hand:
        case "pair":
            return "turned over" if piece.is_mirrored else "as drawn"
        case "left" | "right":
            return piece.part.hand
        case _:
            return ""


def _draw_words(
    drawing: Drawing,
    piece: Piece,
    free: BaseGeometry,
    shape: Polygon,
    settings: PatternSettings,
    outside: BaseGeometry,
) -> PlacedWords | None:
    choices = label_choices(piece, settings)
    if not choices:
        return None
    words = words_inside(_widest(free), choices, part=piece.key)
    if words is None:
        words = words_beside(outside, shape, choices[-1], part=piece.key)
        if words is None:
            return None
        _draw_leader(drawing, words, shape, piece.key)
    for text in words.texts:
        drawing.draw(text)
    return words


def _draw_leader(drawing: Drawing, words: PlacedWords, shape: Polygon, part: str) -> None:
    inside = shape.representative_point()
    begin = words.box.exterior.interpolate(words.box.exterior.project(inside))
    draw_line(drawing, (begin.x, begin.y), (inside.x, inside.y), layer=Layer.WORDS, part=part)
    drawing.draw(Fill(Ring.circle((inside.x, inside.y), 0.4), Layer.WORDS, part))


def _widest(free: BaseGeometry) -> BaseGeometry:
    if isinstance(free, MultiPolygon):
        return max(free.geoms, key=lambda piece: piece.area)
    return free


def _draw_grain(drawing: Drawing, piece: Piece, free: BaseGeometry) -> None:
    """An arrow with a head at each end: the grain has no sense of direction."""
    if piece.part.grain_tolerance_deg >= FREE_GRAIN_DEG:
        return
    ends = chord_along(free, piece.grain_deg)
    if ends is None:
        return
    draw_line(drawing, *ends, layer=Layer.GRAIN, part=piece.key)
    for tip, tail in (ends, ends[::-1]):
        drawing.draw(Fill(arrow_head(tip, tail), Layer.GRAIN, piece.key))


def arrow_head(tip: Point, tail: Point, *, length_mm: float = 2.5) -> Ring:
    """Return a slim triangle with its point at `tip`, looking away from `tail`."""
    size = math.dist(tip, tail)
    ux, uy = (tip[0] - tail[0]) / size, (tip[1] - tail[1]) / size
    base = (tip[0] - length_mm * ux, tip[1] - length_mm * uy)
    half = 0.22 * length_mm
    return Ring.from_points(
        [tip, (base[0] - half * uy, base[1] + half * ux), (base[0] + half * uy, base[1] - half * ux)]
    )


def _draw_lines(drawing: Drawing, piece: Piece, settings: PatternSettings) -> list[BaseGeometry]:
    """Draw the builder's lines and the crosses of holes, then their words; return what other words keep away from."""
    shape = piece.outline.to_polygon(ROUGH_MM)
    wanted = [mark for mark in piece.marks if mark.kind in settings.marks]
    labels = [(mark.text or mark.kind, _draw_mark(drawing, piece, mark)) for mark in wanted]
    if "holes" in settings.marks:
        for ring in piece.outline.cutouts:
            labels.extend(_draw_hole(drawing, ring, piece, settings))
    taken = [line for _, line in labels]
    for text, line in labels:
        room = shape.buffer(-CLEAR_MM).difference(unary_union(taken).buffer(CLEAR_MM))
        words = words_beside(room, line, [text], part=piece.key, height_mm=MARK_TEXT_MM)
        if words is not None and words.box.distance(line) <= FARTHEST_LABEL_MM:
            for label in words.texts:
                drawing.draw(replace(label, is_bold=False))
            taken.append(words.box)
    return taken


def _draw_mark(drawing: Drawing, piece: Piece, mark: PartMark) -> BaseGeometry:
    """Draw a line, the closed edge of a doubler, or a crossed circle for a single point; return where."""
    points = tuple(piece.move(point) for point in mark.points)
    if len(points) == 1:
        return _draw_spot(drawing, points[0], piece.key)
    is_closed = mark.kind == "doubler" and len(points) > 2
    chain = (*points, points[0]) if is_closed else points
    draw_line(drawing, *chain, layer=Layer.MARK, part=piece.key)
    return LineString(chain)


def _draw_spot(drawing: Drawing, at: Point, part: str) -> BaseGeometry:
    _draw_cross(drawing, at, 4.0, part)
    drawing.draw(Stroke(Ring.circle(at, 2.0).segments, Layer.GRAIN, part, is_closed=True))
    return Spot(at).buffer(4.0)


def _draw_cross(drawing: Drawing, at: Point, reach_mm: float, part: str) -> None:
    x, y = at
    for ends in (((x - reach_mm, y), (x + reach_mm, y)), ((x, y - reach_mm), (x, y + reach_mm))):
        drawing.draw(Stroke((Line(*ends),), Layer.GRAIN, part))


def _draw_hole(drawing: Drawing, ring: Ring, piece: Piece, settings: PatternSettings) -> list[tuple[str, BaseGeometry]]:
    """A cross at the centre of a round hole; its diameter is to be written beside it."""
    circle = ring.as_circle()
    if circle is None:
        return []
    centre, radius = circle
    _draw_cross(drawing, centre, min(radius * 0.6, 5.0), piece.key)
    size = format_length(2 * radius, units=settings.units).split(" (")[0]
    return [(f"Ø {size}", Polygon(ring.flattened(ROUGH_MM)))]
