"""What a worker does: one stage of one job, from bytes to bytes, in a folder that is gone afterwards."""

from __future__ import annotations

import time
import traceback
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any, TypeAlias

from nesting.job.batch.wish import Stage, Wish
from nesting.job.files import MANIFEST
from vectorize.basics.errors import SheetwoodError
from vectorize.basics.notes import Note, each_once
from vectorize.basics.wording import clipped, printable

if TYPE_CHECKING:
    from nesting.balance.weights import WeightTable
    from nesting.job.stages import Stages
    from nesting.place.layout import Layout

Figures: TypeAlias = dict[str, float]
"""What a stage tells of a job in numbers, by name: parts, boards, mass_g, waste_share …"""
Told: TypeAlias = tuple[Iterable[Note], Figures]


@dataclass(frozen=True, slots=True)
class Load:
    """What travels to a worker: a job's files by name, or the plan that a job is drafted from.

    `folder` is how messages call the job's folder, `name` its last piece: a draft is named after it.
    """

    folder: str
    name: str
    files: Mapping[str, bytes]
    plan: str | None = None


@dataclass(frozen=True, slots=True)
class Outcome:
    """What comes back: files that are new or changed, what was said, figures, and why the stage came to no end."""

    files: Mapping[str, bytes]
    notes: tuple[Note, ...]
    figures: Figures
    seconds: float
    fault: str | None = None


def run_stage(stage: Stage, load: Load, wish: Wish) -> Outcome:
    """Return what a stage makes of a job; whatever is wrong with the job is told in the outcome.

    Raises:
        MemoryError, OSError: The machine has no room for it: another try may help.
    """
    began = time.monotonic()
    _use_threads(wish.threads)
    with TemporaryDirectory(prefix="sheetwood-") as place:
        folder = Path(place).resolve() / load.name
        notes: Iterable[Note] = ()
        figures: Figures = {}
        fault = None
        try:
            _unpack(folder, load.files)
            notes, figures = _draft(folder, load, wish) if stage == "draft" else _STAGES[stage](folder, wish)
        except SheetwoodError as error:
            fault = str(error)
        except (MemoryError, OSError):
            raise
        except Exception as error:
            fault = fault_of_ours(error)
        made = {name: data for name, data in _packed(folder).items() if load.files.get(name) != data}

    def said(text: str) -> str:
        return text.replace(str(folder), load.folder)

    told = tuple(replace(note, text=said(note.text)) for note in each_once(notes))
    seconds = time.monotonic() - began
    return Outcome(made, told, figures, seconds, None if fault is None else said(fault))


def _use_threads(count: int) -> None:
    """Let the picture library use so many threads: each worker has a core, and all of them would want all."""
    import cv2

    if count:
        cv2.setNumThreads(count)


def fault_of_ours(error: Exception) -> str:
    """Return what is told of an error that is no sentence for people: what, and where in the program."""
    where = traceback.extract_tb(error.__traceback__)[-1]
    words = clipped(printable(f"{type(error).__name__}: {error}"), 160)
    return f"this is a fault of the program ({words}, in {where.name} of {Path(where.filename).name}); report it."


def _unpack(folder: Path, files: Mapping[str, bytes]) -> None:
    for name, data in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)


def _packed(folder: Path) -> dict[str, bytes]:
    """Return all files of a folder but locks and the list of results, which whoever writes them keeps."""
    found = (path for path in folder.rglob("*") if path.is_file() and not path.name.startswith("."))
    files = {path.relative_to(folder).as_posix(): path for path in found}
    return {name: path.read_bytes() for name, path in files.items() if not name.endswith(f"/{MANIFEST}")}


def _draft(folder: Path, load: Load, wish: Wish) -> Told:
    from nesting.job.drafting import draft_new_job
    from vectorize.page import list_pages

    # Beside the job: what is copied into it comes back, what it was copied from does not.
    beside = folder.with_name(f"{folder.name}-from")
    plan = beside / str(load.plan)
    folder.rename(beside)
    rack = None if wish.rack is None else beside / "given" / wish.rack[0]
    words = [beside / "words" / name for name, _ in wish.words]
    given = {} if wish.rack is None else {f"given/{wish.rack[0]}": wish.rack[1]}
    _unpack(beside, given | {f"words/{name}": data for name, data in wish.words})
    folder.mkdir()
    drafted = draft_new_job(folder, plan=plan, rack=rack, words=words)
    pages = len(list_pages(plan))
    more = f"{plan.name} has {pages} pages; page 1 is drafted. Draft the others with `sheetwood new --draft --page`."
    notes = (*drafted.notes, *([Note("page-of-many", more, "open")] if pages > 1 else []))
    return notes, {"parts": drafted.parts}


def _opened(folder: Path) -> Stages:
    from nesting.job.folder import open_job
    from nesting.job.stages import Stages

    return Stages(open_job(folder))


def _trace(folder: Path, wish: Wish) -> Told:
    from nesting.job.tracing import likeness_notes, likenesses_of, write_previews, write_readings

    stages = _opened(folder)
    traced = stages.trace
    drawn = write_readings(stages.job, traced, stages.plans).notes
    if not stages.job.spec.part:
        drawn = (*drawn, *write_previews(stages.job))
    notes = (*traced.notes, *likeness_notes(likenesses_of(traced)), *drawn)
    return notes, {"parts": len(traced.outlines)}


def _weigh(folder: Path, wish: Wish) -> Told:
    stages = _opened(folder)
    model, table = stages.model, stages.weights
    notes = (*stages.notes, *table.notes, *model.need_notes(table))
    return notes, _mass(stages, table) | {"parts": len(stages.parts)}


def _mass(stages: Stages, table: WeightTable) -> Figures:
    """Return what the job weighs; nothing where no board can be any of its parts."""
    ledger = stages.model.masses(table)
    mass = ledger.mass()
    return {} if not ledger.entries else {"mass_g": mass.value, "sigma_g": mass.sigma}


def _nest(folder: Path, wish: Wish) -> Told:
    from nesting.job.laying import nest_job, unplaced_notes

    stages = _opened(folder)
    layout = nest_job(stages.job, stages.parts, stages.boards, effort=wish.effort(stages.job))
    table = stages.weights
    notes = (*stages.notes, *table.notes, *layout.notes, *unplaced_notes(layout))
    return notes, _mass(stages, table) | _wood(stages, layout)


def _wood(stages: Stages, layout: Layout) -> Figures:
    """Return the boards used, what share of the length cut into is no part, and how many copies found no place."""
    from shapely import box

    by_name = {board.name: board for board in stages.boards}
    parts_mm2 = cut_mm2 = 0.0
    for laid in layout.boards:
        shape = by_name[laid.board].shape
        x0, y0, _, y1 = shape.bounds
        cut_mm2 += shape.to_polygon().intersection(box(x0, y0, x0 + laid.used_length_mm, y1)).area
        parts_mm2 += laid.used_fraction * shape.area_mm2
    waste = {"waste_share": 1.0 - parts_mm2 / cut_mm2} if cut_mm2 else {}
    return {"boards": len(layout.boards), "unplaced": len(layout.unplaced)} | waste


def _pattern(folder: Path, wish: Wish) -> Told:
    from nesting.job.pattern_files import write_patterns

    stages = _opened(folder)
    files, notes = write_patterns(stages, is_forced=wish.is_forced)
    return notes, {"files": len(files)}


_STAGES: dict[Stage, Callable[[Path, Wish], Told]] = {
    "trace": _trace,
    "weigh": _weigh,
    "nest": _nest,
    "pattern": _pattern,
}


def as_record(outcome: Outcome) -> dict[str, Any]:
    """Return what is kept of an outcome beside the files that it made, as JSON."""
    return {
        "seconds": round(outcome.seconds, 3),
        "notes": [note.as_json() for note in outcome.notes],
        "figures": outcome.figures,
    }
