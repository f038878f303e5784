"""Pages of a tiled pattern: the reserved strips with check bars, joining marks, the map of the tiles."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from shapely.geometry import Point as Spot
from shapely.geometry import box as rectangle
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from nesting.patterns.drawing import (
    Affine,
    Box,
    Drawing,
    Element,
    Fill,
    Layer,
    Recorder,
    Stroke,
    Text,
    draw_box,
    draw_line,
)
from nesting.patterns.lettering import wrapped
from nesting.patterns.pdf import Page, Sheet
from nesting.patterns.settings import BAR_MM, PatternSettings
from nesting.patterns.tiles import Content, Joint, Tile, Tiling, plan_tiles
from vectorize.curve import Line, Point
from vectorize.outline import Ring
from vectorize.units import MM_PER_INCH

LEFT_STRIP_MM = 11.0
BOTTOM_STRIP_MM = 14.0
"""Kept free of the drawing on every page for the check bars and what is written about the page."""
MARK_RADIUS_MM = 2.5
FOUR_INCHES_MM = 4 * MM_PER_INCH
CHECK_WORDS = "Print at 100 % (actual size), then measure the bars."


@dataclass(frozen=True, slots=True)
class Frame:
    """The places on a page: `window` takes the drawing, the strips lie left of it and below."""

    settings: PatternSettings

    @property
    def usable(self) -> Box:
        """Return the page within its margins."""
        margin, page = self.settings.margin_mm, self.settings.page
        return margin, margin, page.width_mm - margin, page.height_mm - margin

    @property
    def window(self) -> Box:
        """Return the part of the page that takes the drawing."""
        x0, y0, x1, y1 = self.usable
        return x0 + LEFT_STRIP_MM, y0 + BOTTOM_STRIP_MM, x1, y1

    @property
    def window_mm(self) -> tuple[float, float]:
        """Return how much of the drawing, in true millimetres, the window shows."""
        x0, y0, x1, y1 = self.window
        across, up = self.settings.correction
        return (x1 - x0) / across, (y1 - y0) / up


def tiled_pages(
    elements: Sequence[Element], content: Content, *, title: str, settings: PatternSettings, extra: Sequence[Page] = ()
) -> tuple[Page, ...]:
    """Return a map (if there are joints), the tiles in reading order, then `extra` pages."""
    mirror = Affine(a=-1.0) if settings.is_mirrored else Affine()
    content = _mirrored(content) if settings.is_mirrored else content
    tiling = plan_tiles(
        content, Frame(settings).window_mm, overlap_mm=settings.overlap_mm, most_pages=settings.most_pages
    )
    move = mirror.then(tiling.turn)
    has_map = len(tiling.tiles) > 1
    count = len(tiling.tiles) + has_map + len(extra)
    pages = [_map_page(elements, tiling, move, title, settings, count)] if has_map else []
    for tile in tiling.tiles:
        place = f"tile {tile.label}" if has_map else ""
        strip = page_strip(title, place, len(pages) + 1, count, settings)
        pages.append(_tile_page(elements, tiling, tile, move, strip, content, settings))
    return (*pages, *extra)


def _mirrored(content: Content) -> Content:
    from shapely import affinity

    pieces = tuple(affinity.scale(piece, -1, 1, origin=(0, 0)) for piece in content.pieces)
    return Content(pieces, tuple((-x, y) for x, y in content.hole_centres))


def _onto_page(tile: Tile, frame: Frame) -> Affine:
    """The map from true millimetres to the page: the tile's lower left to the window's, stretched for the printer."""
    across, up = frame.settings.correction
    x, y = frame.window[0] - across * tile.window[0], frame.window[1] - up * tile.window[1]
    return Affine(a=across, d=up, e=x, f=y)


def _tile_page(
    elements: Sequence[Element],
    tiling: Tiling,
    tile: Tile,
    move: Affine,
    strip: Sequence[Element],
    content: Content,
    settings: PatternSettings,
) -> Page:
    frame = Frame(settings)
    onto = _onto_page(tile, frame)
    marks = Recorder()
    drawn = unary_union([piece.boundary for piece in (content.turned() if tiling.is_turned else content).pieces])
    for joint in tiling.joints:
        if tile in (joint.first, joint.second):
            draw_joint(marks, joint, drawn, settings.overlap_mm)
    return Page(
        settings.page,
        (
            Sheet(tuple(elements), move.then(onto), frame.window),
            Sheet(tuple(marks.elements), onto, frame.window),
            Sheet(tuple(strip)),
        ),
    )


def draw_joint(drawing: Drawing, joint: Joint, drawn: BaseGeometry, overlap_mm: float) -> None:
    """Draw the line to cut and lay at, and two quartered discs on it, clear of what is drawn if that can be."""
    draw_line(drawing, joint.begin, joint.end, layer=Layer.JOIN)
    upright = joint.begin[0] == joint.end[0]
    for x, y in mark_places(joint, drawn):
        draw_quartered(drawing, (x, y))
        at = (x + 0.9, y + 3.2) if upright else (x + 3.2, y + 0.7)
        drawing.draw(Text(joint.label, at, 1.8, 90.0 if upright else 0.0, "start", layer=Layer.PAGE))


def mark_places(joint: Joint, drawn: BaseGeometry) -> tuple[Point, Point]:
    """Return where the two discs sit: near a fifth and four fifths of the joint, off the drawn lines."""
    (x0, y0), (x1, y1) = joint.begin, joint.end
    length = math.hypot(x1 - x0, y1 - y0)

    def at(share: float) -> Point:
        return (x0 + share * (x1 - x0), y0 + share * (y1 - y0))

    places = []
    for wanted in (0.2, 0.8):
        shares = sorted((wanted + step / 100 for step in range(-14, 15)), key=lambda share: abs(share - wanted))
        clear = MARK_RADIUS_MM + 1.0
        free = (s for s in shares if length * min(s, 1 - s) > clear and drawn.distance(Spot(at(s))) > clear)
        places.append(at(next(free, wanted)))
    return places[0], places[1]


def draw_quartered(drawing: Drawing, at: Point) -> None:
    """Draw a circle with two opposite quarters filled: its centre can be seen and measured to a hair."""
    x, y = at
    r = MARK_RADIUS_MM
    drawing.draw(Stroke(Ring.circle(at, r).segments, Layer.PAGE, is_closed=True))
    for sign in (1.0, -1.0):
        corner = Ring.circle(at, r).segments[0]
        quarter = [corner.point_at(i / 16) for i in range(9)]
        points = [(x + sign * (px - x), y + sign * (py - y)) for px, py in quarter]
        drawing.draw(Fill(Ring.from_points([at, *points]), Layer.PAGE))
    for end in (
        (x - r - 1.5, y, x - r, y),
        (x + r, y, x + r + 1.5, y),
        (x, y - r - 1.5, x, y - r),
        (x, y + r, x, y + r + 1.5),
    ):
        drawing.draw(Stroke((Line(end[:2], end[2:]),), Layer.PAGE))


def page_strip(title: str, place: str, number: int, count: int, settings: PatternSettings) -> tuple[Element, ...]:
    """Return the check bars in both directions and the words about the page."""
    frame, recorder = Frame(settings), Recorder()
    across, up = settings.correction
    x0, y0, x1, _ = frame.usable
    left = x0 + LEFT_STRIP_MM
    level = Affine(a=across, e=left, f=y0)
    # Turned by a quarter: along the bar is up the page, and what was above it lies to the left.
    upright = Affine(0.0, up, -1.0, 0.0, x0 + LEFT_STRIP_MM - 1.0, y0 + BOTTOM_STRIP_MM)
    for move in (level, upright):
        bars = Recorder()
        draw_bars(bars)
        bars.replay(recorder, move)
    words_left = left + FOUR_INCHES_MM * across + 9.0
    _strip_words(recorder, words_left, y0, x1 - words_left, title, place, number, count, settings)
    return tuple(recorder.elements)


def draw_bars(drawing: Drawing) -> None:
    """Draw the bar of 100 mm and above it the bar of 4 in, both from x = 0, within y = 0 … 10."""
    for y, length, pitch, words in ((1.5, BAR_MM, 10.0, "100 mm"), (6.5, FOUR_INCHES_MM, MM_PER_INCH / 2, "4 in")):
        draw_line(drawing, (0.0, y), (length, y), layer=Layer.PAGE)
        steps = round(length / pitch)
        for i in range(steps + 1):
            tall = 2.6 if i in (0, steps) else 1.2
            x = length * i / steps
            draw_line(drawing, (x, y), (x, y + tall), layer=Layer.PAGE)
        drawing.draw(Text(words, (length * 0.75, y + 1.5), 1.7, layer=Layer.PAGE))


def _strip_words(
    drawing: Drawing,
    x: float,
    y: float,
    width: float,
    title: str,
    place: str,
    number: int,
    count: int,
    settings: PatternSettings,
) -> None:
    head = " · ".join(filter(None, (title, place, f"page {number} of {count}")))
    lines = [(line, 2.4, True) for line in wrapped(head, 2.4, width, is_bold=True)]
    lines += [(line, 1.8, False) for line in wrapped(CHECK_WORDS, 1.8, width)]
    remarks = strip_remarks(settings)
    lines += [(line, 1.8, False) for remark in remarks for line in wrapped(remark, 1.8, width)]
    top = y + BOTTOM_STRIP_MM - 4.0
    for line, height, is_bold in lines:
        drawing.draw(Text(line, (x, top), height, 0.0, "start", is_bold, Layer.PAGE))
        top -= 3.3 if is_bold else 2.9


def strip_remarks(settings: PatternSettings) -> list[str]:
    """Return what must be known about this print: turned over, corrected."""
    remarks = []
    if settings.is_mirrored:
        remarks.append("MIRRORED for iron-on transfer.")
    if settings.printer_bars_mm != (BAR_MM, BAR_MM):
        across, up = settings.printer_bars_mm
        remarks.append(f"Corrected for a printer that makes 100 mm into {across:g} × {up:g}.")
    return remarks


def _map_page(
    elements: Sequence[Element], tiling: Tiling, move: Affine, title: str, settings: PatternSettings, count: int
) -> Page:
    frame = Frame(settings)
    x0, y0, x1, y1 = frame.window
    whole = unary_union([rectangle(*tile.window) for tile in tiling.tiles]).bounds
    room = (x1 - x0, (y1 - y0) * 0.62)
    scale = min(room[0] / (whole[2] - whole[0]), room[1] / (whole[3] - whole[1]), 0.5)
    top = y1 - 16.0
    shrink = Affine(scale, 0, 0, scale, x0 - scale * whole[0], top - scale * whole[3])
    lines = tuple(e for e in elements if isinstance(e, Stroke) and (e.layer.is_cut or e.layer is Layer.BOARD))
    grid = Recorder()
    grid.draw(Text(title, (x0, y1 - 5.0), 4.0, 0.0, "start", is_bold=True, layer=Layer.PAGE))
    grid.draw(
        Text(
            f"How the {len(tiling.tiles)} tiles join (scale 1 : {1 / scale:.1f})",
            (x0, y1 - 11.5),
            2.6,
            0.0,
            "start",
            layer=Layer.PAGE,
        )
    )
    for tile in tiling.tiles:
        cell = [*shrink((tile.cell[0], tile.cell[1])), *shrink((tile.cell[2], tile.cell[3]))]
        draw_box(grid, (cell[0], cell[1], cell[2], cell[3]), layer=Layer.PAGE)
        grid.draw(Text(tile.label, (cell[0] + 1.5, cell[3] - 5.0), 3.0, 0.0, "start", is_bold=True, layer=Layer.PAGE))
    _instructions(grid, x0, shrink((0, whole[1]))[1] - 9.0, x1 - x0, joining_instructions(settings))
    strip = page_strip(title, "map of tiles", 1, count, settings)
    return Page(settings.page, (Sheet(lines, move.then(shrink)), Sheet(tuple(grid.elements)), Sheet(strip)))


def joining_instructions(settings: PatternSettings) -> tuple[str, ...]:
    """Return how to print, check and join, a sentence each."""
    return (
        f"1. {CHECK_WORDS} They are on every page, 100 mm and 4 in long, in both directions.",
        "2. If a bar is out, enter what both 100 mm bars measure (across, up) as the printer's correction "
        "and print again.",
        "3. Cut one page of each pair along the dotted line, lay it on the other so that both quartered discs "
        "coincide, and fix it with tape or glue stick.",
        "4. Begin with the first row, then join the rows. Measure across a joint before you glue the paper to wood.",
        "5. " + ("Cut the card to the line and trace round it." if settings.style == "card" else
         "Cut along the dotted edge round each part, stick the paper on, and saw along the line."),
    )  # fmt: skip


def _instructions(drawing: Drawing, x: float, y: float, width: float, sentences: Iterable[str]) -> None:
    for sentence in sentences:
        for line in wrapped(sentence, 2.4, width):
            drawing.draw(Text(line, (x, y), 2.4, 0.0, "start", layer=Layer.PAGE))
            y -= 4.2
        y -= 1.2
