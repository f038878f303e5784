"""Bringing an edited pattern back: its outline becomes the part's correction."""

from __future__ import annotations

import json
import math
from pathlib import Path

import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from nesting.job.bring_in import bring_in
from nesting.job.folder import Job, file_name_for
from nesting.job.journal import Contents, replace_files
from nesting.job.tracing import JobTrace
from vectorize.basics.errors import CallError, InputError, ScanError
from vectorize.basics.notes import Note
from vectorize.basics.plain_file import read_plain
from vectorize.basics.wording import listed, shown
from vectorize.shapes.outline import Outline, Pose

ROUGH_MM = 0.05
"""Chord tolerance for finding where the edited outline lies on the plan; the outline itself stays exact."""

OTHER_PART, OTHER_UNIT = 2.0, 1.2
"""A shape so many times larger or smaller than the traced part is none of it; one of the lesser factor is asked about:
programs that mistake a unit are off by 96/90, 96/72, 72/25.4 or 25.4, and a part is seldom changed by a fifth."""

ALIKE_SHARE = 0.4
"""Most of a part's area by which an edited outline may differ and still be taken for the part at first sight."""


def correction_name(part: str) -> str:
    """Return the name, within the job folder, of the file that holds a part's correction."""
    return f"corrected/{file_name_for(part)}.json"


def bring_in_part(
    job: Job, trace: JobTrace, *, part: str, file: Path, unit_mm: float | None, before: Contents
) -> tuple[Note, ...]:
    """Save the outline in `file` (SVG or DXF) as the correction of `part`; return notes.

    Of several outlines in the file the first from the left that is much like the traced part is taken (a pair's
    pattern has its other hand to the right). It is laid on the plan where it covers the traced part best, because
    a pattern does not say where on the plan its part was.

    `before` is the part's correction as it was before `trace` was made: one that somebody saved since is kept.
    Nothing is written before the outline is known to be a simple shape of a size that the part can have.

    Raises:
        CallError: There is no traced part of that name.
        ScanError: The file cannot be read.
        InputError: It holds no outline, one that crosses itself or is of quite another size than the part, or states
            no unit and none is given.
        WriteError: `corrected/` cannot be written, or the correction was changed meanwhile.
    """
    traced = next((outline for outline in trace.outlines if outline.name == part), None)
    if traced is None:
        raise CallError(f"there is no part {shown(part)} to correct; parts: {listed(o.name for o in trace.outlines)}.")
    try:
        data = read_plain(file)
    except OSError as error:
        raise ScanError(f"{file} cannot be read ({error.strerror}); give the pattern that was edited.") from error
    found = bring_in(data, name=file.name, unit_mm=unit_mm)
    laid = [_laid_on(outline, traced.outline) for outline in found.outlines]
    alike = [pair for pair in laid if pair[0] < ALIKE_SHARE * traced.outline.area_mm2]
    placed = (alike or [min(laid, key=lambda pair: pair[0])])[0][1]
    doubts = _size_doubts(placed, traced.outline, part=part, file=file.name)
    text = json.dumps({"outline": placed.as_json(), "brought_in_from": file.name}, ensure_ascii=False)
    replace_files(job.folder, before, {correction_name(part): text.encode()})
    width, height = placed.size_mm
    said = f"its outline now comes from {file.name}, {width:.2f} x {height:.2f} mm; corrected/ keeps it."
    return (Note("brought-in", said, part=part), *doubts, *found.notes)


def _size_doubts(brought: Outline, wanted: Outline, *, part: str, file: str) -> tuple[Note, ...]:
    """Return a note where the size makes one doubt the unit.

    Raises:
        InputError: The shape is far larger or smaller than the part.
    """
    factor = math.hypot(*brought.size_mm) / math.hypot(*wanted.size_mm)
    (width, height), (x, y) = brought.size_mm, wanted.size_mm
    said = f"the shape in {file} is {width:.1f} x {height:.1f} mm, and {part} is {x:.1f} x {y:.1f} mm on the plan"
    if not 1 / OTHER_PART <= factor <= OTHER_PART:
        raise InputError(f"{said}; give the true unit with --unit, or the file of this part. Nothing was changed.")
    if 1 / OTHER_UNIT <= factor <= OTHER_UNIT:
        return ()
    return (Note("unlikely-size", f"{said}; check the unit.", "open", part),)


def _laid_on(outline: Outline, wanted: Outline) -> tuple[float, Outline]:
    """The outline moved to where it differs least from `wanted`, with the area of the difference.

    Where an edit left a corner of the box, or the whole box, as it was, that one fits exactly.
    """
    # Chords may cross where the curves themselves only pass each other closely.
    shape, target = (shapely.make_valid(one.to_polygon(ROUGH_MM)) for one in (outline, wanted))
    moves = {(x - a, y - b) for (a, b), (x, y) in zip(_corners(shape), _corners(target), strict=True)}

    def difference(move: tuple[float, float]) -> float:
        return float(affinity.translate(shape, *move).symmetric_difference(target).area)

    best = min(sorted(moves), key=difference)
    return difference(best), outline.placed(Pose(*best))


def _corners(shape: BaseGeometry) -> list[tuple[float, float]]:
    x0, y0, x1, y1 = shape.bounds
    return [(x0, y0), (x1, y0), (x0, y1), (x1, y1), (shape.centroid.x, shape.centroid.y)]
