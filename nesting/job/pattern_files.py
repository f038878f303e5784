"""Patterns of a job: boards, parts, small parts on one sheet, and the overlay of each scanned plan."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from nesting.job.builder_marks import part_marks
from nesting.job.deriving import owner_of
from nesting.job.folder import Job
from nesting.job.kept_results import Made, write_made
from nesting.job.model_values import wires_of
from nesting.job.pattern_sources import PatternSources
from nesting.job.rules import rules_of
from nesting.job.stages import Stages
from nesting.patterns.blades import COMMON_BLADES, Blade
from nesting.patterns.pattern_settings import ALL_MARKS, FORMATS, Format, PatternSettings, Style
from nesting.place.layout import Layout
from nesting.place.layout_rules import NestRules, Tool
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
    written too. What lies there already, made from the same, is not made again.

    Raises:
        CallError: No part of that name, an unknown format, or a cut wider than the gaps of the layout.
        InputError: Unknown paper or marks, or more pages than the limit.
        JobError: No layout fits the job as it is.
        WriteError: `out/` cannot be written.
    """
    job, parts, layout = stages.job, stages.parts, stages.need_layout()
    wish = wish or PatternWish()
    settings = pattern_settings(job, wish)
    formats = formats_of(job, wish)
    chosen = _chosen_parts(parts, wish.part, [table.name for table in job.spec.part])
    if wish.part is None:
        _check_gap(layout, settings, formats)
    sources = PatternSources(
        only=wish.part,
        parts=parts,
        chosen=tuple(part.name for part in chosen),
        boards=stages.boards,
        layout=layout,
        mass_g={(w.part, w.copy): w.mass_g for w in stages.weights.chosen},
        marks=part_marks(job, parts, stages.plans),
        wires=wires_of(job.spec),
        drills_mm=None if job.spec.drill is None else tuple(job.spec.drill.sizes),
        carvings=stages.made.carvings,
        plans=stages.plans if job.spec.pattern.overlay else {},
        outlines=tuple(stages.trace.outlines),
    )
    inputs = {"sources": sources, "settings": settings, "formats": formats}
    written = write_made(job.out, _pattern_bytes, is_forced=is_forced, **inputs)
    return tuple(path.name for path in written.paths), written.notes


def _pattern_bytes(sources: PatternSources, settings: PatternSettings, formats: Sequence[Format]) -> Made:
    from nesting.job.pattern_bytes import pattern_bytes  # its writers are slow to load

    return pattern_bytes(sources, settings, formats)


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


def formats_of(job: Job, wish: PatternWish) -> tuple[Format, ...]:
    """Return the formats of a job's patterns, or those that the call asks for instead.

    Raises:
        CallError: An unknown format.
    """
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
