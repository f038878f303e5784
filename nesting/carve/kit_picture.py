"""The picture page of a carving kit: the planform with its sections at their stations, and what to do in words."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from nesting.carve.kit_drawings import LETTER_MM, panel_view, station_ends
from nesting.carve.panel import CarvedPanel
from nesting.carve.panel_lines import Side, high_point_line
from nesting.carve.tape import edge_stop, tape_plan, worked_sides
from nesting.carve.templates import section_outline
from nesting.patterns.drawing import Layer, Recorder, Stroke, Text, draw_line, draw_outline
from nesting.patterns.pattern_settings import PatternSettings
from nesting.patterns.typeface import wrapped
from nesting.patterns.write_pdf import Page, Sheet
from vectorize.basics.spoken import in_units
from vectorize.basics.units import format_length
from vectorize.shapes.affine import Affine
from vectorize.shapes.outline import Outline

_TITLE_MM = 4.0
_LINE_MM = 4.2
_GAP_MM = 6.0


def picture_page(name: str, panel: CarvedPanel, stations_mm: Sequence[float], *, settings: PatternSettings) -> Page:
    """Return a page with the planform to a small scale, its sections drawn at their stations, and the work in words."""
    paper, margin = settings.page, settings.margin_mm
    width = paper.width_mm - 2 * margin
    drawing = _planform_with_sections(panel, stations_mm, name)
    x0, y0, x1, y1 = drawing.bounds()
    scale = min(width / (x1 - x0), 0.42 * paper.height_mm / (y1 - y0), 1.0)
    top = paper.height_mm - margin - 10.0
    onto = Affine(scale, 0.0, 0.0, scale, margin - scale * x0, top - scale * y1)
    words = Recorder()
    title = f"{settings.model}, {name}: carving" if settings.model else f"{name}: carving"
    words.draw(Text(title, (margin, paper.height_mm - margin - 5.0), _TITLE_MM, 0.0, "start", is_bold=True))
    y = top - scale * (y1 - y0) - 8.0
    note = f"Picture to a scale of 1 : {1 / scale:.2f}; the pages that follow are in true size."
    for sentence in (note, *sentences(name, panel, stations_mm, units=settings.units)):
        for line in wrapped(in_units(sentence, units=settings.units, kept=(name,)), LETTER_MM, width):
            words.draw(Text(line, (margin, y), LETTER_MM, 0.0, "start"))
            y -= _LINE_MM
        y -= 1.4
    sheets = (Sheet(tuple(drawing.elements), onto), Sheet(tuple(words.elements)))
    return Page(paper, (*sheets, *_tape_sheets(panel, margin, y - 2.0, width, y - margin)))


def _tape_sheets(panel: CarvedPanel, left: float, top: float, width: float, height: float) -> tuple[Sheet, ...]:
    """Draw the tape plan, a small planform a step: what is masked is hatched. Nothing where no room is left."""
    steps = tape_plan(panel)[:3]
    view = panel_view(panel)
    outline = panel.planform.outline.mapped(view, mirrors=view.is_mirror)
    x0, _, x1, y1 = outline.bounds
    cell = (width - 2 * _GAP_MM) / 3
    scale = cell / (x1 - x0)
    if scale * outline.size_mm[1] + 6.0 > height:
        return ()
    sheets = []
    for i, step in enumerate(steps):
        recorder = Recorder()
        draw_outline(recorder, outline)
        for mask in step.masked:
            _hatch(recorder, mask.mapped(view, mirrors=view.is_mirror), 2.0 / scale)
        onto = Affine(scale, 0.0, 0.0, scale, left + i * (cell + _GAP_MM) - scale * x0, top - 5.0 - scale * y1)
        label = Text(f"step {i + 1}: hatched is masked", (left + i * (cell + _GAP_MM), top - 2.5), 2.0, 0.0, "start")
        sheets += [Sheet(tuple(recorder.elements), onto), Sheet((label,))]
    return tuple(sheets)


def _hatch(recorder: Recorder, area: Outline, pitch_mm: float) -> None:
    """Draw slanting lines over an area."""
    from shapely.geometry import LineString

    x0, y0, x1, y1 = area.bounds
    height = y1 - y0
    polygon = area.to_polygon(0.05)
    for x in np.arange(x0 - height, x1, pitch_mm):
        met = polygon.intersection(LineString([(x, y0), (x + height, y1)]))
        for line in getattr(met, "geoms", [met]):
            if line.length > 0.1:
                (ax, ay), *_, (bx, by) = line.coords
                draw_line(recorder, (ax, ay), (bx, by), layer=Layer.GUIDE)


def _planform_with_sections(panel: CarvedPanel, stations_mm: Sequence[float], name: str) -> Recorder:
    """Draw the planform; at each station its section, nose at the leading edge, folded down to the side."""
    recorder = Recorder()
    view = panel_view(panel)
    draw_outline(recorder, panel.planform.outline.mapped(view, mirrors=view.is_mirror), part=name)
    draw_line(recorder, *(view(point) for point in high_point_line(panel)), layer=Layer.MARK)
    for number, station in enumerate(stations_mm, start=1):
        fore, aft = (view(point) for point in station_ends(panel, station))
        draw_line(recorder, fore, aft, layer=Layer.MARK)
        chord = float(panel.planform.chord(np.array([station]))[0])
        section = panel.section_at(station)
        outline = section_outline(section, chord, panel.chord_height(section, chord))
        # The section's x runs down the page along the station line, its upper side to the right.
        fold = Affine(0.0, -1.0, 1.0, 0.0, fore[0], fore[1])
        ring = outline.exterior.mapped(fold, mirrors=fold.is_mirror)
        recorder.draw(Stroke(ring.segments, Layer.OUTLINE, is_closed=True))
        recorder.draw(Text(f"{number}", (fore[0], fore[1] + 3.0), 6.0, is_bold=True))
    return recorder


def sentences(name: str, panel: CarvedPanel, stations_mm: Sequence[float], *, units: str = "mm") -> tuple[str, ...]:
    """Return what a builder must know of the panel, and the work in order."""
    solid = panel.solid()
    mean, at, _ = panel.planform.mean_chord()
    root, tip = panel.planform.span
    inertia = ", ".join(f"{panel.bending_inertia_mm4(s):.0f} mm⁴ at {s:.0f} mm" for s in stations_mm)
    facts = (
        f"{name}: {panel.section.name}, from a blank of {format_length(panel.blank_thickness_mm)}; span stations "
        f"{root:.0f} to {tip:.0f} mm, mean chord {mean:.1f} mm at {at:.1f} mm.",
        f"Carved volume {solid.volume_mm3 / 1000:.1f} cm³: {100 * solid.removed_share:.1f} % of the blank is removed. "
        f"Second moment of area in bending: {inertia}.",
        *(_edge_words(panel, side, stations_mm, units) for side in worked_sides(panel)),
        "The table is the blank's other face: once that is carved, pack it so that the blank lies as level as before.",
    )
    steps = tuple(
        f"{i}. {step.side.capitalize()} side. {step.text}"
        for i, step in enumerate(tape_plan(panel, units=units), start=1)
    )
    care = (
        "Balsa dust is bad for lungs and eyes: wear a mask, sand outdoors or with a vacuum, and keep blades away from "
        "your other hand. Stiffness figures compare panels with each other; they do not say that a wing may be flown.",
    )
    return (*facts, *steps, *care)


def _edge_words(panel: CarvedPanel, side: Side, stations_mm: Sequence[float], units: str) -> str:
    """Return at what height above the table a face ends at the trailing edge, station by station."""
    stops = [edge_stop(panel, station, side=side, units=units) for station in stations_mm]
    heights = ", ".join(
        f"{format_length(stop.height_mm, units=units, decimals=2)} at {stop.station_mm:.0f} mm" for stop in stops
    )
    return f"With the {side} side up, the surface at the trailing edge ends above the table by {heights}."
