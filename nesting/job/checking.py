"""A cut part of a job on a scan: how it compares with its outline, and with what it was to weigh."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from nesting.balance.weights import Weight
from nesting.job.bare import parse_known
from nesting.job.files import write_results
from nesting.job.folder import Job
from nesting.job.pattern_files import PatternWish, pattern_settings
from nesting.job.speech import speech_of
from nesting.job.stages import Stages
from nesting.patterns.deviation_map import deviation_map
from nesting.patterns.sheets import file_stem
from nesting.wood.ascut.as_cut import TOLERANCE_MM, AsCut, CutEdge, compare_as_cut
from nesting.wood.estimate import Estimate
from nesting.wood.part import Part
from vectorize.basics.errors import CallError, JobError, ScaleError, ScanError, SheetwoodError
from vectorize.basics.notes import Note
from vectorize.basics.units import MM_PER_INCH
from vectorize.basics.wording import listed, shown
from vectorize.page import LARGEST_MEGAPIXELS, Page, read_page
from vectorize.scale.known import KnownDimension
from vectorize.scale.plan_scale import PlanScale
from vectorize.shapes.segment import Point

LEAST_DPI, MOST_DPI = 100.0, 2400.0
"""Coarser, an error of 0.3 mm is hardly a pixel; finer says no scanner of itself."""


@dataclass(frozen=True, slots=True)
class CheckScan:
    """A scan of a part as cut: its file and page, what tells its scale, and a pixel on the part where many lie there.

    `known` are written as on the command line; without them `dpi` counts, else what the file states.
    """

    file: Path
    page: int = 1
    known: tuple[str, ...] = ()
    dpi: float | None = None
    at_px: Point | None = None
    largest_megapixels: float | None = None


@dataclass(frozen=True, slots=True)
class WeightAsCut:
    """What a part was to weigh as drawn and as cut from its board, and what the scale said of it, all in g."""

    board: str
    drawn: Estimate
    as_cut: Estimate
    weighed_g: float | None

    @property
    def difference_g(self) -> float | None:
        """Return reading less what the part as cut should weigh, or None where nobody weighed it."""
        return None if self.weighed_g is None else self.weighed_g - self.as_cut.value

    def as_json(self) -> dict[str, Any]:
        """Return the masses as the documented `check` output spells them."""
        difference = self.difference_g
        return {
            "board": self.board,
            "drawn_g": round(self.drawn.value, 4),
            "as_cut_g": round(self.as_cut.value, 4),
            "sigma_g": round(self.as_cut.sigma, 4),
            "weighed_g": self.weighed_g,
            "difference_g": None if difference is None else round(difference, 4),
        }


@dataclass(frozen=True, slots=True)
class Checked:
    """A part as cut beside its outline and its board; `weight` is None where no board gives one."""

    found: AsCut
    weight: WeightAsCut | None
    notes: tuple[Note, ...]

    def as_json(self) -> dict[str, Any]:
        """Return the documented `check` output."""
        return {
            "part": self.found.part,
            **self.found.as_json(),
            "weight": None if self.weight is None else self.weight.as_json(),
            "notes": [note.as_json() for note in self.notes],
        }


def check_part(
    stages: Stages, part_name: str, scan: CheckScan, *, copy: int = 1, tolerance_mm: float = TOLERANCE_MM
) -> Checked:
    """Return how a part on a scan compares with its outline, as it is to be cut; nothing is written.

    Args:
        stages: Of the job that has the part.
        part_name: The part, or the piece that a step made of one.
        scan: The picture, with what tells its scale.
        copy: Which copy it is, for its board.
        tolerance_mm: What is off by more is told.

    Raises:
        JobError: No such part or copy; and what parts are made of may raise.
        ScanError, ScaleError, PickError: A scan that cannot be read or measured.
        PartError: Another part lies on it.
    """
    part = _part(stages, part_name, copy)
    edge, read = _scanned(part, scan)
    found = compare_as_cut(part, edge, tolerance_mm=tolerance_mm)
    weight, unweighed = _weight(stages, part, copy, found)
    return Checked(found, weight, (*read, *found.notes, *unweighed))


def write_check(job: Job, checked: Checked, *, is_forced: bool = False) -> tuple[Note, ...]:
    """Write the map of deviations to `out/`, as PDF and SVG; return a note for each file that was kept.

    Raises:
        InputError: More pages than the job allows.
        WriteError: `out/` cannot be written.
    """
    files = deviation_map(checked.found, settings=pattern_settings(job, PatternWish()), speech=speech_of(job))
    return write_results(job.out, files, is_forced=is_forced).notes


def map_name(part: str) -> str:
    """Return what the map of a part is called in `out/`, as SVG."""
    return f"check-{file_stem(part)}.svg"


def _part(stages: Stages, name: str, copy: int) -> Part:
    for part in stages.parts:
        if part.name == name:
            if not 1 <= copy <= part.copies:
                raise CallError(f"part {shown(name)} has {part.copies} copies; there is no copy {copy}.")
            return part
    raise JobError(f"there is no part {shown(name)}; parts: {listed(part.name for part in stages.parts)}.")


def _scanned(part: Part, scan: CheckScan) -> tuple[CutEdge, tuple[Note, ...]]:
    """Return the edge of that thing on the scan which comes nearest to the part in size, and what was said of the scan.

    What the scan says of its size is told where no length is known.
    """
    from vectorize.trace.scanned_edge import scanned_things  # what traces is slow to load

    page = read_page(scan.file, page=scan.page, largest_megapixels=scan.largest_megapixels or LARGEST_MEGAPIXELS)
    if page.grey is None:
        raise ScanError(f"{page.name} is a drawing; give a scan of the part itself, as PNG, JPEG, TIFF or PDF.")
    scale = _scale(page, scan)
    things = scanned_things(page, scale, at_px=scan.at_px)
    thing = min(things, key=lambda one: abs(one.area_mm2 - part.outline.area_mm2))
    edge = CutEdge(thing.rings, thing.area_mm2, 1.0 / scale.px_per_mm, scale.doubt.sigma)
    return edge, tuple(note for note in (*page.notes, *scale.notes) if not note.code.startswith("dpi"))


def _scale(page: Page, scan: CheckScan) -> PlanScale:
    """Return the scale of a scan, which is laid straight already: a skew of it is the part's."""
    from vectorize.scale.fit_scale import fit_scale

    if scan.dpi is not None:
        if not LEAST_DPI <= scan.dpi <= MOST_DPI:
            raise CallError(f"--dpi is {scan.dpi:g}; a part is scanned with {LEAST_DPI:.0f} to {MOST_DPI:.0f} dpi.")
        page = replace(page, stated_px_per_mm=(scan.dpi / MM_PER_INCH,) * 2)
    if page.stated_px_per_mm is None and not scan.known:
        raise ScaleError(
            f"{page.name} does not say how fine it was scanned; give --dpi, as the scanner was set, or the length of a "
            "steel rule beside the part with --known."
        )
    tables = [parse_known(text) for text in scan.known]
    known = [KnownDimension((t.start[0], t.start[1]), (t.end[0], t.end[1]), t.length) for t in tables]
    return fit_scale(page, known, accepts_stated_size=True, corrections=())


def _weight(stages: Stages, part: Part, copy: int, found: AsCut) -> tuple[WeightAsCut | None, tuple[Note, ...]]:
    """Return what the copy should weigh, or why that is not known: the edge can be compared without a rack."""
    try:
        rows: Sequence[Weight] = [w for w in stages.weights.of(part.name, copy) if w.is_chosen]
    except SheetwoodError as error:
        return None, (Note("no-board", str(error), part=part.name),)
    if not rows:
        text = f"no board of the rack is known to make part {part.name}, so its weight as cut is not told."
        return None, (Note("no-board", text, part=part.name),)
    (row,) = rows
    is_sawn = row.reading_stage in (None, "sawn")
    drawn = row.estimate / row.finished_share if is_sawn else row.estimate
    share = Estimate.measured(found.area_share, found.sigma_area_mm2 / found.outline.area_mm2, f"scan of {part.name}")
    # The area is the scan's now: how well the outline was traced no longer counts.
    traced = f"outline of {part.name}"
    known = Estimate(drawn.value, tuple(doubt for doubt in drawn.doubts if doubt[0] != traced))
    return WeightAsCut(row.board, drawn, known * share, row.weighed_g), ()
