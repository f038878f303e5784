"""The flat pattern of a bent wire: straightened out at true size, each bend between its two marks."""

from __future__ import annotations

from dataclasses import replace

from shapely.geometry import box as rectangle

from nesting.patterns.drawing import Layer, Recorder, Text, draw_line
from nesting.patterns.pages import Drawn, tiled_pages
from nesting.patterns.paper_tiles import Content
from nesting.patterns.pattern_settings import PatternSettings
from nesting.patterns.sheets import file_stem
from nesting.patterns.write_pdf import pdf_bytes
from nesting.wood.bent_wire import BentWire, wire_words
from vectorize.basics.units import measure

_WORDS_MM = 2.2
_REACH_MM = 3.0
_USE = (
    "Lay the wire on the line and mark both ends of every bend. Each bend runs from its first mark to its second. "
    "Bend a trial piece first, for wire springs back; wear eye protection, and grind cut ends round."
)


def wire_template(wire: BentWire, *, settings: PatternSettings) -> dict[str, bytes]:
    """Return `wire-NAME.pdf`: the wire straightened out at true size, with a mark where each bend begins and ends.

    Raises:
        InputError: More pages than the settings allow.
    """
    recorder = Recorder()
    draw_flat_wire(recorder, wire, units=settings.units)
    content = Content((rectangle(*recorder.bounds()),), tuple((mark, 0.0) for mark in wire.marks_mm))
    title = f"{settings.model}, wire {wire.name}" if settings.model else f"wire {wire.name}"
    # A wire is laid on the sheet, never ironed: a mirrored one would begin at its other end.
    upright = replace(settings, is_mirrored=False)
    pages = tiled_pages([Drawn(tuple(recorder.elements), content)], title=title, settings=upright, use=_USE)
    return {f"wire-{file_stem(wire.name)}.pdf": pdf_bytes(pages, title=title)}


def draw_flat_wire(recorder: Recorder, wire: BentWire, *, units: str) -> None:
    """Draw the wire along x from 0 to its developed length: its two sides, its ends, and every bend's two marks.

    What each straight length and each bend measures stands beside it, and all of it in words below.
    """
    half, name = wire.diameter_mm / 2, wire.name
    for y in (-half, half):
        draw_line(recorder, (0.0, y), (wire.length_mm, y), layer=Layer.OUTLINE, part=name)
    for x in (0.0, wire.length_mm):
        draw_line(recorder, (x, -half), (x, half), layer=Layer.OUTLINE, part=name)
    for x in wire.marks_mm:
        draw_line(recorder, (x, -half - _REACH_MM), (x, half + _REACH_MM), layer=Layer.MARK, part=name)
    marks = (0.0, *wire.marks_mm, wire.length_mm)
    for number, straight in enumerate(wire.straights_mm):
        middle = (marks[2 * number] + marks[2 * number + 1]) / 2
        _write(recorder, measure(straight, "length", units=units), middle, half + _REACH_MM + 1.0, name)
    for number, bend in enumerate(wire.bends):
        middle = (marks[2 * number + 1] + marks[2 * number + 2]) / 2
        turned = "" if abs(bend.turned_deg) < 0.5 else f", turned {bend.turned_deg:.0f}°"
        _write(recorder, f"{bend.angle_deg:.1f}°{turned}", middle, -half - _REACH_MM - 4.0, name)
    words, y = wire_words(wire, units=units), -half - _REACH_MM - 10.0
    recorder.draw(Text(words.split(": ", 1)[1], (0.0, y), _WORDS_MM, align="start", part=name))


def _write(recorder: Recorder, words: str, x: float, y: float, name: str) -> None:
    recorder.draw(Text(words, (x, y), _WORDS_MM, align="middle", part=name))
