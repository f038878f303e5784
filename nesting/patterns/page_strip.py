"""What every page carries beside the drawing: check bars in both directions and words about the page."""

from __future__ import annotations

from dataclasses import dataclass

from nesting.patterns.drawing import Box, Drawing, Element, Layer, Recorder, Text, draw_line
from nesting.patterns.pattern_settings import BAR_MM, PatternSettings
from nesting.patterns.typeface import wrapped
from vectorize.basics.units import MM_PER_INCH
from vectorize.shapes.affine import Affine

LEFT_STRIP_MM = 11.0
BOTTOM_STRIP_MM = 14.0
"""Kept free of the drawing on every page for the check bars and what is written about the page."""
FOUR_INCHES_MM = 4 * MM_PER_INCH
LEADING = 1.55
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
    place_and_page = " · ".join(filter(None, (place, f"page {number} of {count}")))
    words = [CHECK_WORDS, *strip_remarks(settings)]
    for size in (1.0, 0.85, 0.7):
        heads = [line for head in (title, place_and_page) for line in wrapped(head, 2.4 * size, width, is_bold=True)]
        rest = [line for sentence in words for line in wrapped(sentence, 1.8 * size, width)]
        lines = [(line, 2.4 * size, True) for line in heads] + [(line, 1.8 * size, False) for line in rest]
        if sum(LEADING * height for _, height, _ in lines) <= BOTTOM_STRIP_MM:
            break
    top = y + BOTTOM_STRIP_MM - lines[0][1]
    for line, height, is_bold in lines:
        if top >= y + 0.5:  # a title of many lines is cut off rather than printed into the margin
            drawing.draw(Text(line, (x, top), height, 0.0, "start", is_bold, Layer.PAGE))
        top -= LEADING * height


def strip_remarks(settings: PatternSettings) -> list[str]:
    """Return what must be known about this print: turned over, corrected."""
    remarks = []
    if settings.is_mirrored:
        remarks.append("MIRRORED for iron-on transfer.")
    if settings.printer_bars_mm != (BAR_MM, BAR_MM):
        across, up = settings.printer_bars_mm
        remarks.append(f"Corrected for 100 mm bars that measured {across:g} × {up:g} mm.")
    return remarks
