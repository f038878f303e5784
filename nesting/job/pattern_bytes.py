"""Patterns as files: boards, parts, small parts on one sheet, and the overlay of each scanned plan."""

from __future__ import annotations

from collections.abc import Sequence

from nesting.carve.kit import KitChoices, carving_kit
from nesting.job.kept_results import Made
from nesting.job.pattern_sources import PatternSources
from nesting.patterns.drill_template import drill_template
from nesting.patterns.overlay import overlay_proof
from nesting.patterns.pattern_settings import Format, PatternSettings
from nesting.patterns.sheets import board_pattern, file_stem, part_pattern, pattern_notes, small_parts_pattern
from nesting.patterns.wire_template import wire_template


def pattern_bytes(sources: PatternSources, settings: PatternSettings, formats: Sequence[Format]) -> Made:
    """Return the patterns by file name, and what they cannot show or the tool cannot cut.

    Raises:
        InputError: More pages than the limit.
    """
    chosen = [part for part in sources.parts if part.name in sources.chosen]
    files: dict[str, bytes] = {}
    if sources.only is None:
        files |= board_files(sources, settings, formats)
        files |= small_parts_pattern(sources.parts, settings=settings, weights=sources.mass_g, formats=formats)
        for wire in sources.wires if "pdf" in formats else ():
            files |= wire_template(wire, settings=settings)
    for part in chosen:
        weight_g, lines = sources.mass_g.get((part.name, 1)), sources.marks.get(part.name, ())
        files |= part_pattern(part, settings=settings, weight_g=weight_g, marks=lines, formats=formats)
        if sources.drills_mm is not None and "pdf" in formats:
            files |= drill_template(part, settings=settings, at_hand_mm=sources.drills_mm)
    files |= _overlays(sources, settings, formats)
    files |= _carving_kits(sources, settings, formats)
    return files, pattern_notes(chosen, settings=settings)


def _carving_kits(sources: PatternSources, settings: PatternSettings, formats: Sequence[Format]) -> dict[str, bytes]:
    """The kit of every panel that is carved, or of the one asked for."""
    files: dict[str, bytes] = {}
    for carving in sources.carvings:
        if sources.only in (None, carving.name):
            table = carving.table
            choices = KitChoices(table.templates, table.covering, table.flats, table.contours)
            files |= carving_kit(carving.name, carving.panel, choices, settings=settings, formats=formats)
    return files


def board_files(sources: PatternSources, settings: PatternSettings, formats: Sequence[Format]) -> dict[str, bytes]:
    """Return the patterns of all boards that carry parts; raises as `pattern_bytes`."""
    by_name = {board.name: board for board in sources.boards}
    files: dict[str, bytes] = {}
    for laid in sources.layout.boards:
        if laid.placements:
            files |= board_pattern(
                by_name[laid.board],
                laid,
                sources.parts,
                settings=settings,
                weights=sources.mass_g,
                marks=sources.marks,
                formats=formats,
            )
    return files


def _overlays(sources: PatternSources, settings: PatternSettings, formats: Sequence[Format]) -> dict[str, bytes]:
    """The overlay of every plan that is a scan and carries one of the parts."""
    files: dict[str, bytes] = {}
    for plan, opened in sources.plans.items():
        outlines = [(o.name, o.outline) for o in sources.outlines if o.plan == plan and o.name in sources.chosen]
        if not outlines or not {"pdf", "png"} & set(formats):
            continue
        grey = opened.page.grey
        if grey is not None:
            files |= overlay_proof(grey, opened.scale.to_px, outlines, name=file_stem(plan), settings=settings)
    return {name: data for name, data in files.items() if name.rsplit(".", 1)[1] in formats}
