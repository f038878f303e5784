"""The patterns of a board and of a part, as files in memory."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from nesting.board import Board
from nesting.part import Part
from nesting.patterns.drawing import Affine, Box, Element, Layer, Recorder, Stroke, Text
from nesting.patterns.marks import ROUGH_MM, PartMark, Piece, draw_piece
from nesting.patterns.settings import Format, PatternSettings
from nesting.patterns.tiles import Content
from nesting.place.layout import BoardLayout
from vectorize.errors import CallError
from vectorize.outline import Outline, Ring

SCISSORS_MM = 6.0
"""Paper left round a stick-on pattern: enough to hold, and to stick down well at the line."""
HAND_GAP_MM = 16.0
BORDER_MM = 8.0

Weights = Mapping[tuple[str, int], float]
Marks = Mapping[str, Sequence[PartMark]]


def board_pattern(
    board: Board,
    layout: BoardLayout,
    parts: Sequence[Part],
    *,
    settings: PatternSettings,
    weights: Weights | None = None,
    marks: Marks | None = None,
    formats: Sequence[Format] = ("pdf", "svg", "dxf", "png"),
) -> dict[str, bytes]:
    """Return the files of a board's layout by name, such as `board-B2.pdf`.

    Args:
        board: The board, in whose frame the layout is given.
        layout: Where each copy lies.
        parts: At least the parts that are placed.
        settings: Paper, tool, marks.
        weights: Mass in grams of each (part, copy), written on the piece.
        marks: Builder's lines of each part, in the part's own frame.
        formats: Which files to make.

    Raises:
        CallError: A placement of a part that is not given, or an unknown format.
        InputError: More pages than the settings allow.
    """
    pieces = board_pieces(layout, parts, weights=weights or {}, marks=marks or {})
    return _files(pieces, board, f"board-{file_stem(board.name)}", f"board {board.name}", settings, formats)


def part_pattern(
    part: Part,
    *,
    settings: PatternSettings,
    weight_g: float | None = None,
    marks: Sequence[PartMark] = (),
    formats: Sequence[Format] = ("pdf", "svg", "dxf", "png"),
) -> dict[str, bytes]:
    """Return the files of one part by name, such as `part-fuselage.pdf`; a pair is drawn with both hands.

    Raises:
        CallError: An unknown format.
        InputError: More pages than the settings allow.
    """
    pieces = part_pieces(part, weight_g=weight_g, marks=tuple(marks))
    return _files(pieces, None, f"part-{file_stem(part.name)}", part.name, settings, formats)


def board_pieces(layout: BoardLayout, parts: Sequence[Part], *, weights: Weights, marks: Marks) -> tuple[Piece, ...]:
    """Return the placed copies as pieces, numbered from the left end of the board.

    Raises:
        CallError: A placement of a part that is not given.
    """
    known = {part.name: part for part in parts}
    missing = sorted({p.part for p in layout.placements} - known.keys())
    if missing:
        raise CallError(f"board {layout.board} carries part {missing[0]!r}, which is not among the parts given.")

    def left_end(index: int) -> tuple[float, float]:
        placement = layout.placements[index]
        return known[placement.part].outline.placed(placement.pose).bounds[:2]

    order = sorted(range(len(layout.placements)), key=left_end)
    return tuple(
        Piece(
            known[p.part],
            p.copy,
            Affine.from_pose(p.pose),
            is_mirrored=p.pose.is_flipped,
            number=number,
            weight_g=weights.get((p.part, p.copy)),
            marks=tuple(marks.get(p.part, ())),
        )
        for number, p in enumerate((layout.placements[index] for index in order), start=1)
    )


def part_pieces(part: Part, *, weight_g: float | None, marks: tuple[PartMark, ...]) -> tuple[Piece, ...]:
    """Return the part with its lower left at the origin, and for a pair its other hand beside it."""
    x0, y0, x1, _ = part.outline.bounds
    drawn = Piece(part, 1, Affine.shift(-x0, -y0), weight_g=weight_g, marks=marks)
    if part.hand != "pair":
        return (drawn,)
    shift = Affine.shift(x1 - x0 + HAND_GAP_MM + x1, -y0)
    return drawn, Piece(part, 2, Affine(a=-1.0).then(shift), is_mirrored=True, weight_g=weight_g, marks=marks)


def draw_pieces(
    recorder: Recorder,
    pieces: Sequence[Piece],
    board: Board | None,
    *,
    settings: PatternSettings,
    cuts: Sequence[Outline],
) -> None:
    """Draw the board's edge, then every piece with `cuts` as the lines to follow."""
    outside: BaseGeometry | None = None
    if board is not None:
        for ring in board.shape.rings:
            recorder.draw(Stroke(ring.segments, Layer.BOARD, is_closed=True))
        for blemish in board.blemishes:
            recorder.draw(Stroke(blemish.outline.exterior.segments, Layer.BOARD, is_closed=True))
        outside = board.shape.to_polygon(ROUGH_MM).buffer(-1.5)
    if len(pieces) > 1 and outside is None:
        outside = unary_union([piece.outline.to_polygon(ROUGH_MM).envelope for piece in pieces]).envelope.buffer(60.0)
    if outside is not None:
        outside = outside.difference(unary_union([p.outline.to_polygon(ROUGH_MM) for p in pieces]).buffer(1.0))
    for piece, cut in zip(pieces, cuts, strict=True):
        before = len(recorder.elements)
        draw_piece(recorder, piece, cut, settings=settings, outside=outside)
        if outside is not None:
            boxes = [text_box(e) for e in recorder.elements[before:] if isinstance(e, Text)]
            outside = outside.difference(unary_union(boxes).buffer(1.0)) if boxes else outside


def text_box(text: Text) -> Polygon:
    """Return the area that a text covers."""
    from nesting.patterns.lettering import text_corners

    return Polygon(text_corners(text))


def file_stem(name: str) -> str:
    """Return a name that every file system takes: letters (accents too), digits, dot, dash and underscore."""
    return re.sub(r"[^\w.\-]+", "-", name).strip("-.") or "unnamed"


def _files(
    pieces: Sequence[Piece],
    board: Board | None,
    stem: str,
    subject: str,
    settings: PatternSettings,
    formats: Sequence[Format],
) -> dict[str, bytes]:
    unknown = [name for name in formats if name not in ("pdf", "svg", "dxf", "png")]
    if unknown:
        raise CallError(f"format {unknown[0]!r} is not known; use pdf, svg, dxf or png.")
    title = f"{settings.model}, {subject}" if settings.model else subject
    files: dict[str, bytes] = {}
    as_drawn = Recorder()
    draw_pieces(as_drawn, pieces, board, settings=settings, cuts=[piece.outline for piece in pieces])
    if "pdf" in formats:
        files[f"{stem}.pdf"] = _pdf(as_drawn, pieces, title, settings)
    if "svg" in formats or "dxf" in formats:
        files |= _machine_files(pieces, board, stem, title, settings, formats)
    if "png" in formats:
        files[f"{stem}.png"] = _png(as_drawn, title)
    return files


def _pdf(recorder: Recorder, pieces: Sequence[Piece], title: str, settings: PatternSettings) -> bytes:
    from nesting.patterns.pages import tiled_pages
    from nesting.patterns.pdf import pdf_bytes

    elements = list(recorder.elements)
    if settings.style == "stick-on":
        elements += scissor_lines(pieces)
    pages = tiled_pages(elements, content_of(recorder, pieces), title=title, settings=settings)
    return pdf_bytes(pages, title=title)


def scissor_lines(pieces: Sequence[Piece]) -> list[Element]:
    """Return the dotted edge round stick-on patterns; one edge where they lie close together."""
    area = unary_union([p.outline.to_polygon(ROUGH_MM) for p in pieces]).buffer(SCISSORS_MM).simplify(0.1)
    areas = [piece for piece in getattr(area, "geoms", [area]) if isinstance(piece, Polygon)]
    return [Stroke(Ring.from_points(a.exterior.coords).segments, Layer.SCISSORS, is_closed=True) for a in areas]


def content_of(recorder: Recorder, pieces: Sequence[Piece]) -> Content:
    """Return what the tiles must show: pieces, words beside them, centres of round holes."""
    shapes: list[BaseGeometry] = [Polygon(p.outline.exterior.flattened(ROUGH_MM)) for p in pieces]
    covered = unary_union(shapes)
    shapes += [box for box in map(text_box, _words(recorder)) if not covered.contains(box)]
    circles = [ring.as_circle() for piece in pieces for ring in piece.outline.cutouts]
    return Content(tuple(shapes), tuple(circle[0] for circle in circles if circle is not None))


def _words(recorder: Recorder) -> list[Text]:
    return [element for element in recorder.elements if isinstance(element, Text)]


def _machine_files(
    pieces: Sequence[Piece],
    board: Board | None,
    stem: str,
    title: str,
    settings: PatternSettings,
    formats: Sequence[Format],
) -> dict[str, bytes]:
    from nesting.patterns.dxf import dxf_bytes
    from nesting.patterns.svg import svg_bytes

    recorder = Recorder()
    draw_pieces(recorder, pieces, board, settings=settings, cuts=[piece.outline for piece in pieces])
    if settings.is_mirrored:
        turned_over = Recorder()
        recorder.replay(turned_over, Affine(a=-1.0, e=sum(recorder.bounds()[::2])))
        recorder = turned_over
    box = _padded(recorder.bounds(), BORDER_MM)
    files: dict[str, bytes] = {}
    if "svg" in formats:
        files[f"{stem}.svg"] = svg_bytes(recorder.elements, box=box, title=title)
    if "dxf" in formats:
        extent = recorder.bounds(Layer.OUTLINE, Layer.BOARD)
        files[f"{stem}.dxf"] = dxf_bytes(recorder.elements, box=extent, version=settings.dxf_version)
    return files


def _padded(box: Box, border_mm: float) -> Box:
    return box[0] - border_mm, box[1] - border_mm, box[2] + border_mm, box[3] + border_mm


def _png(recorder: Recorder, title: str) -> bytes:
    from nesting.patterns.papers import Paper
    from nesting.patterns.pdf import Page, Sheet, pdf_bytes
    from nesting.patterns.png import png_bytes

    x0, y0, x1, y1 = _padded(recorder.bounds(), BORDER_MM)
    sheet = Sheet(tuple(recorder.elements), Affine.shift(-x0, -y0))
    return png_bytes(pdf_bytes([Page(Paper("", x1 - x0, y1 - y0), (sheet,))], title=title))
