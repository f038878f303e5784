"""Composing a drawing: pieces on a board or side by side, their marks, and the help for the saw."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from nesting.patterns.cutting import CuttingPlan, cutting_order
from nesting.patterns.drawing import (
    Drawing,
    Element,
    Fill,
    Layer,
    Recorder,
    Stroke,
    Text,
    draw_line,
    text_corners,
)
from nesting.patterns.paper_tiles import Content
from nesting.patterns.part_marks import ROUGH_MM, PartMark, Piece, draw_piece
from nesting.patterns.pattern_settings import PatternSettings
from nesting.place.layout import BoardLayout
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.basics.errors import CallError
from vectorize.shapes.affine import Affine
from vectorize.shapes.outline import Outline, Ring

SCISSORS_MM = 6.0
"""Paper left round a stick-on pattern: enough to hold, and to stick down well at the line."""
HAND_GAP_MM = 16.0
TIGHT_RING_MM = 2.0
SMALL_SHEET_MM = 100.0

Weights = Mapping[tuple[str, int], float]
Marks = Mapping[str, Sequence[PartMark]]


def board_pieces(layout: BoardLayout, parts: Sequence[Part], *, weights: Weights, marks: Marks) -> tuple[Piece, ...]:
    """Return the placed copies as pieces, numbered in the order in which they are cut.

    Raises:
        CallError: A placement of a part that is not given.
    """
    known = {part.name: part for part in parts}
    missing = sorted({p.part for p in layout.placements} - known.keys())
    if missing:
        raise CallError(f"board {layout.board} carries part {missing[0]!r}, which is not among the parts given.")
    pieces = [
        Piece(
            known[p.part],
            p.copy,
            Affine.from_pose(p.pose),
            is_mirrored=p.pose.is_flipped,
            weight_g=weights.get((p.part, p.copy)),
            marks=tuple(marks.get(p.part, ())),
        )
        for p in layout.placements
    ]
    return cutting_order(pieces)


def part_pieces(part: Part, *, weight_g: float | None, marks: tuple[PartMark, ...]) -> tuple[Piece, ...]:
    """Return the part with its lower left at the origin, and for a pair its other hand beside it."""
    x0, y0, x1, _ = part.outline.bounds
    drawn = Piece(part, 1, Affine.shift(-x0, -y0), weight_g=weight_g, marks=marks)
    if part.hand != "pair":
        return (drawn,)
    shift = Affine.shift(x1 - x0 + HAND_GAP_MM + x1, -y0)
    return drawn, Piece(part, 2, Affine(a=-1.0).then(shift), is_mirrored=True, weight_g=weight_g, marks=marks)


def small_pieces(parts: Sequence[Part], weights: Weights) -> tuple[Piece, ...]:
    """Return every copy of every part up to 100 mm, at the origin, tall ones first; second hands turned over."""
    pieces = []
    for part in parts:
        if max(part.outline.size_mm) > SMALL_SHEET_MM:
            continue
        for copy in range(1, part.copies + 1):
            is_mirrored = part.is_copy_flipped(copy) is True
            x0, y0, x1, _ = part.outline.bounds
            move = Affine(a=-1.0).then(Affine.shift(x1, -y0)) if is_mirrored else Affine.shift(-x0, -y0)
            pieces.append(Piece(part, copy, move, is_mirrored, weight_g=weights.get((part.name, copy))))
    return tuple(sorted(pieces, key=lambda piece: -piece.outline.size_mm[1]))


def in_rows(pieces: Sequence[Piece], window_mm: tuple[float, float]) -> list[list[Piece]]:
    """Return the pieces moved side by side in rows, a group for each page."""
    groups: list[list[Piece]] = []
    x = y = tall = 0.0
    room_mm = [size - 2 * SCISSORS_MM - 2.0 for size in window_mm]
    for piece in pieces:
        width, height = piece.outline.size_mm
        if x > 0 and x + width > room_mm[0]:
            x, y, tall = 0.0, y - tall - HAND_GAP_MM, 0.0
        if not groups or max(tall, height) - y > room_mm[1]:
            groups.append([])
            x = y = tall = 0.0
        groups[-1].append(replace(piece, move=piece.move.then(Affine.shift(x, y - height))))
        x, tall = x + width + HAND_GAP_MM, max(tall, height)
    return groups


def draw_pieces(
    drawing: Drawing,
    pieces: Sequence[Piece],
    board: Board | None,
    *,
    settings: PatternSettings,
    cuts: Sequence[Sequence[Outline]],
    plan: CuttingPlan | None = None,
) -> None:
    """Draw the board's edge, the help for the saw, then every piece with its `cuts` as the lines to follow."""
    room = _room_outside(pieces, board)
    if board is not None:
        _draw_board(drawing, board)
    if plan is not None:
        draw_help(drawing, plan)
        room = room.difference(unary_union([LineString(cut) for cut in plan.reliefs]).buffer(1.0))
    for piece, outlines in zip(pieces, cuts, strict=True):
        recorder = Recorder()
        draw_piece(recorder, piece, outlines, settings=settings, outside=room)
        recorder.replay(drawing)
        boxes = [text_box(element) for element in recorder.elements if isinstance(element, Text)]
        room = room.difference(unary_union(boxes).buffer(1.0)) if boxes else room


def _room_outside(pieces: Sequence[Piece], board: Board | None) -> BaseGeometry:
    """Where words may stand that find no room in their piece: the waste of the board, or round the pieces."""
    solid = unary_union([Polygon(piece.outline.exterior.flattened(ROUGH_MM)) for piece in pieces])
    area: BaseGeometry = solid.envelope.buffer(60.0) if board is None else board.shape.to_polygon(ROUGH_MM).buffer(-1.5)
    if board is not None and board.blemishes:
        area = area.difference(
            unary_union([b.outline.to_polygon(ROUGH_MM).boundary for b in board.blemishes]).buffer(1)
        )
    return area.difference(solid.buffer(1.0))


def _draw_board(drawing: Drawing, board: Board) -> None:
    for outline in (board.shape, *(blemish.outline for blemish in board.blemishes)):
        for ring in outline.rings:
            drawing.draw(Stroke(ring.segments, Layer.BOARD, is_closed=True))


def draw_help(drawing: Drawing, plan: CuttingPlan) -> None:
    """Draw dots for blade entries, relief cuts, and rings round places that are too tight for the blade."""
    for entry in plan.entries:
        if entry.drill_mm:
            drawing.draw(Fill(Ring.circle(entry.at, entry.drill_mm / 2), Layer.HELP))
    for begin, corner in plan.reliefs:
        draw_line(drawing, begin, corner, layer=Layer.HELP)
    for at in plan.tight:
        drawing.draw(Stroke(Ring.circle(at, TIGHT_RING_MM).segments, Layer.HELP, is_closed=True))


def text_box(text: Text) -> Polygon:
    """Return the area that a text covers."""
    return Polygon(text_corners(text))


def scissor_lines(pieces: Sequence[Piece]) -> list[Element]:
    """Return the dotted edge round stick-on patterns; one edge where they lie close together."""
    area = unary_union([p.outline.to_polygon(ROUGH_MM) for p in pieces]).buffer(SCISSORS_MM).simplify(0.1)
    areas = [piece for piece in getattr(area, "geoms", [area]) if isinstance(piece, Polygon)]
    return [Stroke(Ring.from_points(a.exterior.coords).segments, Layer.SCISSORS, is_closed=True) for a in areas]


def content_of(elements: Sequence[Element], pieces: Sequence[Piece]) -> Content:
    """Return what the tiles must show: pieces, words beside them, centres of round holes."""
    shapes: list[BaseGeometry] = [Polygon(p.outline.exterior.flattened(ROUGH_MM)) for p in pieces]
    # Words inside a part count too: a joint through them is worth avoiding as one through a part is.
    shapes += [text_box(element) for element in elements if isinstance(element, Text)]
    circles = [ring.as_circle() for piece in pieces for ring in piece.outline.cutouts]
    return Content(tuple(shapes), tuple(circle[0] for circle in circles if circle is not None))
