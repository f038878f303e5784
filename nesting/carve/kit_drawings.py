"""The true-size drawings of a carving kit: pattern with contours, template strips, planing flats."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from nesting.carve.flats import StationFlats, planing_flats
from nesting.carve.panel import CarvedPanel
from nesting.carve.panel_lines import contours, high_point_line
from nesting.carve.tape import worked_sides
from nesting.carve.templates import TemplateStrip, section_outline, template_strips
from nesting.patterns.drawing import Layer, Recorder, Stroke, Text, draw_line, draw_outline
from nesting.patterns.typeface import wrapped
from vectorize.basics.spoken import in_units
from vectorize.shapes.affine import Affine
from vectorize.shapes.outline import Outline
from vectorize.shapes.segment import Point

LETTER_MM = 2.4
SMALL_MM = 1.9
_GAP_MM = 10.0


def panel_view(panel: CarvedPanel) -> Affine:
    """Return the rigid map from the plan to a view with the span along x and the leading edge up, never turned over."""
    form = panel.planform
    (ox, oy), (sx, sy), (ax, ay) = form.to_plan(np.array([[0.0, 0.0], [0.0, 1.0], [1.0, 0.0]]))
    span, aft = (sx - ox, sy - oy), (ax - ox, ay - oy)
    # x along the span, y against aft; where that would mirror the panel, the tip points to the left instead.
    is_mirrored = span[0] * -aft[1] - span[1] * -aft[0] < 0
    x = (-span[0], -span[1]) if is_mirrored else span
    return Affine(x[0], -aft[0], x[1], -aft[1], -(x[0] * ox + x[1] * oy), aft[0] * ox + aft[1] * oy)


def draw_pattern(
    name: str, panel: CarvedPanel, stations_mm: Sequence[float], *, step_mm: float, units: str = "mm"
) -> Recorder:
    """Draw the panel's outline with its high-point line, contours and stations, in true size."""
    recorder = Recorder()
    view = panel_view(panel)
    draw_outline(recorder, panel.planform.outline.mapped(view, mirrors=view.is_mirror), part=name)
    high = [view(point) for point in high_point_line(panel)]
    draw_line(recorder, *high, layer=Layer.MARK, part=name)
    at = _beside(high[len(high) // 4], 1.6)
    recorder.draw(Text("high point", at, LETTER_MM, _slope_deg(high), "start", part=name))
    _draw_contours(recorder, panel, view, step_mm, name, units)
    for number, station in enumerate(stations_mm, start=1):
        _draw_station(recorder, panel, view, number, station, name, units)
    x0, _, _, y1 = recorder.bounds()
    step = in_units(f"{step_mm:g} mm", units=units)
    words = f"{name}: contours every {step} below the upper face, {panel.section.name}"
    recorder.draw(Text(words, (x0, y1 + 4.0), LETTER_MM, 0.0, "start", is_bold=True, part=name))
    return recorder


def _draw_contours(recorder: Recorder, panel: CarvedPanel, view: Affine, step_mm: float, name: str, units: str) -> None:
    for contour in contours(panel, step_mm=step_mm):
        for line in contour.lines:
            points = [view(point) for point in line]
            draw_line(recorder, *points, layer=Layer.GUIDE, part=name)
            at = points[len(points) * 3 // 5]
            depth = in_units(f"{contour.depth_mm:g} mm", units=units).rsplit(" ", 1)[0]
            recorder.draw(Text(depth, _beside(at, 0.3), 1.5, _slope_deg(points), part=name))


def _draw_station(
    recorder: Recorder, panel: CarvedPanel, view: Affine, number: int, station: float, name: str, units: str
) -> None:
    fore, aft = station_ends(panel, station)
    draw_line(recorder, view(fore), view(aft), layer=Layer.MARK, part=name)
    x, y = view(aft)
    upper, lower = panel.heights(station, np.array([1.0]))
    edge = float(upper[0] - lower[0])
    words = f"{number}: " + in_units(f"station {station:.0f} mm, trailing edge {edge:.1f} mm", units=units)
    # Below the whole panel, on two lines in turn, so that stations close together stay readable.
    low = panel.planform.outline.mapped(view, mirrors=view.is_mirror).bounds[1]
    recorder.draw(Text(words, (x, min(low, y) - 4.5 - 3.5 * ((number - 1) % 2)), SMALL_MM, 0.0, "middle", part=name))


def station_ends(panel: CarvedPanel, station_mm: float) -> tuple[Point, Point]:
    """Return the points of the leading and the trailing edge at a station, on the plan."""
    at = np.array([station_mm])
    u0, u1 = float(panel.planform.leading_edge(at)[0]), float(panel.planform.trailing_edge(at)[0])
    (ax, ay), (bx, by) = panel.planform.to_plan(np.array([[u0, station_mm], [u1, station_mm]]))
    return (float(ax), float(ay)), (float(bx), float(by))


def draw_templates(
    name: str, panel: CarvedPanel, stations_mm: Sequence[float], *, covering_mm: float, units: str = "mm"
) -> Recorder:
    """Draw all template strips one below the other, in true size."""
    recorder = Recorder()
    strips = template_strips(panel, tuple(stations_mm), covering_mm=covering_mm)
    _stack(recorder, [_template_drawing(strip, name, units) for strip in strips])
    return recorder


def _template_drawing(strip: TemplateStrip, name: str, units: str) -> Recorder:
    recorder = Recorder()
    key = f"{name} {strip.words[0]}"
    draw_outline(recorder, strip.outline, part=key)
    for begin, end in strip.marks:
        draw_line(recorder, begin, end, layer=Layer.MARK, part=key)
    x, y = strip.words_at
    small = wrapped(f"{name}, {in_units(strip.words[1], units=units)}", SMALL_MM, strip.chord_mm - 4.0)
    top = y + 1.5 * len(small) - 1.0
    recorder.draw(Text(strip.words[0], (x, top), LETTER_MM, is_bold=True, part=key))
    for i, line in enumerate(small, start=1):
        recorder.draw(Text(line, (x, top - 3.0 * i), SMALL_MM, part=key))
    return recorder


def draw_flats(
    name: str, panel: CarvedPanel, stations_mm: Sequence[float], *, flats: tuple[int, int], units: str = "mm"
) -> Recorder:
    """Draw the section at each station with the flats that touch it and their widths, in true size."""
    recorder = Recorder()
    drawings = []
    for side in worked_sides(panel):
        rows = planing_flats(panel, tuple(stations_mm), side=side, fore=flats[0], aft=flats[1])
        drawings += [_flats_drawing(panel, row, number, name, units) for number, row in enumerate(rows, start=1)]
    _stack(recorder, drawings)
    return recorder


def _flats_drawing(panel: CarvedPanel, row: StationFlats, number: int, name: str, units: str) -> Recorder:
    recorder = Recorder()
    key = f"{name} flats {number} {row.side}"
    chord = float(panel.planform.chord(np.array([row.station_mm]))[0])
    section = panel.section_at(row.station_mm)
    outline = section_outline(section, chord, panel.chord_height(section, chord))
    if row.side == "lower":
        top = panel.blank_thickness_mm
        outline = outline.mapped(lambda p: (p[0], top - p[1]), mirrors=True)
    recorder.draw(Stroke(outline.exterior.segments, Layer.GUIDE, key, is_closed=True))
    blank = Outline.rectangle(0.0, 0.0, chord, panel.blank_thickness_mm)
    recorder.draw(Stroke(blank.exterior.segments, Layer.MARK, key, is_closed=True))
    for bevel in row.bevels:
        draw_line(recorder, bevel.begin, bevel.end, layer=Layer.OUTLINE, part=key)
        for x, y in (bevel.begin, bevel.end):
            draw_line(recorder, (x, y), (x, y + 1.2), layer=Layer.MARK, part=key)
    head = f"{number} {row.side}: station {row.station_mm:.0f} mm, blank {panel.blank_thickness_mm:g} mm"
    lines = [head, *_bevel_words(row), f"then sand off up to {row.leaves_mm:.2f} mm"]
    top = panel.blank_thickness_mm + 3.0 + 3.2 * (len(lines) - 1)
    for i, line in enumerate(lines):
        words = in_units(line, units=units)
        recorder.draw(Text(words, (0.0, top - 3.2 * i), SMALL_MM, 0.0, "start", is_bold=i == 0, part=key))
    return recorder


def _bevel_words(row: StationFlats) -> list[str]:
    return [
        f"flat {i}: {bevel.width_mm:.1f} mm wide, from {bevel.begin[0]:.1f} mm aft at height {bevel.begin[1]:.1f} mm "
        f"to {bevel.end[0]:.1f} mm aft at height {bevel.end[1]:.1f} mm"
        for i, bevel in enumerate(row.bevels, start=1)
    ]


def _stack(recorder: Recorder, drawings: Sequence[Recorder]) -> None:
    """Draw them under each other with a gap, left edges in line."""
    y = 0.0
    for drawing in drawings:
        x0, y0, _, y1 = drawing.bounds()
        drawing.replay(recorder, Affine.shift(-x0, y - y1))
        y -= y1 - y0 + _GAP_MM


def _beside(point: Point, above_mm: float) -> Point:
    return (point[0], point[1] + above_mm)


def _slope_deg(points: Sequence[Point]) -> float:
    (x0, y0), (x1, y1) = sorted((points[0], points[-1]))
    return float(np.degrees(np.arctan2(y1 - y0, x1 - x0)))
