"""Pages of a tiled pattern: the map of the tiles, the tiles, and pages of text."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely import STRtree, affinity
from shapely.geometry import LineString, Polygon
from shapely.geometry import box as rectangle
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from nesting.patterns.drawing import (
    Box,
    Element,
    Layer,
    Recorder,
    Stroke,
    Text,
    draw_box,
    element_points,
    moved_element,
    text_corners,
)
from nesting.patterns.page_joints import draw_joint
from nesting.patterns.page_strip import CHECK_WORDS, Frame, page_strip
from nesting.patterns.paper_tiles import Content, Joint, Tile, Tiling, plan_tiles
from nesting.patterns.pattern_settings import PatternSettings
from nesting.patterns.typeface import wrapped
from nesting.patterns.write_pdf import Page, Picture, Sheet
from vectorize.shapes.affine import Affine

TEXT_MM = 2.4
LINE_MM = 4.3
HEADING_MM = 3.2
INK_MM = 0.2
JOINT_REACH_MM = 14.0
"""How far from a joint its marks and their labels reach."""


@dataclass(frozen=True, slots=True)
class Chapter:
    """A heading and paragraphs for the pages of text that follow the tiles."""

    heading: str
    paragraphs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Drawn:
    """A drawing in true millimetres: all of it, what of it must be seen, and pictures below it."""

    elements: tuple[Element, ...]
    content: Content
    pictures: tuple[Picture, ...] = ()


@dataclass(frozen=True, slots=True)
class _Body:
    """A page before it has its number: what is on it, and what the strip calls it."""

    place: str
    sheets: tuple[Sheet, ...]


def tiled_pages(
    drawings: Sequence[Drawn],
    *,
    title: str,
    settings: PatternSettings,
    chapters: Sequence[Chapter] = (),
    use: str | None = None,
    chapters_are: str = "cutting plan",
) -> tuple[Page, ...]:
    """Return for each drawing a map (if it has joints) and the tiles in reading order, then the chapters.

    Args:
        drawings: What is drawn, each on pages of its own.
        title: Written on every page.
        settings: Paper, printer, style.
        chapters: Text to follow.
        chapters_are: What the strip of their pages calls the chapters.
        use: What to do with the joined sheet, in a sentence; by default how to saw by it.

    Raises:
        InputError: More tiles than the settings allow.
    """
    bodies = [body for drawn in drawings for body in _drawn_bodies(drawn, title, settings, use)]
    bodies += text_bodies(chapters, settings, place=chapters_are)
    count = len(bodies)
    return tuple(
        Page(settings.page, (*body.sheets, Sheet(page_strip(title, body.place, number, count, settings))))
        for number, body in enumerate(bodies, start=1)
    )


def _drawn_bodies(drawn: Drawn, title: str, settings: PatternSettings, use: str | None) -> list[_Body]:
    tiling = tiling_of(drawn.content, settings)
    mirror = Affine(a=-1.0) if settings.is_mirrored else Affine()
    sheet = Sheet(drawn.elements, mirror.then(tiling.turn), pictures=drawn.pictures)
    places = _Places.of(sheet)
    bodies = [_tile_body(sheet, tiling, tile, places, settings) for tile in tiling.tiles]
    if len(tiling.tiles) == 1:
        return bodies
    return [_map_body(sheet, tiling, title, settings, use), *bodies]


def tiling_of(content: Content, settings: PatternSettings) -> Tiling:
    """Return the tiles of a drawing, in its frame as it is printed: mirrored and turned.

    Raises:
        InputError: More tiles than the settings allow.
    """
    printed = _mirrored(content) if settings.is_mirrored else content
    window_mm = Frame(settings).window_mm
    return plan_tiles(printed, window_mm, overlap_mm=settings.overlap_mm, most_pages=settings.most_pages)


def _mirrored(content: Content) -> Content:
    pieces = tuple(affinity.scale(piece, -1, 1, origin=(0, 0)) for piece in content.pieces)
    return Content(pieces, tuple((-x, y) for x, y in content.hole_centres))


def _onto_page(tile: Tile, frame: Frame) -> Affine:
    """The map from true millimetres to the page: the tile's lower left to the window's, stretched for the printer."""
    across, up = frame.settings.correction
    x, y = frame.window[0] - across * tile.window[0], frame.window[1] - up * tile.window[1]
    return Affine(a=across, d=up, e=x, f=y)


@dataclass(frozen=True, slots=True)
class _Places:
    """Where each element of a drawing lies in the tiling's frame, to find what concerns a tile or a joint."""

    elements: tuple[Element, ...]
    boxes: STRtree
    inks: tuple[BaseGeometry, ...]

    @staticmethod
    def of(drawing: Sheet) -> _Places:
        moved = [moved_element(element, drawing.move) for element in drawing.elements]
        corners = [np.array(element_points(element)) for element in moved]
        boxes = [rectangle(*points.min(axis=0), *points.max(axis=0)) for points in corners]
        return _Places(drawing.elements, STRtree(boxes), tuple(map(_ink, moved)))

    def within(self, window: Box) -> tuple[Element, ...]:
        """Return the elements whose box touches `window`, in their order."""
        return tuple(self.elements[i] for i in sorted(self.boxes.query(rectangle(*window).buffer(1.0))))

    def ink_near(self, joint: Joint) -> BaseGeometry:
        """Return what the marks of a joint must keep clear of."""
        band = LineString([joint.begin, joint.end]).buffer(JOINT_REACH_MM)
        return unary_union([self.inks[i] for i in self.boxes.query(band)])


def _ink(element: Element) -> BaseGeometry:
    """What joining marks keep clear of: lines to cut, marks and words."""
    if isinstance(element, Text):
        return Polygon(text_corners(element))
    if isinstance(element, Stroke) and element.layer not in (Layer.BOARD, Layer.SCISSORS):
        return LineString([p for s in element.segments for p in (*s.flattened(INK_MM), s.end)])
    return Polygon()


def _tile_body(drawing: Sheet, tiling: Tiling, tile: Tile, places: _Places, settings: PatternSettings) -> _Body:
    frame = Frame(settings)
    onto = _onto_page(tile, frame)
    marks = Recorder()
    for joint in tiling.joints:
        if tile in (joint.first, joint.second):
            draw_joint(marks, joint, places.ink_near(joint))
    shown = places.within(tile.window)
    placed = replace(drawing, elements=shown, move=drawing.move.then(onto), window=frame.window)
    sheets = (placed, Sheet(tuple(marks.elements), onto, frame.window))
    return _Body(f"tile {tile.label}" if len(tiling.tiles) > 1 else "", sheets)


def _map_body(drawing: Sheet, tiling: Tiling, title: str, settings: PatternSettings, use: str | None) -> _Body:
    x0, y0, x1, y1 = Frame(settings).window
    whole = unary_union([rectangle(*tile.window) for tile in tiling.tiles]).bounds
    scale = min((x1 - x0) / (whole[2] - whole[0]), (y1 - y0) * 0.62 / (whole[3] - whole[1]), 0.5)
    shrink = Affine(scale, 0, 0, scale, x0 - scale * whole[0], y1 - 16.0 - scale * whole[3])
    lines = tuple(
        e
        for e in drawing.elements
        if isinstance(e, Stroke) and (e.layer.is_cut or e.layer in (Layer.BOARD, Layer.PROOF))
    )
    grid = Recorder()
    _write(grid, title, x0, y1 - 5.0, 4.0, is_bold=True)
    _write(grid, f"How the {len(tiling.tiles)} tiles join (scale 1 : {1 / scale:.1f})", x0, y1 - 11.5, TEXT_MM)
    for tile in tiling.tiles:
        left, low = shrink(tile.cell[:2])
        right, top = shrink(tile.cell[2:])
        draw_box(grid, (left, low, right, top), layer=Layer.PAGE)
        _write(grid, tile.label, left + 1.5, top - 5.0, 3.0, is_bold=True)
    low_left, high_right = shrink(whole[:2]), shrink(whole[2:])
    area = (*low_left, *high_right)
    y = low_left[1] - 9.0
    for sentence in joining_instructions(settings, use):
        for line in wrapped(sentence, TEXT_MM, x1 - x0):
            _write(grid, line, x0, y, TEXT_MM)
            y -= LINE_MM
        y -= 1.2
    return _Body("map of tiles", (Sheet(lines, drawing.move.then(shrink), area), Sheet(tuple(grid.elements))))


def _write(recorder: Recorder, text: str, x: float, y: float, height_mm: float, *, is_bold: bool = False) -> None:
    recorder.draw(Text(text, (x, y), height_mm, 0.0, "start", is_bold, Layer.PAGE))


def joining_instructions(settings: PatternSettings, use: str | None = None) -> tuple[str, ...]:
    """Return how to print, check, join and `use` the pages, a sentence each."""
    by_style = {
        "card": "Card: cut to the line and trace round it.",
        "stick-on": "Paper: cut along the dotted edge round a part, or lay the sheet on the board by the "
        "dash-dotted edges; stick it on and cut along the line.",
    }
    return (
        f"1. {CHECK_WORDS} They are on every page, 100 mm and 4 in long, in both directions.",
        "2. If a bar is out, enter what both 100 mm bars measure (across, up) as the printer's correction "
        "and print again.",
        "3. Cut one page of each pair along the dotted line, lay it on the other so that both quartered discs "
        "coincide, and fix it with tape or glue stick.",
        "4. Join each row first, then the rows. Measure across a joint before you glue the paper to wood.",
        f"5. {use or by_style[settings.style]}",
    )


def text_bodies(chapters: Sequence[Chapter], settings: PatternSettings, *, place: str) -> list[_Body]:
    """Return pages filled with the chapters, lines broken at the width of the page."""
    if not chapters:
        return []
    x0, y0, x1, y1 = Frame(settings).window
    bodies: list[_Body] = []
    recorder, y = Recorder(), y1
    for line, height, before in _lines(chapters, x1 - x0):
        y -= before + LINE_MM
        if y < y0 + 2.0:
            bodies.append(_Body(place, (Sheet(tuple(recorder.elements)),)))
            recorder, y = Recorder(), y1 - LINE_MM
        _write(recorder, line, x0, y, height, is_bold=height == HEADING_MM)
    return [*bodies, _Body(place, (Sheet(tuple(recorder.elements)),))]


def _lines(chapters: Iterable[Chapter], width_mm: float) -> Iterable[tuple[str, float, float]]:
    """Yield (line, height, space before it)."""
    for chapter in chapters:
        yield chapter.heading, HEADING_MM, 3.0
        for paragraph in chapter.paragraphs:
            for i, line in enumerate(wrapped(paragraph, TEXT_MM, width_mm)):
                yield line, TEXT_MM, 1.0 if i == 0 else 0.0
