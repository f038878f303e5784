"""The carving kit of a panel on paper: true pattern, templates, planing flats, a picture and the words to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shapely.geometry import box as rectangle
from shapely.geometry.base import BaseGeometry

from nesting.carve.kit_drawings import draw_flats, draw_pattern, draw_templates
from nesting.carve.kit_picture import picture_page
from nesting.carve.panel import CarvedPanel
from nesting.patterns.drawing import BORDER_MM, Element, Recorder
from nesting.patterns.paper_tiles import Content
from nesting.patterns.pattern_settings import Format, PatternSettings
from nesting.patterns.sheets import file_stem
from vectorize.basics.errors import CallError

_USE = (
    "Cut the templates from card or thin ply along the line; lay the pattern on the blank and prick its lines through."
)


@dataclass(frozen=True, slots=True)
class KitChoices:
    """What the kit of a panel holds.

    Args:
        stations_mm: Span stations of the templates and flats; empty: root, middle and nine tenths of the span.
        covering_mm: Thickness of covering that the templates allow for.
        flats: Flats ahead of the high point and behind it.
        contour_step_mm: Depth between contours.
    """

    stations_mm: tuple[float, ...] = ()
    covering_mm: float = 0.0
    flats: tuple[int, int] = (2, 2)
    contour_step_mm: float = 1.0

    def stations_of(self, panel: CarvedPanel) -> tuple[float, ...]:
        """Return the stations, checked against the panel.

        Raises:
            PartError: One lies off the panel.
        """
        low, high = panel.planform.span
        root = panel.planform.root_station
        wanted = self.stations_mm or (root, (low + high) / 2, low + 0.9 * (high - low))
        return tuple(panel.planform.checked_station(station) for station in wanted)


def carving_kit(
    name: str,
    panel: CarvedPanel,
    choices: KitChoices,
    *,
    settings: PatternSettings,
    formats: Sequence[Format] = ("pdf", "svg", "dxf", "png"),
) -> dict[str, bytes]:
    """Return the files of a panel's kit by name, such as `carving-wing.pdf`.

    The PDF has everything: the picture first, then tiles in true size. SVG and DXF hold the pattern, the
    templates and the flats in a file each; the PNG is the picture.

    Raises:
        PartError: A station off the panel, or without room for a template.
        CallError: An unknown format.
    """
    unknown = [form for form in formats if form not in ("pdf", "svg", "dxf", "png")]
    if unknown:
        raise CallError(f"format {unknown[0]!r} is not known; use pdf, svg, dxf or png.")
    drawings = {
        "pattern": draw_pattern(
            name, panel, choices.stations_of(panel), step_mm=choices.contour_step_mm, units=settings.units
        ),
        "templates": draw_templates(
            name, panel, choices.stations_of(panel), covering_mm=choices.covering_mm, units=settings.units
        ),
        "flats": draw_flats(name, panel, choices.stations_of(panel), flats=choices.flats, units=settings.units),
    }
    stem = f"carving-{file_stem(name)}"
    files: dict[str, bytes] = {}
    if "pdf" in formats or "png" in formats:
        files |= _paper(name, stem, panel, choices, drawings, settings, formats)
    for what, recorder in drawings.items():
        files |= _machine_files(f"{stem}-{what}", f"{name}, {what}", recorder, settings, formats)
    return files


def _paper(
    name: str,
    stem: str,
    panel: CarvedPanel,
    choices: KitChoices,
    drawings: dict[str, Recorder],
    settings: PatternSettings,
    formats: Sequence[Format],
) -> dict[str, bytes]:
    from nesting.patterns.pages import Drawn, tiled_pages
    from nesting.patterns.write_pdf import pdf_bytes
    from nesting.patterns.write_png import png_bytes

    title = f"{settings.model}, carving {name}" if settings.model else f"carving {name}"
    picture = picture_page(name, panel, choices.stations_of(panel), settings=settings)
    drawn = [Drawn(tuple(r.elements), Content(_boxes(r))) for r in drawings.values()]
    pages = [picture, *tiled_pages(drawn, title=title, settings=settings, use=_USE)]
    files = {}
    if "pdf" in formats:
        files[f"{stem}.pdf"] = pdf_bytes(pages, title=title)
    if "png" in formats:
        files[f"{stem}.png"] = png_bytes(pdf_bytes([picture], title=title))
    return files


def _boxes(recorder: Recorder) -> tuple[BaseGeometry, ...]:
    """Return the box round each piece that was drawn, so that pages are joined between pieces where that can be."""
    keys = dict.fromkeys(element.part for element in recorder.elements)
    boxes = []
    for key in keys:
        piece = Recorder([element for element in recorder.elements if element.part == key])
        boxes.append(rectangle(*piece.bounds()))
    return tuple(boxes)


def _machine_files(
    stem: str, title: str, recorder: Recorder, settings: PatternSettings, formats: Sequence[Format]
) -> dict[str, bytes]:
    from nesting.patterns.write_dxf import dxf_bytes
    from nesting.patterns.write_svg import svg_bytes

    x0, y0, x1, y1 = recorder.bounds()
    box = (x0 - BORDER_MM, y0 - BORDER_MM, x1 + BORDER_MM, y1 + BORDER_MM)
    elements: list[Element] = recorder.elements
    files: dict[str, bytes] = {}
    if "svg" in formats:
        files[f"{stem}.svg"] = svg_bytes(elements, box=box, title=title)
    if "dxf" in formats:
        files[f"{stem}.dxf"] = dxf_bytes(elements, box=recorder.bounds(), version=settings.dxf_version)
    return files
