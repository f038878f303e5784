"""A cut part against its outline at true size: where it stands proud, where it is short, told without colour."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import box as rectangle

from nesting.patterns.drawing import BORDER_MM, Element, Fill, Layer, Recorder, Text, draw_line, draw_outline
from nesting.patterns.pages import Chapter, Drawn, tiled_pages
from nesting.patterns.paper_tiles import Content
from nesting.patterns.pattern_settings import PatternSettings
from nesting.patterns.sheets import file_stem
from nesting.patterns.write_pdf import pdf_bytes
from nesting.patterns.write_svg import svg_bytes
from nesting.wood.ascut.as_cut import AsCut, place_words
from nesting.wood.ascut.deviations import EdgeDeviation, Place
from vectorize.basics.spoken import Speech
from vectorize.shapes.outline import Ring
from vectorize.shapes.segment import Point, Points

TIMES = 10.0
"""So many times its size a deviation is drawn: 0.3 mm is seen as 3 mm."""
LARGEST_MM = 8.0
"""No farther from the outline than this is anything drawn."""
_EVERY_MM = 0.8
_NUMBER_MM = 2.6
_WORDS_MM = 2.2
_LINE_MM = 4.5
_USE = "Lay the part on the outline: sand where the map is black, and leave alone what is hatched."
LEGEND = (
    f"Thin line: the outline at true size. Dashed: the edge as cut, its deviations drawn {TIMES:.0f} times as large.",
    "Black: wood stands proud, sand it. Hatched: cut short. Numbers: see the list.",
)


def deviation_map(found: AsCut, *, settings: PatternSettings, speech: Speech) -> dict[str, bytes]:
    """Return `check-PART.pdf`, tiled at true size with the list of places, and `check-PART.svg`.

    Raises:
        InputError: More pages than the settings allow.
    """
    recorder = Recorder()
    draw_deviations(recorder, found)
    title = f"{settings.model}, {found.part} as cut" if settings.model else f"{found.part} as cut"
    content = Content((rectangle(*recorder.bounds()),))
    lines = place_list(found, speech)
    chapters = [Chapter(f"{found.part} as cut", (*LEGEND, *lines))]
    drawn = Drawn(tuple(recorder.elements), content)
    pages = tiled_pages(
        [drawn], title=title, settings=settings, chapters=chapters, use=_USE, chapters_are="where to sand"
    )
    _write_below(recorder, (*LEGEND, *lines))
    x0, y0, x1, y1 = recorder.bounds()
    box = (x0 - BORDER_MM, y0 - BORDER_MM, x1 + BORDER_MM, y1 + BORDER_MM)
    stem = f"check-{file_stem(found.part)}"
    return {
        f"{stem}.pdf": pdf_bytes(pages, title=title),
        f"{stem}.svg": svg_bytes(recorder.elements, box=box, title=title),
    }


def place_list(found: AsCut, speech: Speech) -> tuple[str, ...]:
    """Return a line for each place, numbered as on the map, or one that says that there is none."""
    if not found.places:
        return (speech.said(f"Nowhere is it off by more than {found.tolerance_mm:.2f} mm."),)
    return tuple(
        f"{number}: {speech.said(place_words(place, found.lower_left))}."
        for number, place in enumerate(found.places, start=1)
    )


def draw_deviations(recorder: Recorder, found: AsCut) -> None:
    """Draw the outline, the edge as cut with its deviations enlarged, and each place with its number."""
    draw_outline(_Thin(recorder), found.outline, part=found.part)
    curves = {edge.ring: _curve(edge) for edge in found.edges}
    for curve in curves.values():
        draw_line(recorder, *_points(np.vstack([curve, curve[:1]])), layer=Layer.HELP, part=found.part)
    edges = {edge.ring: edge for edge in found.edges}
    for number, place in enumerate(found.places, start=1):
        _draw_place(recorder, number, place, edges[place.ring], curves[place.ring], found.part)


class _Thin:
    """A drawing on which whatever is drawn becomes a thin black line, none that a machine would cut."""

    def __init__(self, target: Recorder) -> None:
        self.target = target

    def draw(self, element: Element) -> None:
        self.target.draw(replace(element, layer=Layer.PROOF))


def _curve(edge: EdgeDeviation) -> Points:
    off = np.clip(TIMES * np.where(edge.judged, edge.off_mm, 0.0), -LARGEST_MM, LARGEST_MM)
    return np.asarray(edge.samples.points + edge.samples.normals * off[:, None], np.float64)


def _draw_place(recorder: Recorder, number: int, place: Place, edge: EdgeDeviation, curve: Points, part: str) -> None:
    own = np.array(place.samples) % len(curve)
    for run in _same_side(edge.off_mm[own]):
        at = own[run]
        base, tip = edge.samples.points[at], curve[at]
        if edge.off_mm[at[len(at) // 2]] > 0:
            recorder.draw(Fill(Ring.from_points(np.vstack([base, tip[::-1]])), Layer.PROOF, part))
            continue
        for k in range(0, len(at), max(1, round(_EVERY_MM / edge.samples.step_mm))):
            draw_line(recorder, *_points(np.vstack([base[k], tip[k]])), layer=Layer.PROOF, part=part)
    x, y = _beside(place, edge, own, curve)
    recorder.draw(Text(str(number), (x, y - _NUMBER_MM / 2), _NUMBER_MM, is_bold=True, part=part))


def _beside(place: Place, edge: EdgeDeviation, own: NDArray[np.intp], curve: Points) -> Point:
    """Return where the number of a place stands: right of a cut-out that is off as a whole, else off the edge."""
    if place.kind in ("hole-off", "hole-size"):
        right = float(max(curve[:, 0].max(), edge.samples.points[:, 0].max()))
        return right + _NUMBER_MM, place.at[1]
    middle = int(own[len(own) // 2])
    away = max(0.0, min(LARGEST_MM, TIMES * float(edge.off_mm[own].max()))) + 1.2 * _NUMBER_MM
    x, y = (edge.samples.points[middle] + edge.samples.normals[middle] * away).tolist()
    return x, y


def _same_side(off: Points) -> Iterator[NDArray[np.intp]]:
    """Yield runs of three and more indices whose deviations are on one side."""
    cuts = np.flatnonzero(np.diff(np.sign(off))) + 1
    for run in np.split(np.arange(len(off)), cuts):
        if len(run) > 2 and np.any(off[run]):
            yield run


def _points(points: Points) -> list[Point]:
    return [(float(x), float(y)) for x, y in points]


def _write_below(recorder: Recorder, lines: tuple[str, ...]) -> None:
    x0, y0, _, _ = recorder.bounds()
    for number, words in enumerate(lines):
        recorder.draw(Text(words, (x0, y0 - 8.0 - _LINE_MM * number), _WORDS_MM, align="start"))
