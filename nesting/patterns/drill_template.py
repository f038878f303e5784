"""The drill template of a part: its outline at true size, each hole crossed, numbered and told with its drill."""

from __future__ import annotations

from collections.abc import Sequence

from shapely.geometry import box as rectangle

from nesting.patterns.drawing import Layer, Recorder, Text, draw_line, draw_outline
from nesting.patterns.pages import Drawn, tiled_pages
from nesting.patterns.paper_tiles import Content
from nesting.patterns.pattern_settings import PatternSettings
from nesting.patterns.sheets import file_stem
from nesting.patterns.write_pdf import pdf_bytes
from nesting.wood.drilling import Hole, drill_words, round_holes
from nesting.wood.part import Part

_WORDS_MM = 2.2
_LINE_MM = 4.5
_REACH_MM = 2.5
_USE = (
    "Stick the sheet onto the wood, prick every cross through with a point, and drill there with a piece of waste "
    "wood below. Hold the work down, and wear eye protection."
)


def drill_template(part: Part, *, settings: PatternSettings, at_hand_mm: Sequence[float] = ()) -> dict[str, bytes]:
    """Return `drill-PART.pdf` at true size, or nothing for a part without round holes.

    Raises:
        InputError: More pages than the settings allow.
    """
    holes = round_holes(part.outline)
    if not holes:
        return {}
    recorder = Recorder()
    draw_outline(recorder, part.outline, part=part.name)
    for number, hole in enumerate(holes, start=1):
        _draw_hole(recorder, hole, number, part.name)
    x0, y0, _, _ = recorder.bounds()
    for line, words in enumerate(drill_list(holes, units=settings.units, at_hand_mm=at_hand_mm)):
        at = (x0, y0 - 8.0 - _LINE_MM * line)
        recorder.draw(Text(words, at, _WORDS_MM, align="start", part=part.name))
    content = Content((rectangle(*recorder.bounds()),), tuple(hole.at for hole in holes))
    title = f"{settings.model}, drilling {part.name}" if settings.model else f"drilling {part.name}"
    pages = tiled_pages([Drawn(tuple(recorder.elements), content)], title=title, settings=settings, use=_USE)
    return {f"drill-{file_stem(part.name)}.pdf": pdf_bytes(pages, title=title)}


def drill_list(holes: Sequence[Hole], *, units: str, at_hand_mm: Sequence[float] = ()) -> list[str]:
    """Return a line for each size of drill, with the numbers of its holes."""
    numbers: dict[str, list[int]] = {}
    for number, hole in enumerate(holes, start=1):
        numbers.setdefault(drill_words(hole, units=units, at_hand_mm=at_hand_mm), []).append(number)
    return [f"{len(mine)} x {words}: {', '.join(map(str, mine))}" for words, mine in numbers.items()]


def _draw_hole(recorder: Recorder, hole: Hole, number: int, name: str) -> None:
    (x, y), reach = hole.at, hole.diameter_mm / 2 + _REACH_MM
    draw_line(recorder, (x - reach, y), (x + reach, y), layer=Layer.MARK, part=name)
    draw_line(recorder, (x, y - reach), (x, y + reach), layer=Layer.MARK, part=name)
    at = (x + reach * 0.75, y + reach * 0.75)
    recorder.draw(Text(str(number), at, _WORDS_MM, align="start", part=name))
