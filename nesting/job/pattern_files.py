"""Patterns of a job: boards, parts, small parts on one sheet, and the overlay of each scanned plan."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from nesting.job.builder_marks import part_marks
from nesting.job.deriving import Carving, owner_of
from nesting.job.files import write_results
from nesting.job.folder import Job
from nesting.job.model_values import wires_of
from nesting.job.plans import OpenPlan
from nesting.job.rules import rules_of
from nesting.job.stages import Stages
from nesting.job.tracing import JobTrace
from nesting.patterns.blades import COMMON_BLADES, Blade
from nesting.patterns.drill_template import drill_template
from nesting.patterns.part_marks import PartMark
from nesting.patterns.pattern_settings import ALL_MARKS, FORMATS, Format, PatternSettings, Style
from nesting.patterns.sheets import board_pattern, file_stem, part_pattern, pattern_notes, small_parts_pattern
from nesting.patterns.wire_template import wire_template
from nesting.place.layout import Layout
from nesting.place.layout_rules import NestRules, Tool
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.basics.errors import CallError
from vectorize.basics.notes import Note
from vectorize.basics.wording import listed, shown


@dataclass(frozen=True, slots=True)
class EditedPattern:
    """A drawing that somebody edited, and what one of its units is where it does not say."""

    file: Path
    unit_mm: float | None = None


@dataclass(frozen=True, slots=True)
class PatternWish:
    """What a call asks for beyond the job file; None and empty leave the job's own choice."""

    part: str | None = None
    formats: tuple[str, ...] = ()
    paper: str | None = None
    is_mirrored: bool | None = None
    tool: Tool | None = None
    style: Style | None = None
    printer_bars_mm: tuple[float, float] | None = None
    edited: EditedPattern | None = None


def write_patterns(
    stages: Stages, *, wish: PatternWish | None = None, is_forced: bool = False
) -> tuple[tuple[str, ...], tuple[Note, ...]]:
    """Write patterns of all boards and parts (or of one part) to `out/`; return file names and notes.

    The overlay of every scanned plan, the flat pattern of every wire and the carving kit of every carved panel are
    written too.

    Raises:
        CallError: No part of that name, an unknown format, or a cut wider than the gaps of the layout.
        InputError: Unknown paper or marks, or more pages than the limit.
        JobError: No layout fits the job as it is.
        WriteError: `out/` cannot be written.
    """
    job, parts, boards, layout = stages.job, stages.parts, stages.boards, stages.need_layout()
    wish = wish or PatternWish()
    settings = pattern_settings(job, wish)
    formats = _formats(job, wish)
    chosen = _chosen_parts(parts, wish.part, [table.name for table in job.spec.part])
    mass = {(w.part, w.copy): w.mass_g for w in stages.weights.chosen}
    marks = part_marks(job, parts, stages.plans)
    files: dict[str, bytes] = {}
    if wish.part is None:
        _check_gap(layout, settings, formats)
        files |= _board_files(parts, boards, layout, mass, marks, settings, formats)
        files |= small_parts_pattern(parts, settings=settings, weights=mass, formats=formats)
        for wire in wires_of(job.spec) if "pdf" in formats else ():
            files |= wire_template(wire, settings=settings)
    for part in chosen:
        weight_g, lines = mass.get((part.name, 1)), marks.get(part.name, ())
        files |= part_pattern(part, settings=settings, weight_g=weight_g, marks=lines, formats=formats)
        if job.spec.drill is not None and "pdf" in formats:
            files |= drill_template(part, settings=settings, at_hand_mm=job.spec.drill.sizes)
    if job.spec.pattern.overlay:
        files |= _overlays(stages.plans, stages.trace, [part.name for part in chosen], settings, formats)
    files |= _carving_kits(stages.made.carvings, wish.part, settings, formats)
    written = write_results(job.out, files, is_forced=is_forced)
    names = tuple(path.name for path in written.paths)
    return names, (*pattern_notes(chosen, settings=settings), *written.notes)


def _carving_kits(
    carvings: Sequence[Carving], only: str | None, settings: PatternSettings, formats: Sequence[Format]
) -> dict[str, bytes]:
    """The kit of every panel that is carved, or of the one asked for."""
    files: dict[str, bytes] = {}
    for carving in carvings:
        if only not in (None, carving.name):
            continue
        from nesting.carve.kit import KitChoices, carving_kit

        table = carving.table
        choices = KitChoices(table.templates, table.covering, table.flats, table.contours)
        files |= carving_kit(carving.name, carving.panel, choices, settings=settings, formats=formats)
    return files


def pattern_settings(job: Job, wish: PatternWish) -> PatternSettings:
    """Return the pattern settings of a job, with what the call asks for instead.

    Raises:
        InputError: Unknown paper or marks, or sizes that cannot be.
    """
    table, rules = job.spec.pattern, rules_of(job)
    tool = wish.tool or rules.tool
    kerf_mm = rules.kerf_mm if tool == rules.tool else NestRules.for_tool(tool).kerf_mm
    return PatternSettings(
        paper=wish.paper or table.paper,
        margin_mm=table.margin,
        overlap_mm=table.overlap,
        printer_bars_mm=wish.printer_bars_mm or table.printer,
        is_mirrored=table.mirror if wish.is_mirrored is None else wish.is_mirrored,
        tool=tool,
        kerf_mm=kerf_mm,
        style=wish.style or table.style,
        marks=ALL_MARKS - _checked_marks(table.without),
        most_pages=table.pages,
        dxf_version=table.dxf,
        blades=tuple(Blade(b.width, b.thickness, b.kerf, b.teeth) for b in table.blade) or COMMON_BLADES,
        units=job.spec.job.units,
        model=job.spec.job.name,
    )


def _checked_marks(without: Sequence[str]) -> frozenset[str]:
    unknown = [mark for mark in without if mark not in ALL_MARKS]
    if unknown:
        raise CallError(f"[pattern] without names {shown(unknown[0])}; marks are {', '.join(sorted(ALL_MARKS))}.")
    return frozenset(without)


def _formats(job: Job, wish: PatternWish) -> tuple[Format, ...]:
    wanted = wish.formats or job.spec.pattern.formats
    unknown = [name for name in wanted if name not in FORMATS]
    if unknown:
        raise CallError(f"there is no pattern format {shown(unknown[0])}; choose from {', '.join(FORMATS)}.")
    return tuple(name for name in FORMATS if name in wanted)


def _chosen_parts(parts: Sequence[Part], only: str | None, names: Sequence[str]) -> Sequence[Part]:
    """The part of that name, or the pieces that the part of that name has become."""
    if only is None:
        return parts
    chosen = [part for part in parts if only in (part.name, owner_of(part.name, names))]
    if not chosen:
        raise CallError(f"there is no part {shown(only)}; parts: {listed(part.name for part in parts)}.")
    return chosen


def _check_gap(layout: Layout, settings: PatternSettings, formats: Sequence[Format]) -> None:
    gap_mm, kerf_mm = layout.proof.least_gap_mm, settings.path_kerf_mm
    is_for_machine = "svg" in formats or "dxf" in formats
    if is_for_machine and math.isfinite(gap_mm) and kerf_mm > gap_mm + 0.01:
        raise CallError(
            f"a {settings.tool} takes {kerf_mm:g} mm, but parts lie as near as {gap_mm:.2f} mm in this layout; "
            f'set tool = "{settings.tool}" under [nest] and nest again.'
        )


def _board_files(
    parts: Sequence[Part],
    boards: Sequence[Board],
    layout: Layout,
    mass: Mapping[tuple[str, int], float],
    marks: Mapping[str, tuple[PartMark, ...]],
    settings: PatternSettings,
    formats: Sequence[Format],
) -> dict[str, bytes]:
    by_name = {board.name: board for board in boards}
    files: dict[str, bytes] = {}
    for laid in layout.boards:
        if laid.placements:
            files |= board_pattern(
                by_name[laid.board], laid, parts, settings=settings, weights=mass, marks=marks, formats=formats
            )
    return files


def _overlays(
    plans: Mapping[str, OpenPlan],
    trace: JobTrace,
    names: Sequence[str],
    settings: PatternSettings,
    formats: Sequence[Format],
) -> dict[str, bytes]:
    """The overlay of every plan that is a scan and carries one of the parts."""
    from nesting.patterns.overlay import overlay_proof

    files: dict[str, bytes] = {}
    for plan, opened in plans.items():
        outlines = [(o.name, o.outline) for o in trace.outlines if o.plan == plan and o.name in names]
        if not outlines or not {"pdf", "png"} & set(formats):
            continue
        grey = opened.page.grey
        if grey is not None:
            files |= overlay_proof(grey, opened.scale.to_px, outlines, name=file_stem(plan), settings=settings)
    return {name: data for name, data in files.items() if name.rsplit(".", 1)[1] in formats}
