"""PDF: pages of exact size, drawn from what a recorder holds."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from nesting.patterns.drawing import IDENTITY, Box, Element, Fill, Stroke, Text
from nesting.patterns.papers import POINTS_PER_MM, Paper
from nesting.patterns.pens import PENS
from nesting.patterns.typeface import CAPITAL_SHARE, font_name, printable
from vectorize.basics.errors import InputError
from vectorize.shapes.affine import Affine
from vectorize.shapes.segment import Cubic, Segment, as_cubics

if TYPE_CHECKING:
    from PIL.Image import Image
    from reportlab.lib.utils import ImageReader
    from reportlab.pdfgen.canvas import Canvas

LONGEST_SIDE_PT = 14400.0
"""Longest side of a page without a user unit (PDF 1.x viewers; from memory of ISO 32000's annex on limits)."""

PATTERN, CARD = "True-size pattern in millimetres; print at 100 %", "Card to read; nothing on it is at true size"
"""What a PDF says it is about."""


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """A picture that fills `box` in true millimetres, its rows from the top."""

    image: Image
    box: Box

    @property
    def reader(self) -> ImageReader:
        """Return the picture as reportlab takes it: JPEG, which is a tenth of the size of a grey scan packed whole."""
        from reportlab.lib.utils import ImageReader

        stream = io.BytesIO()
        self.image.save(stream, "JPEG", quality=80)
        return ImageReader(stream)


@dataclass(frozen=True, slots=True)
class Sheet:
    """Part of a page: elements, the map from their millimetres to the page's, and what may be inked.

    Widths of lines stay as they are under the map; texts follow it, mirrored too. Pictures lie below.
    """

    elements: tuple[Element, ...]
    move: Affine = IDENTITY
    window: Box | None = None
    pictures: tuple[Picture, ...] = ()


@dataclass(frozen=True, slots=True)
class Page:
    """One page: sheets laid over each other."""

    paper: Paper
    sheets: tuple[Sheet, ...]


def pdf_bytes(pages: Sequence[Page], *, title: str, subject: str = PATTERN) -> bytes:
    """Return a PDF of the pages, the same bytes for the same pages; every font in it is embedded.

    Viewers are told not to scale when printing, to choose the tray by the page's size and to print
    on one side.

    Raises:
        InputError: A page longer than PDF allows without a user unit (5.08 m).
    """
    from reportlab.pdfgen.canvas import Canvas

    stream = io.BytesIO()
    # Its first font is the library's Helvetica else, declared on every page and embedded in none.
    first = font_name(is_bold=False)
    canvas = Canvas(stream, invariant=1, pageCompression=1, pdfVersion=(1, 7), initialFontName=first, lang="en")
    canvas.setTitle(title)
    canvas.setSubject(subject)
    canvas.setAuthor("Sheetwood")
    canvas.setCreator("Sheetwood")
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.setViewerPreference("Duplex", "Simplex")
    for page in pages:
        _check_size(page.paper)
        canvas.setPageSize(page.paper.size_pt)
        for sheet in page.sheets:
            _draw_sheet(canvas, sheet)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


def _check_size(paper: Paper) -> None:
    longest = max(paper.size_pt)
    if longest > LONGEST_SIDE_PT:
        raise InputError(
            f"a page {longest / POINTS_PER_MM:.0f} mm long was asked for; a PDF page reaches "
            f"{LONGEST_SIDE_PT / POINTS_PER_MM:.0f} mm. Print it on tiles, or use SVG or DXF."
        )


def _draw_sheet(canvas: Canvas, sheet: Sheet) -> None:
    canvas.saveState()
    if sheet.window is not None:
        x0, y0, x1, y1 = (POINTS_PER_MM * value for value in sheet.window)
        path = canvas.beginPath()
        path.rect(x0, y0, x1 - x0, y1 - y0)
        canvas.clipPath(path, stroke=0, fill=0)
    move = sheet.move.then(Affine(a=POINTS_PER_MM, d=POINTS_PER_MM))
    for picture in sheet.pictures:
        _picture(canvas, picture, move)
    for element in sheet.elements:
        match element:
            case Stroke():
                _stroke(canvas, element, move)
            case Fill():
                _fill(canvas, element, move)
            case Text():
                _text(canvas, element, move)
    canvas.restoreState()


def _stroke(canvas: Canvas, stroke: Stroke, move: Affine) -> None:
    pen = PENS[stroke.layer]
    canvas.setStrokeColorRGB(*pen.rgb)
    canvas.setLineWidth(pen.width_mm * POINTS_PER_MM)
    canvas.setDash([POINTS_PER_MM * length for length in pen.dashes_mm], 0)
    canvas.setLineCap(0 if pen.dashes_mm else 1)
    canvas.setLineJoin(1)
    _trace(canvas, move.segments(stroke.segments), is_closed=stroke.is_closed, is_filled=False)


def _fill(canvas: Canvas, fill: Fill, move: Affine) -> None:
    canvas.setFillColorRGB(*PENS[fill.layer].rgb)
    _trace(canvas, move.segments(fill.ring.segments), is_closed=True, is_filled=True)


def _trace(canvas: Canvas, segments: Sequence[Segment], *, is_closed: bool, is_filled: bool) -> None:
    path = canvas.beginPath()
    path.moveTo(*segments[0].start)
    for segment in segments:
        for piece in as_cubics(segment):
            if isinstance(piece, Cubic):
                path.curveTo(*piece.first, *piece.second, *piece.end)
            else:
                path.lineTo(*piece.end)
    if is_closed:
        path.close()
    canvas.drawPath(path, stroke=0 if is_filled else 1, fill=1 if is_filled else 0)


def _picture(canvas: Canvas, picture: Picture, move: Affine) -> None:
    x0, y0, x1, y1 = picture.box
    canvas.saveState()
    canvas.transform(move.a, move.b, move.c, move.d, move.e, move.f)
    canvas.drawImage(picture.reader, x0, y0, x1 - x0, y1 - y0)
    canvas.restoreState()


def _text(canvas: Canvas, text: Text, move: Affine) -> None:
    canvas.saveState()
    cos, sin = math.cos(math.radians(text.angle_deg)), math.sin(math.radians(text.angle_deg))
    placed = Affine(cos, sin, -sin, cos, *text.at).then(move)
    canvas.transform(placed.a, placed.b, placed.c, placed.d, placed.e, placed.f)
    canvas.setFillColorRGB(*PENS[text.layer].rgb)
    canvas.setFont(font_name(is_bold=text.is_bold), text.height_mm / CAPITAL_SHARE)
    words = printable(text.text)
    match text.align:
        case "start":
            canvas.drawString(0, 0, words)
        case "middle":
            canvas.drawCentredString(0, 0, words)
        case "end":
            canvas.drawRightString(0, 0, words)
    canvas.restoreState()
