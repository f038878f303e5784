"""The whole run, from paper to patterns, and patterns alone."""

from __future__ import annotations

from dataclasses import dataclass

from nesting.balance.weights import WeightTable
from nesting.job.folder import Job
from nesting.job.journal import read_files, replace_files
from nesting.job.laying import Effort, nest_job, unplaced_notes
from nesting.job.model_values import asked_notes
from nesting.job.panels import carved_names, panel_notes
from nesting.job.pattern_files import PatternWish, write_patterns
from nesting.job.stages import Stages
from nesting.job.tracing import JobTrace
from nesting.place.layout import Layout
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.basics.errors import CallError, SheetwoodError
from vectorize.basics.notes import Note
from vectorize.basics.watch import Watcher


@dataclass(frozen=True, slots=True)
class Run:
    """Everything that a run through a job gave."""

    trace: JobTrace
    parts: tuple[Part, ...]
    boards: tuple[Board, ...]
    weights: WeightTable
    layout: Layout
    files: tuple[str, ...]
    notes: tuple[Note, ...]


def run_job(job: Job, *, effort: Effort, is_forced: bool, progress: Watcher, lets_go: bool = False) -> Run:
    """Take a job from paper to patterns: trace, weigh, nest (`lets_go` as `nest_job` has it), write.

    Raises:
        SheetwoodError: A stage that cannot go on; what was written before stays.
    """
    stages = Stages(job, progress=progress)
    parts, boards = stages.parts, stages.boards
    progress("nesting")
    said = nest_job(job, parts, boards, effort=effort, lets_go=lets_go, progress=progress).notes
    layout, weights = stages.need_layout(), stages.weights
    progress("writing patterns")
    files, kept = write_patterns(stages, is_forced=is_forced)
    boardless = {note.part for note in weights.notes if note.code == "no-board"}
    unplaced = (note for note in unplaced_notes(layout) if note.part not in boardless)
    asked = asked_notes(job.spec, parts, boards, weights)
    panels = panel_notes(stages.made.carvings, weights, asked=carved_names(job))
    notes = (*stages.notes, *weights.notes, *asked, *panels, *said, *unplaced, *kept)
    return Run(stages.trace, parts, boards, weights, layout, files, notes)


def pattern_job(
    job: Job, *, wish: PatternWish, effort: Effort, is_forced: bool, progress: Watcher
) -> tuple[tuple[str, ...], tuple[Note, ...]]:
    """Write the patterns asked for, from what is traced and nested already where that still holds.

    Returns the names of the files and everything said.

    Raises:
        CallError: An edited pattern without the part that it is of, or what `write_patterns` refuses.
        SheetwoodError: A stage that cannot go on; what was written before stays, but an outline that was to be brought
            in is taken back, so that the part is what it was.
    """
    if wish.edited is not None and wish.part is None:
        raise CallError("--bring-in needs --part, the part whose outline the drawing holds.")
    stages = Stages(job, progress=progress)
    if wish.edited is None or wish.part is None:
        return _patterns(stages, wish, effort, is_forced=is_forced)
    from nesting.job.bringing import bring_in_part, correction_name  # its readers of drawings are slow to load

    name = correction_name(wish.part)
    before = read_files(job.folder, (name,))
    file = wish.edited.file
    brought = bring_in_part(job, stages.trace, part=wish.part, file=file, unit_mm=wish.edited.unit_mm, before=before)
    after = read_files(job.folder, (name,))
    try:
        files, notes = _patterns(_again(stages), wish, effort, is_forced=is_forced)
    except SheetwoodError as error:
        replace_files(job.folder, after, before)
        raise type(error)(f"{file.name} was not brought in, as no pattern can be made with it: {error}") from error
    return files, (*brought, *notes)


def _again(stages: Stages) -> Stages:
    """Return the stages of a job of which files were changed."""
    return Stages(stages.job, progress=stages.progress, memo=stages.memo)


def _patterns(
    stages: Stages, wish: PatternWish, effort: Effort, *, is_forced: bool
) -> tuple[tuple[str, ...], tuple[Note, ...]]:
    """Write patterns from the layout that is kept, or from a new one; what is said of parts is retold beside a kept."""
    if stages.layout is not None:
        files, told = write_patterns(stages, wish=wish, is_forced=is_forced)
        return files, (*(note.retold() for note in stages.notes), *told)
    said = nest_job(stages.job, stages.parts, stages.boards, effort=effort).notes
    stages = _again(stages)
    files, told = write_patterns(stages, wish=wish, is_forced=is_forced)
    return files, (*stages.notes, *said, *told)
